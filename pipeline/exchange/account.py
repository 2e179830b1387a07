"""What of a part went into the file and what did not: every event and every sign is in one of them.

Nothing is dropped in silence: whoever writes tells this account, and what nobody told is a fault
that the tests look for.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field
from fractions import Fraction


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
    """Grows while a part is written. Keys are xml:ids, for articulations `id artic`."""

    movement: int = 0
    held: set[str] = field(default_factory=set)
    lost: dict[str, _Lost] = field(default_factory=dict)

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


MOST_AT_ONCE = 16
"""Numbers that tell signs of one kind apart that are open at once (MusicXML 4.0, number-level)."""

Position = tuple[int, Fraction | int]
"""Bar index, and a moment in it or a place in the order of the file."""


def numbers_of(extents: Iterable[tuple[Position, Position]]) -> list[int | None]:
    """Return for each extent the lowest number that no overlapping one before it has.

    Its ends may come in either order. Signs that touch count as overlapping, so that an end is
    never taken for another's. None where more are open than there are numbers.
    """
    opened: list[tuple[Position, int]] = []
    ordered = [(min(ends), max(ends), index) for index, ends in enumerate(extents)]
    found: list[int | None] = [None] * len(ordered)
    for start, end, index in sorted(ordered):
        opened = [one for one in opened if one[0] >= start]
        taken = {number for _, number in opened}
        free = next((n for n in range(1, MOST_AT_ONCE + 1) if n not in taken), None)
        if free is not None:
            opened.append((end, free))
        found[index] = free
    return found
