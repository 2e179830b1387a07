"""What a bar is known by when two versions of a movement are laid side by side: its content.

In come a passage and the staves that both versions have; out goes one set of tokens for each bar.
Four tokens a note, so that a bar is still known when one of these was changed: its pitch at its
onset, its pitch with its length, its onset alone, and its interval from the note before. The last
two stay the same when a part is transposed or written in another octave.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field

from pipeline.score.model import Event, Passage

Token = tuple[object, ...]


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
    """Gives tokens their numbers; both versions must be read by the same one to be compared."""

    numbers: dict[Token, int] = field(default_factory=dict)

    def of(self, passage: Passage, staves: Sequence[int]) -> tuple[Fingerprint, ...]:
        """Return the fingerprint of every bar. `staves` are its staves in the common order."""
        return tuple(
            Fingerprint(self._tokens(passage, bar.index, staves), bar.n) for bar in passage.bars
        )

    def _tokens(self, passage: Passage, bar: int, staves: Sequence[int]) -> frozenset[int]:
        met: Counter[Token] = Counter()
        found = []
        for order, staff in enumerate(staves):
            for token in _of_staff(order, passage.events_in.get((staff, bar), ())):
                met[token] += 1
                numbered = (*token, met[token])
                found.append(self.numbers.setdefault(numbered, len(self.numbers)))
        return frozenset(found)


def _of_staff(order: int, events: Sequence[Event]) -> Iterator[Token]:
    before: dict[int, int] = {}
    for event in events:
        if event.grace or not event.heads:
            continue
        onset, length = event.onset.as_integer_ratio(), event.duration.as_integer_ratio()
        top = max(head.pitch.midi for head in event.heads)
        for head in event.heads:
            midi = head.pitch.midi
            yield order, "pitch at onset", midi, onset
            yield order, "pitch with length", midi, length
            yield order, "onset", onset
        if event.voice in before:
            yield order, "interval", top - before[event.voice]
        before[event.voice] = top
