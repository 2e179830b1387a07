"""Which departures share a drafted record: one record a place, and one for what is systematic.

In come open departures; out go groups of them. Differences of notes, and signs that stand at a
note, go together where they overlap. A slur or a hairpin stands for itself, however many notes
lie under it. What a witness has otherwise nearly everywhere is one group.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace

from pipeline.checks.material import Material
from pipeline.collation.bar_signs import KINDS_OF_BARS
from pipeline.collation.collated import Departure
from pipeline.collation.departures import markings_of
from pipeline.collation.markings import EXTENDED, KIND_OF_MARKING
from pipeline.collation.model import Change, Difference, DifferenceKind
from pipeline.score.model import Event, Moment, Passage

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


@dataclass
class _Stretch:
    """Departures that overlap, and from when to when they last; `keys` by which it is found."""

    start: Moment
    end: Moment
    departures: list[Departure]
    keys: list[object] = field(default_factory=list)

    def meets(self, difference: Difference) -> bool:
        """Return whether a later difference overlaps this stretch."""
        return difference.start < self.end or difference.start == self.start

    def covers(self, difference: Difference) -> bool:
        return self.start <= difference.start and difference.end <= self.end


def local_subjects(departures: Iterable[Departure]) -> list[Subject]:
    """Return the groups of what overlaps on one staff, in reading order."""
    by_staff: dict[tuple[int, int], list[Departure]] = defaultdict(list)
    for departure in departures:
        difference = difference_of(departure)
        if difference is not None:
            by_staff[departure.movement, difference.staff].append(departure)
    return [
        Subject(movement, staff, tuple(stretch.departures))
        for (movement, staff), those in by_staff.items()
        for stretch in (*_of_bars(those), *_stretches(those))
    ]


def _of_bars(departures: Sequence[Departure]) -> list[_Stretch]:
    """Return what belongs to whole bars, bar by bar: a meter is not one decision with a note."""
    found: dict[int, _Stretch] = {}
    for departure in departures:
        difference = difference_of(departure)
        if difference is not None and difference.kind in KINDS_OF_BARS:
            new = _Stretch(difference.start, difference.end, [])
            found.setdefault(difference.start.bar, new).departures.append(departure)
    return list(found.values())


def _stretches(departures: Sequence[Departure]) -> list[_Stretch]:
    pairs = [
        (d, difference)
        for d in departures
        if (difference := difference_of(d)) is not None and difference.kind not in KINDS_OF_BARS
    ]
    pairs.sort(key=lambda pair: (pair[1].start, pair[1].end))
    stretches: list[_Stretch] = []
    for departure, difference in pairs:
        if difference.kind in EXTENDED:
            continue
        last = stretches[-1] if stretches else None
        if last is not None and last.meets(difference):
            last.end = max(last.end, difference.end)
            last.departures.append(departure)
        else:
            stretches.append(_Stretch(difference.start, difference.end, [departure]))
    extended = _Extended()
    index = 0
    for departure, difference in pairs:
        if difference.kind not in EXTENDED:
            continue
        while index + 1 < len(stretches) and stretches[index + 1].start <= difference.start:
            index += 1
        if stretches and stretches[index].covers(difference):
            stretches[index].departures.append(departure)
            continue
        extended.add(departure, difference)
    return sorted([*stretches, *extended.stretches()], key=lambda one: (one.start, one.end))


class _Extended:
    """Slurs, hairpins and octave signs, together where they are about one sign or one extent."""

    def __init__(self) -> None:
        self._of: dict[object, _Stretch] = {}

    def add(self, departure: Departure, difference: Difference) -> None:
        """Join what is about the same sign of the text, or begins and ends alike."""
        keys: list[object] = [marking.xml_id for marking in markings_of(difference.text)]
        keys.append((difference.start, difference.end))
        known = {id(self._of[key]): self._of[key] for key in keys if key in self._of}
        joined = _Stretch(difference.start, difference.end, [], keys)
        for stretch in known.values():
            joined.start = min(joined.start, stretch.start)
            joined.end = max(joined.end, stretch.end)
            joined.departures += stretch.departures
            joined.keys += stretch.keys
        joined.departures.append(departure)
        self._of.update(dict.fromkeys(joined.keys, joined))

    def stretches(self) -> list[_Stretch]:
        """Return each once."""
        return list({id(stretch): stretch for stretch in self._of.values()}.values())
