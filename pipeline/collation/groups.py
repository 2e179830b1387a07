"""Bars that are compared together: mostly one of each side, two of one where the other has one.

In come bars in pairs; out go groups. A bar that a repeat sign or a double bar divides is one bar in
one source and two in another; the two together are as long as the one, and no bar is missing.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from fractions import Fraction

from pipeline.collation.beside import BarPair, Beside
from pipeline.collation.model import Difference, Side
from pipeline.score.model import Event, Moment, Passage


@dataclass(frozen=True)
class Group:
    """Bars of both sides that hold the same stretch of music; one side is empty if it lacks it.

    `text_starts` and `reading_starts` say at how many quarters of the group each bar begins.
    """

    text_starts: tuple[tuple[int, Fraction], ...]
    reading_starts: tuple[tuple[int, Fraction], ...]

    @property
    def text(self) -> tuple[int, ...]:
        """The bars of the text."""
        return tuple(bar for bar, _ in self.text_starts)

    @property
    def reading(self) -> tuple[int, ...]:
        """The bars of the encoding."""
        return tuple(bar for bar, _ in self.reading_starts)

    @property
    def divides(self) -> bool:
        """Whether one side has two bars for one of the other."""
        return len(self.text_starts) + len(self.reading_starts) > 2

    def text_moment(self, offset: Fraction) -> Moment:
        """Return the moment so many quarters after the group's beginning, in the text."""
        return _moment(self.text_starts, offset)

    def reading_moment(self, offset: Fraction) -> Moment:
        """Return the moment so many quarters after the group's beginning, in the encoding."""
        return _moment(self.reading_starts, offset)

    def told(self, difference: Difference, text: Passage, reading: Passage) -> Difference:
        """Return a difference of the joined bars as one of the bars as they are."""
        if not self.divides:
            return difference
        start = self.text_moment(difference.start.offset)
        length = difference.end.offset - difference.start.offset
        return replace(
            difference,
            start=start,
            end=Moment(start.bar, start.offset + length),
            text=_own(difference.text, text),
            reading=_own(difference.reading, reading),
        )


def _moment(starts: tuple[tuple[int, Fraction], ...], offset: Fraction) -> Moment:
    bar, start = max((row for row in starts if row[1] <= offset), key=lambda row: row[1])
    return Moment(bar, offset - start)


def _own(side: Side, passage: Passage) -> Side:
    def own(event: Event) -> Event:
        return passage.by_id[event.xml_id]

    return replace(side, events=tuple(own(event) for event in side.events))


def groups(text: Passage, beside: Beside) -> Iterator[Group]:
    """Yield the groups in order."""
    pairs = beside.pairs
    at = 0
    while at < len(pairs):
        both = pairs[at : at + 2]
        together = len(both) == 2 and _one_divided(both, text, beside.passage)
        taken = both if together else pairs[at : at + 1]
        yield Group(
            _starts([p.text for p in taken if p.text is not None], text),
            _starts([p.reading for p in taken if p.reading is not None], beside.passage),
        )
        at += len(taken)


def _starts(bars: list[int], passage: Passage) -> tuple[tuple[int, Fraction], ...]:
    found, start = [], Fraction(0)
    for bar in bars:
        found.append((bar, start))
        start += passage.bars[bar].filled
    return tuple(found)


def _one_divided(both: tuple[BarPair, ...], text: Passage, reading: Passage) -> bool:
    ours = [text.bars[p.text].filled for p in both if p.text is not None]
    theirs = [reading.bars[p.reading].filled for p in both if p.reading is not None]
    return len(ours) + len(theirs) == 3 and sum(ours) == sum(theirs) and min(*ours, *theirs) > 0
