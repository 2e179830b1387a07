"""What a bar is known by when two versions of a movement are laid side by side: its content.

In come a passage and the staves that both versions have; out goes one set of tokens for each bar.
Four tokens a note, so that a bar is still known when one of these was changed: its pitch at its
onset, its pitch with its length, its onset alone, and its interval from the note before. The last
two stay the same when a part is transposed or written in another octave.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field

from pipeline.score.model import Event, Passage

Token = tuple[object, ...]
Tokens = tuple[frozenset[int], ...]


@dataclass(frozen=True)
class Fingerprint:
    """A bar by its content and its printed number; the number only settles what content leaves."""

    tokens: frozenset[int]
    n: str

    @property
    def size(self) -> int:
        """How much there is in the bar; 0 for silence."""
        return len(self.tokens)


@dataclass(frozen=True)
class Fingerprints:
    """Gives tokens their numbers; both versions must be read by the same one to be compared.

    A staff that was read once is not read again: several witnesses stand beside one text.
    """

    numbers: dict[Token, int] = field(default_factory=dict)
    _read: dict[tuple[int, int, int], tuple[Passage, Tokens]] = field(default_factory=dict)

    def of(self, passage: Passage, staves: Sequence[int]) -> tuple[Fingerprint, ...]:
        """Return the fingerprint of every bar. `staves` are its staves in the common order."""
        read = [self.of_staff(passage, staff, order) for order, staff in enumerate(staves)]
        return tuple(
            Fingerprint(frozenset().union(*tokens), bar.n)
            for bar, *tokens in zip(passage.bars, *read, strict=True)
        )

    def of_staff(self, passage: Passage, staff: int, order: int) -> Tokens:
        """Return the tokens of every bar of one staff; `order` is its place among the common."""
        key = (id(passage), staff, order)
        if key not in self._read:
            tokens = tuple(self._tokens(passage, bar.index, staff, order) for bar in passage.bars)
            self._read[key] = passage, tokens
        return self._read[key][1]

    def _tokens(self, passage: Passage, bar: int, staff: int, order: int) -> frozenset[int]:
        met: dict[Token, int] = {}
        found = []
        numbers = self.numbers
        for token in _of_staff(passage.events_in.get((staff, bar), ())):
            met[token] = times = met.get(token, 0) + 1
            found.append(numbers.setdefault((*token, order, times), len(numbers)))
        return frozenset(found)


_PITCH_AT_ONSET, _PITCH_WITH_LENGTH, _ONSET, _INTERVAL = range(4)


def _of_staff(events: Sequence[Event]) -> Iterator[Token]:
    before: dict[int, int] = {}
    for event in events:
        if event.grace or not event.heads:
            continue
        onset, length = event.onset.as_integer_ratio(), event.duration.as_integer_ratio()
        top = -1
        for head in event.heads:
            midi = head.pitch.midi
            top = max(top, midi)
            yield _PITCH_AT_ONSET, midi, onset
            yield _PITCH_WITH_LENGTH, midi, length
            yield _ONSET, onset
        if event.voice in before:
            yield _INTERVAL, top - before[event.voice]
        before[event.voice] = top
