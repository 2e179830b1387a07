"""Changes of slurs and hairpins: other ends, missing, added, divided, joined, the other wedge."""

from __future__ import annotations

import random
from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction

from pipeline.collation.model import Change
from pipeline.collation.model import DifferenceKind as Kind
from pipeline.score.model import Event, Marking, MarkingKind, Moment
from tests.planting.ground import Ground, Operation, Plant, Told, shuffled


@dataclass(frozen=True)
class Sort:
    """Slurs or hairpins: their kind, MEI element and what has to be written of each."""

    kind: Kind
    marking: MarkingKind
    element: str
    attributes: tuple[tuple[str, str], ...] = ()


SLUR = Sort(Kind.SLUR, MarkingKind.SLUR, "slur")
HAIRPIN = Sort(Kind.HAIRPIN, MarkingKind.HAIRPIN, "hairpin", (("form", "cres"),))
Extents = tuple[tuple[int, int], ...]
"""Which of six notes that follow each other are the ends of each sign."""


def changed(sort: Sort, text: Extents, witness: Extents, change: Change) -> Operation:
    """Return the operation that puts these signs on either side, over notes free of such signs."""

    def plant(ground: Ground, bar: int, chance: random.Random) -> Plant | None:
        for notes in _rows_of_six(ground, bar, chance, sort):
            names: list[str] = []
            for side, extents in ((ground.text, text), (ground.witness, witness)):
                for first, last in extents:
                    names.append(ground.new_id())
                    side.put(sort.element, names[-1], notes[first], end=notes[last],
                             **dict(sort.attributes))  # fmt: skip
            first = min(first for first, _ in text + witness)
            last = max(last for _, last in text + witness)
            told = Told(notes[first].start, notes[last].start, notes[0].staff, sort.kind, change)
            return Plant((told,), frozenset(names))
        return None

    return plant


def other_wedge(ground: Ground, bar: int, chance: random.Random) -> Plant | None:
    """A crescendo of the text is a diminuendo in the witness."""
    for notes in _rows_of_six(ground, bar, chance, HAIRPIN):
        xml_id = ground.new_id()
        ground.text.put("hairpin", xml_id, notes[0], end=notes[4], form="cres")
        ground.witness.put("hairpin", xml_id, notes[0], end=notes[4], form="dim")
        told = Told(notes[0].start, notes[4].start, notes[0].staff, Kind.HAIRPIN, Change.OTHERWISE)
        return Plant((told,), frozenset({xml_id}))
    return None


def of_the_work_missing(sort: Sort) -> Operation:
    def plant(ground: Ground, bar: int, chance: random.Random) -> Plant | None:
        for sign in _own(ground, bar, chance, sort):
            ground.witness.take(sign.xml_id)
            return _of_own(sign, sort, Change.MISSING)
        return None

    return plant


def of_the_work_ends_elsewhere(sort: Sort) -> Operation:
    def plant(ground: Ground, bar: int, chance: random.Random) -> Plant | None:
        for sign in _own(ground, bar, chance, sort):
            assert sign.end is not None
            for event in shuffled(chance, _beyond(ground, sign)):
                if sort is HAIRPIN and _ends_when_it_does(ground, event, sign.end):
                    continue  # a wedge to the end of a note and one to that note are the same
                element = ground.witness[sign.xml_id]
                element.attrib.pop("tstamp2", None)
                element.set("endid", f"#{event.xml_id}")
                told = Told(
                    sign.start, max(sign.end, event.start), sign.staff, sort.kind,
                    Change.ENDS_ELSEWHERE,
                )  # fmt: skip
                return Plant((told,), frozenset({sign.xml_id}))
        return None

    return plant


def of_the_work_other_wedge(ground: Ground, bar: int, chance: random.Random) -> Plant | None:
    for sign in _own(ground, bar, chance, HAIRPIN):
        element = ground.witness[sign.xml_id]
        element.set("form", "dim" if element.get("form") == "cres" else "cres")
        return _of_own(sign, HAIRPIN, Change.OTHERWISE)
    return None


_WAYS: dict[str, tuple[Extents, Extents, Change]] = {
    "missing": (((0, 3),), (), Change.MISSING),
    "added": ((), ((1, 4),), Change.ADDED),
    "ends later": (((0, 2),), ((0, 4),), Change.ENDS_ELSEWHERE),
    "ends earlier": (((0, 4),), ((0, 3),), Change.ENDS_ELSEWHERE),
    "starts earlier": (((2, 4),), ((1, 4),), Change.STARTS_ELSEWHERE),
    "starts later": (((0, 4),), ((2, 4),), Change.STARTS_ELSEWHERE),
    "moved": (((0, 3),), ((1, 4),), Change.MOVED),
    "divided": (((0, 5),), ((0, 2), (3, 5)), Change.DIVIDED),
    "joined": (((0, 2), (3, 5)), ((0, 5),), Change.JOINED),
}

EXTENT_OPERATIONS: dict[str, Operation] = {
    f"{sort.element} {how}": changed(sort, *way)
    for sort in (SLUR, HAIRPIN)
    for how, way in _WAYS.items()
} | {
    "other wedge": other_wedge,
    "slur of the work missing": of_the_work_missing(SLUR),
    "slur of the work ends elsewhere": of_the_work_ends_elsewhere(SLUR),
    "hairpin of the work missing": of_the_work_missing(HAIRPIN),
    "hairpin of the work ends elsewhere": of_the_work_ends_elsewhere(HAIRPIN),
    "other wedge of the work": of_the_work_other_wedge,
}  # fmt: skip


def _rows_of_six(
    ground: Ground, bar: int, chance: random.Random, sort: Sort
) -> Iterator[list[Event]]:
    """Yield six notes of one voice that begin in the bar and end at the latest in the next one."""
    for event in shuffled(chance, ground.notes(bar)):
        notes = ground.voice_from(event, 2)[:6]
        if len(notes) == 6 and ground.clear((sort.marking,), event.staff, bar - 1, bar + 2):
            yield notes


def _ends_when_it_does(ground: Ground, event: Event, moment: Moment) -> bool:
    filled = event.end.offset >= ground.base.bars[event.bar].filled
    return event.end == moment or (filled and moment == Moment(event.bar + 1, Fraction(0)))


def _own(ground: Ground, bar: int, chance: random.Random, sort: Sort) -> list[Marking]:
    """Return signs of the work from this bar to the next at most that no other one touches."""
    found = [
        m
        for m in ground.signs_by_bar.get(bar, ())
        if m.kind is sort.marking
        and m.end is not None
        and m.end.bar <= bar + 1
        and m.start < m.end
        and not any(
            other.xml_id != m.xml_id
            and other.kind is sort.marking
            and other.end is not None
            and other.start <= m.end
            and m.start <= other.end
            for one in (bar - 1, bar, bar + 1, bar + 2)
            for other in ground.base.markings_in.get((m.staff, one), ())
        )
    ]
    chance.shuffle(found)
    return found


def _beyond(ground: Ground, sign: Marking) -> list[Event]:
    """Return notes at which the sign may end instead, before the next sign of its kind."""
    assert sign.end is not None
    return [
        e
        for bar in range(sign.start.bar, sign.end.bar + 2)
        for e in ground.notes(bar)
        if e.staff == sign.staff
        and e.start > sign.start
        and e.start != sign.end
        and not any(
            m.kind is sign.kind and sign.end < m.start <= e.start
            for m in ground.base.markings_in.get((e.staff, bar), ())
        )
    ]


def _of_own(sign: Marking, sort: Sort, change: Change) -> Plant:
    assert sign.end is not None
    told = Told(sign.start, sign.end, sign.staff, sort.kind, change)
    return Plant((told,), frozenset({sign.xml_id}))
