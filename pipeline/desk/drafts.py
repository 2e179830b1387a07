"""Open departures turned into records that wait for a reason: one a place, in reading order.

In come all departures of an edition; out go drafts, each at a place in which a record tells what it
is for. Nothing is written here; see `draft_text.py`.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property

from pipeline.checks.material import Material
from pipeline.collation.collated import BarDifference, Departure
from pipeline.collation.comparisons import answer_to
from pipeline.collation.model import Difference, DifferenceKind
from pipeline.desk.draft_ids import Ids
from pipeline.desk.draft_places import Places, Standing
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


_Placed = tuple[Subject, Standing]


def draft(departures: Sequence[Departure], material: Material) -> Drafts:
    """Return a draft for every open departure. Near linear in departures and records."""
    subjects, left = systematic_subjects(departures, material)
    subjects += [_of_bars(departure, material) for departure in left if not _inside_bars(departure)]
    subjects += local_subjects(left)
    placing = _Placing(material)
    placed, lost = placing.all(subjects)
    placed = placing.settled(_with_what_they_hold(placed))
    placed.sort(key=lambda one: (one[0].movement, one[1].span.start, one[1].span.staff))
    ids = Ids(filed.record.id for filed in material.edition.records)
    witnesses = _Witnesses(material)
    made = tuple(witnesses.draft(subject, standing, ids) for subject, standing in placed)
    return Drafts(made, tuple(departure for subject in lost for departure in subject.departures))


def _with_what_they_hold(placed: Sequence[_Placed]) -> list[_Placed]:
    """Give each place what it holds of a habit of its own witnesses: it would tell it anyway."""
    by_bar: dict[tuple[int, int, int], list[int]] = defaultdict(list)
    subjects = [subject for subject, _ in placed]
    for number, (subject, standing) in enumerate(placed):
        if not subject.throughout and not _whole_bars(subject):
            for bar in range(standing.span.start.bar, standing.span.end.bar + 1):
                by_bar[subject.movement, standing.span.staff, bar].append(number)
    for number, (habit, _) in enumerate(placed):
        if not habit.throughout:
            continue
        kept: list[Departure] = []
        for siglum, departure in _each(habit.departures):
            difference = difference_of(departure)
            assert difference is not None, "a habit is never one of whole bars"
            holders = by_bar.get((habit.movement, habit.staff, difference.start.bar), ())
            holder = next(
                (
                    n
                    for n in holders
                    if placed[n][1].holds(difference)
                    and any(siglum in d.witnesses for d in placed[n][0].departures)
                ),
                None,
            )
            if holder is None:
                kept.append(departure)
            else:
                held = subjects[holder]
                subjects[holder] = replace(held, departures=(*held.departures, departure))
        subjects[number] = replace(habit, departures=tuple(kept))
    return [
        (subject, standing)
        for subject, (_, standing) in zip(subjects, placed, strict=True)
        if subject.departures
    ]


def _each(departures: Iterable[Departure]) -> Iterator[tuple[str, Departure]]:
    """Yield each departure once for each of its witnesses, as that witness's own."""
    for departure in departures:
        for siglum, difference in zip(departure.witnesses, departure.differences, strict=True):
            yield siglum, replace(departure, witnesses=(siglum,), differences=(difference,))  # type: ignore[arg-type]


def _inside_bars(departure: Departure) -> bool:
    return difference_of(departure) is not None


def _of_bars(departure: Departure, material: Material) -> Subject:
    collation = material.collations[departure.witnesses[0], departure.movement]
    staves, edited = collation.beside.staves, material.edition.head.edited_staff.n
    staff = edited if edited in staves else next(iter(staves))
    return Subject(departure.movement, staff, (departure,))


@dataclass(frozen=True)
class _Placing:
    material: Material

    def all(self, subjects: Iterable[Subject]) -> tuple[list[_Placed], list[Subject]]:
        placed: list[_Placed] = []
        lost: list[Subject] = []
        for subject in subjects:
            standing = self.place(subject)
            if standing is None:
                lost.append(subject)
            else:
                placed.append((subject, standing))
        return placed, lost

    def place(self, subject: Subject) -> Standing | None:
        places = Places(self.material, subject.movement)
        first = subject.departures[0].differences[0]
        if isinstance(first, BarDifference):
            held = self.material.collations[
                subject.departures[0].witnesses[0], subject.movement
            ].beside.staves
            staves = (subject.staff, *(n for n in held if n != subject.staff))
            last = first.text[-1] if first.text else first.at
            return places.of_bars(staves, first.at, last, subject.departures[0].witnesses)
        has = list(_told_by(subject))
        if subject.throughout:
            bars = [d.start.bar for _, d in has]
            return places.of_bars((subject.staff,), min(bars), max(bars), ())
        return places.of(subject.staff, has)

    def settled(self, placed: list[_Placed]) -> list[_Placed]:
        """Join subjects until each difference is told by the record that it is for, and only there.

        A difference is told where the narrowest place holds it (`told_once`): a place that holds
        what is another's, and is no wider, has to be the same record.
        """
        joined = self._joined(placed)
        while len(joined) < len(placed):
            placed, joined = joined, self._joined(joined)
        return joined

    def _joined(self, placed: list[_Placed]) -> list[_Placed]:
        by_staff: dict[tuple[int, int], list[_Placed]] = defaultdict(list)
        for subject, standing in placed:
            by_staff[subject.movement, standing.span.staff].append((subject, standing))
        return [one for those in by_staff.values() for one in self._joined_on_staff(those)]

    def _joined_on_staff(self, placed: list[_Placed]) -> Iterator[_Placed]:
        others: list[_Placed] = []
        for one in placed:
            if one[0].throughout or _whole_bars(one[0]):
                yield one
            else:
                others.append(one)
        others.sort(key=lambda one: (one[1].span.start, one[1].span.end))
        gone: set[int] = set()
        for number, first in enumerate(others):
            if number in gone:
                continue
            meeting = [n for n in _meeting(number, others) if n not in gone]
            joining = [n for n in meeting if _tells_what_is_of(first, others[n])]
            rivals = [others[n] for n in joining]
            gone.update(joining)
            if not rivals:
                yield first
                continue
            departures = [d for subject, _ in (first, *rivals) for d in subject.departures]
            subject = replace(first[0], departures=tuple(departures))
            standing = self.place(subject)
            if standing is None:
                yield first
                yield from rivals
            else:
                yield subject, standing


def _whole_bars(subject: Subject) -> bool:
    return isinstance(subject.departures[0].differences[0], BarDifference)


def _meeting(number: int, others: Sequence[_Placed]) -> Iterator[int]:
    """Yield the later ones that begin where this one lasts or ends: notes may be added there."""
    end = others[number][1].span.end
    for other in range(number + 1, len(others)):
        if others[other][1].span.start > end:
            return
        yield other


def _tells_what_is_of(one: _Placed, other: _Placed) -> bool:
    """Return whether the place of either holds a difference of the other, and is no wider."""
    for (_, standing), (subject, own) in ((one, other), (other, one)):
        if len(standing.span.events) <= len(own.span.events) and any(
            standing.holds(difference) for _, difference in _told_by(subject)
        ):
            return True
    return False


def _told_by(subject: Subject) -> Iterator[tuple[str, Difference]]:
    for departure in subject.departures:
        for siglum, difference in zip(departure.witnesses, departure.differences, strict=True):
            if isinstance(difference, Difference):
                yield siglum, difference


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
        described = _whole_bars(subject) and not all(standing.found.get(s) for s in named)
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
        own = list(_told_by(subject))
        if subject.throughout:
            alike = [d for d in found if f"{d.kind} {d.change}" == subject.throughout]
            return 2 * len(alike) * len(named) < len(own)
        if self._lacks_bars(siglum, subject, standing.span):
            return False
        if _whole_bars(subject):
            return True
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
        last = span.end.bar if span.end.offset else span.end.bar - 1
        place = range(span.start.bar, last + 1)
        bars = self.material.collations[siglum, subject.movement].bars
        if _whole_bars(subject):
            return any(bar.at in place for bar in bars)
        return any(bar in place for one in bars for bar in one.text)

    def _told_here_too(self, siglum: str, difference: Difference, standing: Standing) -> bool:
        """Return whether a record that is there already leaves a difference to this place."""
        key = answer_to(difference, siglum, standing.span.movement)
        spans = self._telling.get(key, ())
        better = any(
            _holds(span, difference) and len(span.events) < len(standing.span.events)
            for span in spans
        )
        return bool(spans) and not better

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
