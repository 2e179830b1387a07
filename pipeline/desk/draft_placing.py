"""Drafted subjects at their places, so that each difference is told in one record and only there.

In come subjects; out go the same with a place each, some of them joined: a place that would tell
what is another's has to be the same record.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace

from pipeline.checks.material import Material
from pipeline.collation.bar_signs import KINDS_OF_BARS
from pipeline.collation.collated import BarDifference, Departure
from pipeline.collation.model import Difference
from pipeline.desk.draft_places import Places, Standing
from pipeline.desk.draft_subjects import Subject, difference_of

Placed = tuple[Subject, Standing]


@dataclass(frozen=True)
class Placing:
    """Places the subjects of one edition."""

    material: Material

    def all(self, subjects: Iterable[Subject]) -> tuple[list[Placed], list[Subject]]:
        """Return the subjects with their places, and those for which no place can be written."""
        placed: list[Placed] = []
        lost: list[Subject] = []
        for subject in subjects:
            standing = self.place(subject)
            if standing is None:
                lost.append(subject)
            else:
                placed.append((subject, standing))
        return placed, lost

    def place(self, subject: Subject) -> Standing | None:
        """Return the narrowest place at which a record tells what the subject is about."""
        places = Places(self.material, subject.movement)
        first = subject.departures[0].differences[0]
        if isinstance(first, BarDifference):
            held = self.material.collations[
                subject.departures[0].witnesses[0], subject.movement
            ].beside.staves
            staves = (subject.staff, *(n for n in held if n != subject.staff))
            last = first.text[-1] if first.text else first.at
            return places.of_bars(staves, first.at, last, subject.departures[0].witnesses)
        has = list(told_by(subject))
        if subject.throughout:
            bars = [d.start.bar for _, d in has]
            return places.of_bars((subject.staff,), min(bars), max(bars), ())
        return places.of(subject.staff, has)

    def settled(self, placed: list[Placed]) -> list[Placed]:
        """Join subjects until each difference is told by the record that it is for, and only there.

        A difference is told where the narrowest place holds it (`told_once`): a place that holds
        what is another's, and is no wider, has to be the same record.
        """
        joined = self._joined(placed)
        while len(joined) < len(placed):
            placed, joined = joined, self._joined(joined)
        return joined

    def _joined(self, placed: list[Placed]) -> list[Placed]:
        by_staff: dict[tuple[int, int], list[Placed]] = defaultdict(list)
        for subject, standing in placed:
            by_staff[subject.movement, standing.span.staff].append((subject, standing))
        return [one for those in by_staff.values() for one in self._joined_on_staff(those)]

    def _joined_on_staff(self, placed: list[Placed]) -> Iterator[Placed]:
        others: list[Placed] = []
        for one in placed:
            if one[0].throughout or whole_bars(one[0]):
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


def whole_bars(subject: Subject) -> bool:
    """Return whether the subject is bars that one side lacks."""
    return isinstance(subject.departures[0].differences[0], BarDifference)


def _meeting(number: int, others: Sequence[Placed]) -> Iterator[int]:
    """Yield the later ones that begin where this one lasts or ends: notes may be added there."""
    end = others[number][1].span.end
    for other in range(number + 1, len(others)):
        if others[other][1].span.start > end:
            return
        yield other


def _tells_what_is_of(one: Placed, other: Placed) -> bool:
    """Return whether the place of either holds a difference of the other, and is no wider."""
    for (_, standing), (subject, own) in ((one, other), (other, one)):
        if len(standing.span.events) <= len(own.span.events) and any(
            _takes(standing, difference) for _, difference in told_by(subject)
        ):
            return True
    return False


def _takes(standing: Standing, difference: Difference) -> bool:
    """Return whether a record at a place would tell a difference, and as well as any other.

    At the very end of the place only notes that are added there belong to it.
    """
    at_end = difference.start == standing.span.end
    if at_end and not (difference.reading.events and not difference.text.events):
        return False
    if difference.kind in KINDS_OF_BARS and not standing.span.whole_bars:
        return False
    return standing.holds(difference)


def told_by(subject: Subject) -> Iterator[tuple[str, Difference]]:
    """Yield each difference of each witness that the subject is about."""
    for departure in subject.departures:
        for siglum, difference in zip(departure.witnesses, departure.differences, strict=True):
            if isinstance(difference, Difference):
                yield siglum, difference


def with_what_they_hold(placed: Sequence[Placed]) -> list[Placed]:
    """Give each place what it holds of a habit of its own witnesses: it would tell it anyway."""
    by_bar: dict[tuple[int, int, int], list[int]] = defaultdict(list)
    subjects = [subject for subject, _ in placed]
    for number, (subject, standing) in enumerate(placed):
        if not subject.throughout and not whole_bars(subject):
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
