"""Which record tells a difference, and which witnesses have the same reading.

In come decisions with one comparison for each witness; out go decisions in which a difference of
a witness is told once and witnesses that have the same stand together. A bar may hold several
variants: a remark on the word above it is not the place to repeat the wrong note below.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace

from pipeline.collation.bar_signs import KINDS_OF_BARS
from pipeline.collation.model import Change, Comparison, Decision, Difference, DifferenceKind
from pipeline.edition.records import Emendation, Reading, Status
from pipeline.score.model import Event, Marking

Fit = tuple[int, int]
"""How well a place fits a difference; the smallest fits best."""

_AS_A_WHOLE = frozenset({Change.MISSING, Change.ADDED, Change.OTHERWISE})
"""Changes of a sign as a whole, as against one of its ends."""


def told_once(decisions: Sequence[Decision]) -> tuple[Decision, ...]:
    """Return the decisions, each with the differences that its place fits best.

    The narrowest place that holds all of the difference fits best; where none does, the widest in
    which it begins, ends or breaks; then a record on what differs throughout; least of all a place
    over which a sign only passes, which the witness lacks or adds. What belongs to all staves is
    told best in whole bars of the staff on which it stands. A tie is told where it begins, and
    where it ends only if no record tells it there. Records that fit equally well all tell it. A
    record that would be left with nothing to tell keeps all, for the check to name. Records in
    force give way to records in force; proposed ones to these and to each other; superseded ones
    stay as they are.
    """
    in_force = _best(decisions, {Status.ACCEPTED})
    of_all = _best(decisions, {Status.ACCEPTED, Status.PROPOSED})
    best = {Status.ACCEPTED: in_force, Status.PROPOSED: of_all}
    return tuple(_settled(d, best.get(d.filed.record.status)) for d in decisions)


def _best(decisions: Sequence[Decision], statuses: set[Status]) -> dict[tuple[object, ...], Fit]:
    """Return how well the best of these records fits each difference."""
    best: dict[tuple[object, ...], Fit] = {}
    for decision, key, difference in _claims(decisions, statuses):
        fit = _fit(decision, difference)
        best[key] = min(best.get(key, fit), fit)
    return best


def answer_to(difference: Difference, siglum: str, movement: int) -> tuple[object, ...]:
    """Return what makes differences of one witness the same, at whatever place they are told.

    Two digits of a chord, two words at one moment, are told apart by what they are. A tempo belongs
    to all staves, so that a record on any of them speaks of it.
    """
    return (
        siglum,
        movement,
        0 if difference.kind is DifferenceKind.TEMPO else difference.staff,
        difference.kind,
        difference.change,
        difference.start,
        difference.end,
        tuple(marking.xml_id for marking in difference.text.markings),
        tuple((marking.kind, marking.content) for marking in difference.reading.markings),
    )


def systematic(decision: Decision) -> bool:
    """Return whether the record is one decision on all differences of some kinds."""
    record = decision.filed.record
    return isinstance(record, Reading | Emendation) and record.systematic


def _claims(
    decisions: Iterable[Decision], statuses: set[Status]
) -> Iterator[tuple[Decision, tuple[object, ...], Difference]]:
    for decision in decisions:
        if decision.filed.record.status not in statuses:
            continue
        for comparison in decision.comparisons:
            if not _of_first_hand(comparison):
                continue
            for difference in comparison.differences:
                for siglum in comparison.version.witnesses:
                    key = answer_to(difference, siglum, decision.span.movement)
                    yield decision, key, difference


def _of_first_hand(comparison: Comparison) -> bool:
    return comparison.version.origin == "encoding" and comparison.version.hand is None


def _fit(decision: Decision, difference: Difference) -> Fit:
    span = decision.span
    size = len(span.events)
    if systematic(decision):
        return (2, size)
    if difference.kind in KINDS_OF_BARS and not (
        span.whole_bars and span.staff == difference.staff
    ):
        return (1, size)
    if span.start <= difference.start and difference.end <= span.end:
        return (0, size)
    begins_here = span.start <= difference.start < span.end
    return (3 if difference.change in _AS_A_WHOLE and not begins_here else 1, -size)


def _settled(decision: Decision, best: dict[tuple[object, ...], Fit] | None) -> Decision:
    comparisons = decision.comparisons
    if best is not None:
        comparisons = tuple(_own(decision, comparison, best) for comparison in comparisons)
    return replace(decision, comparisons=_together(comparisons))


def _own(
    decision: Decision, comparison: Comparison, best: dict[tuple[object, ...], Fit]
) -> Comparison:
    if not _of_first_hand(comparison):
        return comparison
    (siglum,) = comparison.version.witnesses
    movement = decision.span.movement
    own = tuple(
        difference
        for difference in comparison.differences
        if _fit(decision, difference) == best[answer_to(difference, siglum, movement)]
        and not (difference.tied_from and answer_to(difference.tied_from, siglum, movement) in best)
    )
    return replace(comparison, differences=own) if own else comparison


def _together(comparisons: Iterable[Comparison]) -> tuple[Comparison, ...]:
    """Return one comparison for all witnesses of a reading that have the same."""
    found: dict[object, Comparison] = {}
    for comparison in comparisons:
        same = (comparison.variant, tuple(content(d) for d in comparison.differences))
        known = found.get(same)
        if known is None:
            found[same] = comparison
            continue
        witnesses = (*known.version.witnesses, *comparison.version.witnesses)
        found[same] = replace(known, version=replace(known.version, witnesses=witnesses))
    return tuple(found.values())


def content(difference: Difference) -> tuple[object, ...]:
    """Return what a difference says, without what only its file knows (ids, counts, bar index).

    What of the text it is about is told by the text's own ids: two words may stand at one moment.
    """
    reading, text = difference.reading, difference.text
    return (
        difference.kind,
        difference.change,
        difference.start,
        difference.end,
        tuple(event.xml_id for event in text.events),
        tuple(marking.xml_id for marking in text.markings),
        tuple(_event_content(event) for event in reading.events),
        tuple(_marking_content(marking) for marking in reading.markings),
    )


def _event_content(event: Event) -> tuple[object, ...]:
    heads = tuple((h.pitch, h.accidental, h.shape, h.tie) for h in event.heads)
    return (
        event.kind, event.onset, event.duration, event.written, event.tuplet, event.grace,
        tuple(sorted(event.articulations)), heads,
    )  # fmt: skip


def _marking_content(marking: Marking) -> tuple[object, ...]:
    length = marking.end.bar - marking.start.bar if marking.end else None
    return (
        marking.kind, marking.content, marking.start.offset,
        length, marking.end.offset if marking.end else None,
    )  # fmt: skip
