"""How like the text an encoding is: the share of notes that stand where the text has them.

In come both passages and pairs of bars; out goes the share, by which another work is told from a
version of the same.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from pipeline.collation.beside import BarPair
from pipeline.score.model import Passage


@dataclass(frozen=True)
class Likeness:
    """Notes of the text and of the encoding in bars that are paired, and how many agree.

    `bars` counts the pairs in which both sides have notes.
    """

    text: int
    encoding: int
    agreeing: int
    bars: int

    @property
    def of_text(self) -> float:
        """The share (0 to 1) of the text's notes that the encoding has at that pitch and time."""
        return self.agreeing / self.text if self.text else float(not self.encoding)

    @property
    def of_the_smaller(self) -> float:
        """The same of whichever has fewer notes: an ornamented version holds all of the plain."""
        fewer = min(self.text, self.encoding)
        return self.agreeing / fewer if fewer else float(not max(self.text, self.encoding))


def likeness(
    text: Passage, encoding: Passage, staves: Mapping[int, int], pairs: Iterable[BarPair]
) -> Likeness:
    """Return how many notes agree in the bars that are paired. Linear in the notes."""
    counts = [0, 0, 0, 0]
    for pair in pairs:
        if pair.text is None or pair.reading is None:
            continue
        before = counts[:2]
        for staff, other in staves.items():
            one, two = _notes(text, staff, pair.text), _notes(encoding, other, pair.reading)
            counts[0] += len(one)
            counts[1] += len(two)
            counts[2] += len(one) if one == two else sum((Counter(one) & Counter(two)).values())
        counts[3] += counts[0] > before[0] and counts[1] > before[1]
    return Likeness(*counts)


def _notes(passage: Passage, staff: int, bar: int) -> list[object]:
    return [
        (event.onset, head.pitch)
        for event in passage.events_in.get((staff, bar), ())
        if not event.grace
        for head in event.heads
    ]
