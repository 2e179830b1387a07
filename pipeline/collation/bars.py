"""Which bar of a version stands against which bar of the text, and what a moment becomes.

In come a span of the text and a version; out go pairs of bars. An encoding was laid beside the text
as a whole, and that decides. In music of a record printed numbers decide where it carries the
numbers of the place, else the order: an ossia of two bars may be numbered 1 and 2 whatever it
replaces.
"""

from __future__ import annotations

from collections import defaultdict, deque
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from itertools import zip_longest

from pipeline.collation.beside import BarPair, Beside
from pipeline.collation.model import Version
from pipeline.score.model import Moment, Passage, Span


def bars_of(span: Span) -> tuple[int, ...]:
    """Return the indexes of the text's bars that the span touches."""
    last = span.end.bar
    if span.end.offset == 0 and last > span.start.bar:
        last -= 1
    return tuple(range(span.start.bar, last + 1))


def pair_bars(text: Passage, span: Span, version: Version) -> tuple[BarPair, ...]:
    """Return the pairs in order; a bar that one side lacks is paired with None."""
    wanted = [index for index in bars_of(span) if index < len(text.bars)]
    if version.beside is not None:
        return bars_beside(wanted, version.beside)
    present = list(version.bars)
    numbers = {text.bars[index].n for index in wanted}
    numbered = all(version.passage.bars[index].n in numbers for index in present)
    if numbered or version.origin == "encoding":
        return tuple(_by_number(text, wanted, version, present))
    return tuple(BarPair(a, b) for a, b in zip_longest(wanted, present))


def bars_beside(wanted: Sequence[int], beside: Beside) -> tuple[BarPair, ...]:
    """Return the pairs of the bars that are wanted, with the added bars that follow each."""
    return tuple(pair for bar in wanted for pair in beside.with_added.get(bar, ()))


def _by_number(
    text: Passage, wanted: Sequence[int], version: Version, present: Sequence[int]
) -> list[BarPair]:
    waiting: dict[str, deque[int]] = defaultdict(deque)
    for index in present:
        waiting[version.passage.bars[index].n].append(index)
    pairs = []
    for index in wanted:
        queue = waiting[text.bars[index].n]
        pairs.append(BarPair(index, queue.popleft() if queue else None))
    left_over = sorted(
        index for n, queue in waiting.items() if n not in text.bar_index for index in queue
    )
    return pairs + [BarPair(None, index) for index in left_over]


def pair_further_bars(
    text: Passage, first: int, last: int, pairs: Sequence[BarPair], version: Version
) -> tuple[BarPair, ...]:
    """Return the pairs together with those, by printed number, from text bar `first` to `last`.

    A sign that reaches out of the place is judged by all its extent; the bars that a version holds
    are only those of the place.
    """
    known = {pair.text for pair in pairs}
    if version.beside is not None:
        bars = range(max(first, 0), last + 1)
        return (
            *pairs,
            *(p for p in version.beside.pairs if p.text in bars and p.text not in known),
        )
    further = [
        BarPair(index, version.passage.bar_index.get(text.bars[index].n))
        for index in range(max(first, 0), min(last, len(text.bars) - 1) + 1)
        if index not in known and text.bar_index[text.bars[index].n] == index
    ]
    return (*pairs, *further)


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
