"""Where a part has another reading than the score it belongs to, and which of the two the text is.

In come decisions, as they are told and as they were before differences were shared out among them,
and the witnesses; out go the decisions with what was found. Only readings that a record gives are
looked at, and later hands in a source are not its reading.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

from pipeline.collation.comparisons import content, systematic
from pipeline.collation.model import (
    Decision,
    Difference,
    DifferenceKind,
    Follows,
    PartAgainstScore,
)
from pipeline.edition.head import Witness
from pipeline.edition.records import Emendation, Reading
from pipeline.score.model import Moment


@dataclass(frozen=True)
class _Stand:
    """What a record says of a witness: that it has the text, or what it has instead.

    `told` are the differences that this record tells, `all` those that the witness has at the
    place; both are empty for a reading that is only described.
    """

    as_text: bool
    variant: int = -1
    told: tuple[Difference, ...] = ()
    all: tuple[Difference, ...] = ()

    @property
    def described(self) -> bool:
        return not self.as_text and not self.all


def parts_against_scores(
    told: Sequence[Decision], untold: Sequence[Decision], witnesses: Mapping[str, Witness]
) -> tuple[Decision, ...]:
    """Return the decisions with every part that contradicts its own score there.

    `told` and `untold` are the same decisions in the same order. Linear in what the records tell.
    """
    parts = {s: w.part_of for s, w in witnesses.items() if w.part_of in witnesses}
    if not parts:
        return tuple(told)
    return tuple(
        replace(one, parts_against_scores=tuple(_found(one, before, parts)))
        for one, before in zip(told, untold, strict=True)
    )


def _found(
    decision: Decision, before: Decision, parts: Mapping[str, str | None]
) -> Iterator[PartAgainstScore]:
    stands = _stands(decision, before)
    for part, score in parts.items():
        if score is not None and score != part and part in stands and score in stands:
            follows = _follows(stands[part], stands[score], systematic(decision))
            if follows is not None:
                yield PartAgainstScore(part, score, follows)


def _stands(decision: Decision, before: Decision) -> dict[str, _Stand]:
    record = decision.filed.record
    if not isinstance(record, Reading | Emendation):
        return {}
    lemma = record.lemma if isinstance(record, Reading) else ()
    stands = {siglum: _Stand(as_text=True) for siglum in lemma}
    for index, variant in enumerate(record.readings):
        if variant.hand is None:
            for siglum in variant.witnesses:
                told, all_ = (_of(one, index, siglum) for one in (decision, before))
                if variant.says or all_:
                    stands.setdefault(siglum, _Stand(False, index, told, all_))
    return stands


def _of(decision: Decision, variant: int, siglum: str) -> tuple[Difference, ...]:
    return next(
        (
            comparison.differences
            for comparison in decision.comparisons
            if comparison.variant == variant and siglum in comparison.version.witnesses
        ),
        (),
    )


def _follows(part: _Stand, score: _Stand, in_summary: bool) -> Follows | None:
    """Return which one the text follows, None where the two do not contradict each other."""
    if part.as_text and score.as_text:
        return None
    if part.as_text or score.as_text:
        return Follows.PART if part.as_text else Follows.SCORE
    if part.described or score.described:
        return None if part.variant == score.variant else Follows.NEITHER
    if in_summary:
        return None  # what both have otherwise is told place by place elsewhere, if anywhere
    part_told, part_all = _points(part.told), _points(part.all)
    score_told, score_all = _points(score.told), _points(score.all)
    only_part, only_score = part_told - score_all, score_told - part_all
    of_part = [point for point in only_part if not _at_odds(point, score_all)]
    of_score = [point for point in only_score if not _at_odds(point, part_all)]
    neither = len(of_part) + len(of_score) < len(only_part) + len(only_score)
    return _VERDICTS[bool(of_part), bool(of_score), neither]


_VERDICTS: Mapping[tuple[bool, bool, bool], Follows | None] = {
    (False, False, False): None,
    (True, False, False): Follows.SCORE,
    (False, True, False): Follows.PART,
    (False, False, True): Follows.NEITHER,
    (True, False, True): Follows.SCORE_IN_PART,
    (False, True, True): Follows.PART_IN_PART,
    (True, True, False): Follows.BOTH_IN_PART,
    (True, True, True): Follows.BOTH_IN_PART,
}
"""By whether only the part departs from the text somewhere, whether only the score does, and
whether both do in different ways."""


@dataclass(frozen=True)
class _Point:
    """One thing in which a witness departs from the text: in what, where, and what it has."""

    kind: DifferenceKind
    start: Moment
    end: Moment
    has: object


def _points(differences: Iterable[Difference]) -> set[_Point]:
    """Return what differs; where a run has other pitches note for note, each note by itself.

    A witness that has other note values besides is compared over a longer run than one that has
    the same wrong note alone.
    """
    found = set()
    for one in differences:
        pairs = list(zip(one.text.events, one.reading.events, strict=False))
        note_for_note = len(one.text.events) == len(one.reading.events) > 0
        if one.kind is DifferenceKind.PITCH and note_for_note:
            found |= {
                _Point(one.kind, ours.start, ours.end, theirs.pitches)
                for ours, theirs in pairs
                if ours.pitches != theirs.pitches
            }
        else:
            found.add(_Point(one.kind, one.start, one.end, content(one)))
    return found


def _at_odds(point: _Point, others: Iterable[_Point]) -> bool:
    """Return whether the other witness departs from the text in the same thing."""
    return any(
        other.kind is point.kind
        and (other.start == point.start or (other.start < point.end and point.start < other.end))
        for other in others
    )
