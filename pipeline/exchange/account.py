"""What of a part went into the file and what did not: every event and every sign is in one of them.

Nothing is dropped in silence: whoever writes tells this account, and what nobody told is a fault
that the tests look for.
"""

from __future__ import annotations

from dataclasses import dataclass, field

from pipeline.exchange.numbering import Numbers


@dataclass(frozen=True)
class LeftOut:
    """One kind of sign that MusicXML 4.0 has no place for, with the printed bars it stands in.

    `why` says what the standard lacks. `movement` is the movement's number.
    """

    movement: int
    kind: str
    why: str
    bars: tuple[str, ...]
    count: int


@dataclass(frozen=True)
class _Lost:
    movement: int
    kind: str
    why: str
    bar: str


@dataclass
class Account:
    """Grows while a part is written. Keys are xml:ids, for articulations `id artic`.

    `numbers` are those that signs of the movement have while they are open.
    """

    movement: int = 0
    numbers: Numbers = field(default_factory=Numbers)
    held: set[str] = field(default_factory=set)
    lost: dict[str, _Lost] = field(default_factory=dict)

    def begin(self, movement: int) -> None:
        """Go on with the movement of that number."""
        self.movement, self.numbers = movement, Numbers()

    def hold(self, *keys: str) -> None:
        """Tell what stands in the file."""
        self.held.update(keys)

    def lose(self, key: str, kind: str, why: str, bar: str) -> None:
        """Tell what does not: its kind in words, why not, and the printed number of its bar."""
        self.lost[key] = _Lost(self.movement, kind, why, bar)

    def left_out(self) -> tuple[LeftOut, ...]:
        """Return what is not in the file, by movement and kind, in the order it was met."""
        bars: dict[tuple[int, str, str], list[str]] = {}
        for one in self.lost.values():
            bars.setdefault((one.movement, one.kind, one.why), []).append(one.bar)
        return tuple(
            LeftOut(movement, kind, why, tuple(dict.fromkeys(found)), len(found))
            for (movement, kind, why), found in bars.items()
        )
