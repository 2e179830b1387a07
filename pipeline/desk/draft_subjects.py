"""Which departures share a drafted record: one record a place, and one for what is systematic.

In come open departures; out go groups of them. What a witness has otherwise nearly everywhere is
one group; what overlaps at one place is one (see `draft_stretches.py`).
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace

from pipeline.checks.material import Material
from pipeline.collation.bar_signs import KINDS_OF_BARS
from pipeline.collation.collated import Departure
from pipeline.collation.markings import KIND_OF_MARKING
from pipeline.collation.model import Change, Difference, DifferenceKind
from pipeline.desk.draft_stretches import stretches
from pipeline.score.model import Event, Passage

SYSTEMATIC_FROM = 5
"""So many open differences of one kind and change at least are told in one record."""

SYSTEMATIC_SHARE = 0.8
"""What part of the text's signs of that kind they have to be at least (common practice, no source).

Of signs that only the witness has: their part of the signs of both.
"""

_EACH_FOR_ITSELF = KINDS_OF_BARS | {
    DifferenceKind.PITCH,
    DifferenceKind.RHYTHM,
    DifferenceKind.NOTES_ADDED,
    DifferenceKind.NOTES_MISSING,
    DifferenceKind.OTHER,
}
"""Kinds that are decided one by one, however many they are."""

_BOW_SIGNS = frozenset({"dnbow", "upbow"})

_Habit = tuple[int, int, DifferenceKind, Change]
"""Movement, staff, kind and change of what a witness does again and again."""


@dataclass(frozen=True)
class Subject:
    """What one record is drafted for; `throughout` names kind and change of what is systematic."""

    movement: int
    staff: int
    departures: tuple[Departure, ...]
    throughout: str = ""


def difference_of(departure: Departure) -> Difference | None:
    """Return what differs, None for whole bars."""
    first = departure.differences[0]
    return first if isinstance(first, Difference) else None


def systematic_subjects(
    departures: Sequence[Departure], material: Material
) -> tuple[list[Subject], list[Departure]]:
    """Return a group for each habit of witnesses, and the open departures that are left.

    Witnesses of one habit stand together where their encodings hold the same bars.
    """
    habits: dict[_Habit, dict[str, list[Departure]]] = defaultdict(lambda: defaultdict(list))
    for departure in departures:
        difference = difference_of(departure)
        if difference is not None and difference.kind not in _EACH_FOR_ITSELF:
            habit = departure.movement, difference.staff, difference.kind, difference.change
            for siglum in departure.witnesses:
                habits[habit][siglum].append(departure)
    together: dict[tuple[_Habit, object], list[str]] = defaultdict(list)
    for habit, by_witness in habits.items():
        for siglum, those in by_witness.items():
            if _is_habit(habit, siglum, those, material):
                held = tuple(material.besides[siglum, habit[0]].reading_bar)
                together[habit, held].append(siglum)
    taken = {
        (id(d), s): d
        for (habit, _), sigla in together.items()
        for s in sigla
        for d in habits[habit][s]
    }
    single = {
        _subject_matter(departure)
        for departure in departures
        if departure.open and any((id(departure), s) not in taken for s in departure.witnesses)
    }
    taken = {key: d for key, d in taken.items() if _subject_matter(d) not in single}
    subjects = []
    for (habit, _), sigla in together.items():
        movement, staff, kind, change = habit
        of_habit = (d for s in sigla for d in habits[habit][s] if d.open and (id(d), s) in taken)
        members = tuple(_of(sigla, of_habit))
        if members:
            subjects.append(Subject(movement, staff, members, f"{kind} {change}"))
    left = []
    for departure in departures:
        witnesses = [s for s in departure.witnesses if (id(departure), s) not in taken]
        if departure.open and witnesses:
            left += _of(witnesses, [departure])
    return subjects, left


def _subject_matter(departure: Departure) -> tuple[object, ...]:
    """Return what a departure is about: where one witness goes its own way, all are told there."""
    difference = difference_of(departure)
    if difference is None:
        return (departure.movement, "bars", departure.differences[0])
    return (departure.movement, difference.staff, difference.kind, difference.start)


def _is_habit(
    habit: _Habit, siglum: str, departures: Sequence[Departure], material: Material
) -> bool:
    movement, staff, kind, change = habit
    if sum(departure.open for departure in departures) < SYSTEMATIC_FROM:
        return False
    held = material.besides[siglum, movement].reading_bar
    signs = _signs(material.texts[movement], staff, kind, held)
    if change is Change.ADDED:
        signs += len(departures)
    return len(departures) >= SYSTEMATIC_SHARE * signs


def local_subjects(departures: Iterable[Departure]) -> list[Subject]:
    """Return the groups of what overlaps on one staff, in reading order."""
    by_staff: dict[tuple[int, int], list[tuple[Departure, Difference]]] = defaultdict(list)
    for departure in departures:
        difference = difference_of(departure)
        if difference is not None:
            by_staff[departure.movement, difference.staff].append((departure, difference))
    return [
        Subject(movement, staff, together)
        for (movement, staff), those in by_staff.items()
        for together in stretches(those)
    ]


def _signs(text: Passage, staff: int, kind: DifferenceKind, bars: Mapping[int, object]) -> int:
    """Count the signs of a kind that the text has on a staff in those bars."""
    of_notes = sum(
        _has_sign(event, kind) for bar in bars for event in text.events_in.get((staff, bar), ())
    )
    return of_notes + sum(
        KIND_OF_MARKING[marking.kind] is kind
        for marking in text.markings
        if marking.staff == staff and marking.start.bar in bars
    )


def _has_sign(event: Event, kind: DifferenceKind) -> bool:
    match kind:
        case DifferenceKind.ARTICULATION:
            return bool(set(event.articulations) - _BOW_SIGNS)
        case DifferenceKind.BOW_SIGN:
            return bool(set(event.articulations) & _BOW_SIGNS)
        case DifferenceKind.ACCIDENTAL:
            return any(head.accidental for head in event.heads)
        case DifferenceKind.NOTE_HEAD:
            return any(head.shape for head in event.heads)
        case DifferenceKind.TIE:
            return any(head.tie in {"i", "m"} for head in event.heads)
        case _:
            return False


def _of(sigla: Sequence[str], departures: Iterable[Departure]) -> list[Departure]:
    """Return the departures, each once, as far as they are those of the witnesses named."""
    found = []
    for departure in {id(d): d for d in departures}.values():
        kept = [n for n, siglum in enumerate(departure.witnesses) if siglum in sigla]
        found.append(
            replace(
                departure,
                witnesses=tuple(departure.witnesses[n] for n in kept),
                differences=tuple(departure.differences[n] for n in kept),  # type: ignore[arg-type]
            )
        )
    return found
