"""All that a witness has otherwise in a whole movement, in reading order.

In come the text and an encoding laid beside it; out goes a collation.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from fractions import Fraction
from itertools import groupby

from pipeline.collation.beside import Beside, Besides
from pipeline.collation.collated import BarChange, BarDifference, Collation
from pipeline.collation.differences import differences
from pipeline.collation.model import Difference, Side, Version
from pipeline.score.model import Moment, Passage, Score, Span


def collate_all(score: Score, besides: Besides) -> Mapping[tuple[str, int], Collation]:
    """Return the collation of every encoding, by siglum and number of the movement."""
    texts = {movement.n: movement.passage for movement in score.movements}
    return {
        (siglum, n): collate(texts[n], beside, siglum, n) for (siglum, n), beside in besides.items()
    }


def collate(text: Passage, beside: Beside, siglum: str, movement: int) -> Collation:
    """Return every difference of a witness; none where there is an obstacle."""
    bars = tuple(_bar_differences(beside))
    lacking = {bar for one in bars for bar in one.text}
    adding = {bar for one in bars for bar in one.reading}
    found = [
        difference
        for staff, other in beside.staves.items()
        for difference in _of_staff(text, beside, staff, other, siglum, movement)
        if not _of_bar(difference, lacking, adding)
    ]
    found.sort(key=lambda d: (d.start, d.staff))
    return Collation(siglum, movement, beside, tuple(found), bars)


def _of_staff(
    text: Passage, beside: Beside, staff: int, other: int, siglum: str, movement: int
) -> tuple[Difference, ...]:
    held = [pair.text for pair in beside.pairs if pair.text is not None]
    if not held:
        return ()
    events = tuple(e for e in text.events if e.staff == staff and held[0] <= e.bar <= held[-1])
    end = Moment(held[-1], text.bars[held[-1]].filled)
    span = Span(movement, staff, Moment(held[0], Fraction(0)), end, events, whole_bars=True)
    bars = tuple(pair.reading for pair in beside.pairs if pair.reading is not None)
    version = Version(beside.passage, bars, other, "encoding", (siglum,), None, beside)
    return differences(text, span, version)


def _of_bar(difference: Difference, lacking: set[int], adding: set[int]) -> bool:
    """Return whether all that differs lies in bars that the other side does not have at all."""
    sides = ((difference.text, lacking), (difference.reading, adding))
    touched = [(bar in only) for side, only in sides for bar in _bars_of(side)]
    return bool(touched) and all(touched)


def _bars_of(side: Side) -> Iterator[int]:
    """Yield the bars of that side's own file in which its events stand and its signs end."""
    yield from (event.bar for event in side.events)
    for sign in side.parts or ((side.marking,) if side.marking else ()):
        yield sign.start.bar
        yield sign.end.bar if sign.end else sign.start.bar


def _bar_differences(beside: Beside) -> Iterator[BarDifference]:
    after = -1
    for state, group in groupby(
        beside.pairs, lambda pair: (pair.text is None, pair.reading is None)
    ):
        pairs = list(group)
        text = tuple(pair.text for pair in pairs if pair.text is not None)
        reading = tuple(pair.reading for pair in pairs if pair.reading is not None)
        if state == (False, True):
            yield BarDifference(BarChange.MISSING, after, text=text)
        elif state == (True, False):
            yield BarDifference(BarChange.ADDED, after, reading=reading)
        after = text[-1] if text else after
