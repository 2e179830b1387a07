"""All that a witness has otherwise in a whole movement, in reading order.

In come the text and an encoding laid beside it; out goes a collation.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from itertools import groupby

from pipeline.collation.bar_signs import bar_signs_in
from pipeline.collation.beside import Beside, Besides
from pipeline.collation.collated import BarChange, BarDifference, Collation
from pipeline.collation.groups import groups
from pipeline.collation.model import Difference, DifferenceKind
from pipeline.collation.staff_comparison import compared
from pipeline.collation.tempos import each_tempo_once
from pipeline.score.model import Passage, Score


def collate_all(score: Score, besides: Besides) -> Mapping[tuple[str, int], Collation]:
    """Return the collation of every encoding, by siglum and number of the movement."""
    texts = {movement.n: movement.passage for movement in score.movements}
    return {
        (siglum, n): collate(texts[n], beside, siglum, n) for (siglum, n), beside in besides.items()
    }


def collate(text: Passage, beside: Beside, siglum: str, movement: int) -> Collation:
    """Return every difference of a witness; none where there is an obstacle. Linear."""
    if beside.obstacle is not None:
        return Collation(siglum, movement, beside)
    found: list[Difference] = []
    for staff in beside.staves:
        comparison = compared(text, beside, staff)
        found += (one for of_bar in comparison.notes.values() for one in of_bar)
        found += (sign.difference for sign in comparison.signs)
    found += [sign for of_bar in bar_signs_in(text, beside).values() for sign in of_bar]
    found.sort(key=lambda d: (d.start, d.staff, _ORDER[d.kind]))
    told = tuple(each_tempo_once(found))
    return Collation(siglum, movement, beside, told, tuple(_bars(text, beside)))


_ORDER = {kind: index for index, kind in enumerate(DifferenceKind)}


def _bars(text: Passage, beside: Beside) -> Iterator[BarDifference]:
    after = -1
    for state, together in groupby(
        groups(text, beside), lambda group: (not group.text, not group.reading)
    ):
        found = list(together)
        ours = tuple(bar for group in found for bar in group.text)
        theirs = tuple(bar for group in found for bar in group.reading)
        if state == (False, True):
            yield BarDifference(BarChange.MISSING, after, text=ours)
        elif state == (True, False):
            yield BarDifference(BarChange.ADDED, after, reading=theirs)
        after = ours[-1] if ours else after
