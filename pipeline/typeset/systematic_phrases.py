"""What a witness has otherwise throughout, in one phrase a kind: how often, and in which bars.

In comes a comparison whose record speaks of some kinds throughout; out go finished phrases such as
"without fingerings throughout (8 places: bars 3, 9–11 and 40)". Nothing is listed note by note.
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise

from markupsafe import Markup

from pipeline.collation.bars import bars_of
from pipeline.collation.markings import KIND_OF_MARKING
from pipeline.collation.model import Change, Comparison, Difference, DifferenceKind
from pipeline.score.model import Event, MarkingKind, Passage, Span
from pipeline.typeset.note_phrases import BOW_SIGNS
from pipeline.typeset.places import unbroken
from pipeline.typeset.wording import Wording

_MOST_RUNS = 24
"""Runs of bars that are named; of more, the rest is counted."""


def systematic_phrases(
    comparison: Comparison, passage: Passage, span: Span, wording: Wording
) -> tuple[Markup, ...]:
    """Return a phrase for each kind and change, in the order of the kinds."""
    found: dict[tuple[DifferenceKind, Change], list[Difference]] = {}
    for difference in comparison.differences:
        found.setdefault((difference.kind, difference.change), []).append(difference)
    kinds, changes = list(DifferenceKind), list(Change)
    return tuple(
        _phrase(kind, change, found[kind, change], comparison, passage, span, wording)
        for kind, change in sorted(
            found, key=lambda one: (kinds.index(one[0]), changes.index(one[1]))
        )
    )


def _phrase(
    kind: DifferenceKind,
    change: Change,
    differences: Sequence[Difference],
    comparison: Comparison,
    passage: Passage,
    span: Span,
    wording: Wording,
) -> Markup:
    places = {(difference.staff, difference.start) for difference in differences}
    bars = _bars({difference.start.bar for difference in differences}, passage, wording)
    where = wording.say("systematic.where", len(places), bars=bars)
    names = {"what": _name(kind, differences, wording), "where": where}
    if kind in {DifferenceKind.NOTES_MISSING, DifferenceKind.NOTES_ADDED}:
        lacking = kind is DifferenceKind.NOTES_MISSING
        return wording.say("systematic.missing" if lacking else "systematic.added", None, **names)
    if change is Change.MISSING and _has_none(kind, differences, comparison, passage, span):
        return wording.say("systematic.none", None, **names)
    return wording.say(f"systematic.{change.value.replace(' ', '_')}", None, **names)


def _name(kind: DifferenceKind, differences: Sequence[Difference], wording: Wording) -> Markup:
    """Return what differs, in the plural; articulation by its sign where it is one and the same."""
    if kind in {DifferenceKind.ARTICULATION, DifferenceKind.BOW_SIGN}:
        bows = kind is DifferenceKind.BOW_SIGN
        signs = {sign for difference in differences for sign in _exchanged(difference, bows)}
        if len(signs) == 1 and wording.has(f"articulations.{next(iter(signs))}"):
            return wording.say(f"articulations.{signs.pop()}", 2)
    return wording.say(f"systematic.kinds.{kind.value}")


def _exchanged(difference: Difference, bows: bool) -> set[str]:
    """Return the signs of articulation, or of the bow, that only one side has."""
    text, reading = (
        {sign for event in side.events for sign in _signs(event, bows)}
        for side in (difference.text, difference.reading)
    )
    return text ^ reading


def _signs(event: Event, bows: bool) -> tuple[str, ...]:
    return tuple(sign for sign in event.articulations if (sign in BOW_SIGNS) == bows)


def _has_none(
    kind: DifferenceKind,
    lacking: Sequence[Difference],
    comparison: Comparison,
    passage: Passage,
    span: Span,
) -> bool:
    """Return whether the version has nothing of that kind and the remark tells all that it lacks.

    A kind that a score has not as signs of its own, such as pitch, is never lacking throughout.
    """
    version = comparison.version
    ours = _count(kind, passage, span.staff, bars_of(span))
    theirs = _count(kind, version.passage, version.staff, version.bars)
    return theirs == 0 and ours == sum(max(1, len(d.text.events)) for d in lacking)


def _count(kind: DifferenceKind, passage: Passage, staff: int, bars: Sequence[int]) -> int:
    if kind in {DifferenceKind.ARTICULATION, DifferenceKind.BOW_SIGN}:
        bows = kind is DifferenceKind.BOW_SIGN
        events = (event for bar in bars for event in passage.events_in.get((staff, bar), ()))
        return sum(bool(_signs(event, bows)) for event in events)
    within = frozenset(bars)
    kinds: set[MarkingKind] = {k for k, of in KIND_OF_MARKING.items() if of is kind}
    return sum(
        marking.kind in kinds and marking.staff == staff and marking.start.bar in within
        for marking in passage.markings
    )


def _bars(indexes: set[int], passage: Passage, wording: Wording) -> Markup:
    """Return printed bar numbers with neighbours as ranges: bars 3, 9–11 and 40."""
    ordered = sorted(indexes)
    starts = [ordered[0], *(b for a, b in pairwise(ordered) if b != a + 1)]
    ends = [*(a for a, b in pairwise(ordered) if b != a + 1), ordered[-1]]
    runs = list(zip(starts, ends, strict=True))
    named = [
        passage.bars[start].n
        if start == end
        else unbroken(Markup("{}–{}").format(passage.bars[start].n, passage.bars[end].n))
        for start, end in runs[:_MOST_RUNS]
    ]
    further = sum(end - start + 1 for start, end in runs[_MOST_RUNS:])
    if further:
        listed = Markup(", ").join(named)
        return wording.say("systematic.bars_and_more", further, bars=listed)
    return wording.say("systematic.bars", len(ordered), bars=wording.listed(named))
