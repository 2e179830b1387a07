"""Open departures turned into records that wait for a reason: one a place, in reading order.

In come all departures of an edition; out go drafts, each at a place in which a record tells what it
is for. Nothing is written here; see `draft_text.py`.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property

from pipeline.checks.material import Material
from pipeline.collation.bars import bars_of
from pipeline.collation.collated import Departure
from pipeline.collation.comparisons import answer_to
from pipeline.collation.model import Difference, DifferenceKind
from pipeline.desk.draft_ids import Ids
from pipeline.desk.draft_places import Standing
from pipeline.desk.draft_placing import Placing, told_by, whole_bars, with_what_they_hold
from pipeline.desk.draft_subjects import (
    Subject,
    difference_of,
    local_subjects,
    systematic_subjects,
)
from pipeline.score.model import Moment, Span

_OF_NOTES = frozenset(
    {
        DifferenceKind.PITCH,
        DifferenceKind.RHYTHM,
        DifferenceKind.NOTES_ADDED,
        DifferenceKind.NOTES_MISSING,
    }
)


@dataclass(frozen=True)
class Draft:
    """A record that is still to be decided. `readings` are groups of witnesses that have the same.

    `described` is set where no music can be taken from the encodings, as for a missing bar of rest;
    `unseen` are the witnesses of which no encoding holds the place. An empty `lemma` makes an
    emendation.
    """

    id: str
    subject: Subject
    standing: Standing
    lemma: tuple[str, ...]
    readings: tuple[tuple[str, ...], ...]
    unseen: tuple[str, ...]
    described: bool = False


@dataclass(frozen=True)
class Drafts:
    """The drafts in reading order, and the departures that no place can be written for."""

    made: tuple[Draft, ...]
    without_place: tuple[Departure, ...]


def draft(departures: Sequence[Departure], material: Material) -> Drafts:
    """Return a draft for every open departure. Near linear in departures and records."""
    subjects, left = systematic_subjects(departures, material)
    subjects += [_of_bars(departure, material) for departure in left if not _inside_bars(departure)]
    subjects += local_subjects(left)
    placing = Placing(material)
    placed, lost = placing.all(subjects)
    placed = placing.settled(with_what_they_hold(placed))
    placed.sort(key=lambda one: (one[0].movement, one[1].span.start, one[1].span.staff))
    ids = Ids(filed.record.id for filed in material.edition.records)
    witnesses = _Witnesses(material)
    made = tuple(witnesses.draft(subject, standing, ids) for subject, standing in placed)
    return Drafts(made, tuple(departure for subject in lost for departure in subject.departures))


def _inside_bars(departure: Departure) -> bool:
    return difference_of(departure) is not None


def _of_bars(departure: Departure, material: Material) -> Subject:
    collation = material.collations[departure.witnesses[0], departure.movement]
    staves, edited = collation.beside.staves, material.edition.head.edited_staff.n
    staff = edited if edited in staves else next(iter(staves))
    return Subject(departure.movement, staff, (departure,))


@dataclass(frozen=True)
class _Witnesses:
    """Says who has the text at a place, who has not, and of whom nobody has looked."""

    material: Material

    def draft(self, subject: Subject, standing: Standing, ids: Ids) -> Draft:
        readings = self._readings(subject)
        named = {siglum for group in readings for siglum in group}
        lemma = tuple(
            siglum
            for siglum in standing.found
            if siglum not in named and self._has_the_text(siglum, subject, standing, named)
        )
        lemma = lemma or self._principal_unseen(subject.movement)
        if not lemma:
            others = (s for s in standing.found if s not in named and standing.found[s])
            readings += tuple((siglum,) for siglum in others)
        head = self.material.edition.head
        unseen = tuple(siglum for siglum in head.witnesses if siglum not in standing.found)
        described = whole_bars(subject) and not all(standing.found.get(s) for s in named)
        first_bar = self.material.texts[subject.movement].bars[standing.span.start.bar].n
        return Draft(
            ids.new(subject, [s for s in head.witnesses if s in named], first_bar),
            subject, standing, lemma, readings, unseen, described,
        )  # fmt: skip

    def _readings(self, subject: Subject) -> tuple[tuple[str, ...], ...]:
        """Return the witnesses that depart in the same things, group by group."""
        has: dict[str, list[int]] = {}
        for number, departure in enumerate(subject.departures):
            for siglum in departure.witnesses:
                has.setdefault(siglum, []).append(number)
        order = [siglum for siglum in self.material.edition.head.witnesses if siglum in has]
        if subject.throughout:
            return (tuple(order),)
        groups: dict[tuple[int, ...], list[str]] = {}
        for siglum in order:
            groups.setdefault(tuple(has[siglum]), []).append(siglum)
        return tuple(tuple(group) for group in groups.values())

    def _has_the_text(
        self, siglum: str, subject: Subject, standing: Standing, named: set[str]
    ) -> bool:
        found = standing.found[siglum]
        own = list(told_by(subject))
        if subject.throughout:
            alike = [d for d in found if f"{d.kind} {d.change}" == subject.throughout]
            return 2 * len(alike) * len(named) < len(own)
        if self._lacks_bars(siglum, subject, standing.span):
            return False
        if whole_bars(subject):
            return not found
        spoken_of = {(d.kind, d.start) for _, d in own}
        spoken_of |= {
            (d.kind, d.start)
            for name in named
            for d in standing.found[name]
            if self._told_here_too(name, d, standing)
        }
        if any((d.kind, d.start) in spoken_of for d in found):
            return False
        notes = [d for _, d in own if d.kind in _OF_NOTES]
        return not any(_overlap(d, one) for d in found if d.kind in _OF_NOTES for one in notes)

    def _lacks_bars(self, siglum: str, subject: Subject, span: Span) -> bool:
        """Return whether a witness lacks bars of the place, or has more of them than the text."""
        place = bars_of(span)
        bars = self.material.collations[siglum, subject.movement].bars
        if whole_bars(subject):
            return any(bar.at in place for bar in bars)
        return any(bar in place for one in bars for bar in one.text)

    def _told_here_too(self, siglum: str, difference: Difference, standing: Standing) -> bool:
        """Return whether this place tells a difference besides: no other record tells it better.

        A tie to its first note, from before the place, is told only here.
        """
        key = answer_to(difference, siglum, standing.span.movement)
        spans = self._telling.get(key, ())
        if not spans and key not in self._departing:
            return True
        better = any(
            _holds(span, difference) and len(span.events) < len(standing.span.events)
            for span in spans
        )
        return bool(spans) and not better

    @cached_property
    def _departing(self) -> frozenset[tuple[object, ...]]:
        """All differences of whole movements: what is open among them has a draft of its own."""
        return frozenset(
            answer_to(difference, siglum, movement)
            for (siglum, movement), collation in self.material.collations.items()
            for difference in collation.differences
        )

    @cached_property
    def _telling(self) -> Mapping[tuple[object, ...], list[Span]]:
        found: dict[tuple[object, ...], list[Span]] = defaultdict(list)
        for decision in self.material.decisions:
            for comparison in decision.comparisons:
                for siglum in comparison.version.witnesses:
                    for difference in comparison.differences:
                        key = answer_to(difference, siglum, decision.span.movement)
                        found[key].append(decision.span)
        return found

    def _principal_unseen(self, movement: int) -> tuple[str, ...]:
        """Return the principal source where it is not encoded: the text follows it."""
        return tuple(
            siglum
            for siglum, witness in self.material.edition.head.witnesses.items()
            if witness.principal and movement not in witness.encodings
        )[:1]


def _holds(span: Span, difference: Difference) -> bool:
    return span.start <= difference.start and difference.end <= span.end


def _overlap(one: Difference, other: Difference) -> bool:
    def edges(difference: Difference) -> tuple[Moment, Moment]:
        return difference.start, difference.end

    (start, end), (from_, to) = edges(one), edges(other)
    return start == from_ or max(start, from_) < min(end, to)
