"""Which bar of a version stands against which bar of the text, and what a moment becomes.

In come a span of the text and what stands beside it; out go pairs of bars. An encoding was laid
beside the text as a whole, and that decides. In music of a record printed numbers decide where it
carries the numbers of the place, else the order: an ossia of two bars may be numbered 1 and 2
whatever it replaces.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from itertools import zip_longest

from pipeline.collation.beside import BarPair, Beside
from pipeline.collation.model import Difference, Version
from pipeline.score.model import Moment, Passage, Span


def bars_of(span: Span) -> tuple[int, ...]:
    """Return the indexes of the text's bars that the span touches."""
    return tuple(range(span.start.bar, last_bar(span.start, span.end) + 1))


def last_bar(start: Moment, end: Moment) -> int:
    """Return the index of the last bar that something from `start` to `end` lies in."""
    return end.bar if end.offset or end.bar <= start.bar else end.bar - 1


def lies_in_added_bars(difference: Difference, beside: Beside) -> bool:
    """Return whether a difference is nothing but what bars hold that only the encoding has."""
    if not difference.text.empty:
        return False
    reading = difference.reading
    bars = {event.bar for event in reading.events}
    for sign in reading.markings:
        bars |= set(range(sign.start.bar, last_bar(sign.start, sign.end or sign.start) + 1))
    return all(bar in beside.text_bar and beside.text_bar[bar] is None for bar in bars)


def pair_bars(text: Passage, span: Span, version: Version) -> tuple[BarPair, ...]:
    """Return the pairs of music that a record gives; a bar that one side lacks has None."""
    wanted = [index for index in bars_of(span) if index < len(text.bars)]
    by_number = {version.passage.bars[index].n: index for index in version.bars}
    numbers = {text.bars[index].n for index in wanted}
    if len(by_number) == len(version.bars) and by_number.keys() <= numbers:
        return tuple(BarPair(index, by_number.pop(text.bars[index].n, None)) for index in wanted)
    return tuple(BarPair(a, b) for a, b in zip_longest(wanted, version.bars))


def bars_beside(wanted: Sequence[int], beside: Beside) -> tuple[BarPair, ...]:
    """Return the pairs of the bars that are wanted, with the added bars that follow each."""
    return tuple(pair for bar in wanted for pair in beside.with_added.get(bar, ()))


@dataclass(frozen=True)
class Timing:
    """Turns moments of a version into moments of the text.

    `bars` maps bar indexes of the version to those of the text; `onsets` maps moments of notes
    that are the same notes in another rhythm, so that a sign over them is not taken for moved.
    """

    bars: Mapping[int, int]
    onsets: Mapping[Moment, Moment]

    def in_text(self, moment: Moment) -> Moment:
        """Return the moment of the text, by the nearest aligned bar where it lies outside."""
        if moment in self.onsets:
            return self.onsets[moment]
        if moment.bar in self.bars:
            return Moment(self.bars[moment.bar], moment.offset)
        if not self.bars:
            return moment
        nearest = min(self.bars, key=lambda bar: (abs(bar - moment.bar), bar))
        return Moment(self.bars[nearest] + moment.bar - nearest, moment.offset)


def timing(pairs: Sequence[BarPair], onsets: Mapping[Moment, Moment]) -> Timing:
    """Return the timing that these pairs of bars give."""
    aligned = {p.reading: p.text for p in pairs if p.reading is not None and p.text is not None}
    return Timing(aligned, onsets)


def bar_end(text: Passage, index: int) -> Moment:
    """Return the moment at which that bar of the text is full."""
    return Moment(index, text.bars[index].filled if text.bars else Fraction(0))
