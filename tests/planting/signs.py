"""Changes of signs that stand at a note: dynamics, words, tempo, fingers, strings, ornaments."""

from __future__ import annotations

import random
from collections.abc import Callable
from dataclasses import dataclass

from pipeline.collation.model import Change
from pipeline.collation.model import DifferenceKind as Kind
from pipeline.score.model import Event, Marking, MarkingKind
from tests.planting.ground import (
    Ground,
    Operation,
    Plant,
    Told,
    Tree,
    shuffled,
)

WORDED = (MarkingKind.DYNAMIC, MarkingKind.TEMPO, MarkingKind.WORDS)
ORNAMENTS = (
    MarkingKind.TRILL,
    MarkingKind.MORDENT,
    MarkingKind.TURN,
    MarkingKind.ARPEGGIO,
)


@dataclass(frozen=True)
class Sort:
    """A sort of sign: what an editor calls it, its MEI element, what may be written in it, and
    which signs near it would leave open what was changed into what."""

    kind: Kind
    element: str
    texts: tuple[str, ...]
    near: tuple[MarkingKind, ...]
    attributes: tuple[tuple[str, str], ...] = ()


DYNAMIC = Sort(Kind.DYNAMIC, "dynam", ("sfzp", "ppp", "fff", "rfz"), WORDED)
TEMPO = Sort(Kind.TEMPO, "tempo", ("Adagissimo", "Tempo di prima", "Quasi presto"), WORDED)
WORDS = Sort(Kind.WORDS, "dir", ("quasi niente", "alla corda", "teneramente"), WORDED)
FINGER = Sort(Kind.FINGERING, "fing", ("1", "2", "3", "4"), (MarkingKind.FINGERING,))
STRING = Sort(Kind.WORDS, "dir", ("I", "II", "III", "IV"), WORDED, (("type", "string"),))
SORTS = {
    "dynamic": DYNAMIC, "tempo": TEMPO, "words": WORDS, "finger": FINGER, "string": STRING,
}  # fmt: skip


def added(sort: Sort) -> Operation:
    def plant(ground: Ground, bar: int, chance: random.Random) -> Plant | None:
        event = _place(ground, bar, chance, sort)
        if event is None:
            return None
        xml_id = _put(ground, (ground.witness,), event, sort, chance.choice(sort.texts))
        return _plant(sort.kind, Change.ADDED, event, xml_id)

    return plant


def missing(sort: Sort) -> Operation:
    def plant(ground: Ground, bar: int, chance: random.Random) -> Plant | None:
        event = _place(ground, bar, chance, sort)
        if event is None:
            return None
        xml_id = _put(ground, (ground.text,), event, sort, chance.choice(sort.texts))
        return _plant(sort.kind, Change.MISSING, event, xml_id)

    return plant


def reworded(sort: Sort) -> Operation:
    def plant(ground: Ground, bar: int, chance: random.Random) -> Plant | None:
        event = _place(ground, bar, chance, sort)
        if event is None:
            return None
        one, other = chance.sample(sort.texts, 2)
        xml_id = _put(ground, ground.both, event, sort, one)
        ground.witness[xml_id].text = other
        return _plant(sort.kind, Change.OTHERWISE, event, xml_id)

    return plant


def moved(sort: Sort) -> Operation:
    """The sign stands at a later note of the bar."""

    def plant(ground: Ground, bar: int, chance: random.Random) -> Plant | None:
        event = _place(ground, bar, chance, sort)
        later = [] if event is None else [
            e for e in ground.notes(bar) if e.staff == event.staff and e.onset > event.onset
        ]  # fmt: skip
        if event is None or not later:
            return None
        xml_id = _put(ground, ground.both, event, sort, chance.choice(sort.texts))
        to = chance.choice(later)
        ground.witness[xml_id].set("startid", f"#{to.xml_id}")
        return _plant(sort.kind, Change.MOVED, event, xml_id, to)

    return plant


def moved_into_the_next_bar(ground: Ground, bar: int, chance: random.Random) -> Plant | None:
    """A dynamic stands a bar later."""
    event = _place(ground, bar, chance, DYNAMIC)
    later = [e for e in ground.notes(bar + 1) if event is not None and e.staff == event.staff]
    if event is None or not later:
        return None
    xml_id = _put(ground, ground.both, event, DYNAMIC, "sfzp")
    to = chance.choice(later)
    ground.witness.take(xml_id)
    ground.witness.put("dynam", xml_id, to, "sfzp")
    return _plant(Kind.DYNAMIC, Change.MOVED, event, xml_id, to)


def of_the_work(kinds: tuple[MarkingKind, ...], change: Change) -> Operation:
    """Return the operation that takes away, or words otherwise, a sign that the work has itself."""

    def plant(ground: Ground, bar: int, chance: random.Random) -> Plant | None:
        found = [m for m in ground.signs_by_bar.get(bar, ()) if m.kind in kinds and m.content]
        chance.shuffle(found)
        for sign in found:
            element = ground.witness[sign.xml_id]
            if not _alone(ground, sign) or len(element):
                continue
            if sign.kind is MarkingKind.TEMPO and _on_another_staff(ground, sign):
                continue  # a tempo is every staff's: the witness still has it
            if change is Change.MISSING:
                ground.witness.take(sign.xml_id)
            else:
                element.text = "sempre sfzp"
            told = Told(sign.start, sign.start, sign.staff, KIND_OF[sign.kind], change)
            return Plant((told,), frozenset({sign.xml_id}))
        return None

    return plant


def _on_another_staff(ground: Ground, sign: Marking) -> bool:
    """Whether another staff of the work has the same sign at the same time."""
    return any(
        (one.kind, one.content, one.start) == (sign.kind, sign.content, sign.start)
        and one.staff != sign.staff
        for one in ground.signs_by_bar.get(sign.start.bar, ())
    )


def ornament(change: Change) -> Operation:
    def plant(ground: Ground, bar: int, chance: random.Random) -> Plant | None:
        for event in shuffled(chance, ground.single(bar)):
            if not ground.clear(ORNAMENTS, event.staff, bar - 1, bar + 1):
                continue
            one, other = chance.sample(("trill", "mordent", "turn"), 2)
            xml_id = ground.new_id()
            if change is not Change.ADDED:
                ground.text.put(one, xml_id, event)
            if change is not Change.MISSING:
                ground.witness.put(other, xml_id, event)
            return _plant(Kind.ORNAMENT, change, event, xml_id)
        return None

    return plant


def trill_of_the_work_missing(ground: Ground, bar: int, _: random.Random) -> Plant | None:
    for sign in ground.signs_by_bar.get(bar, ()):
        if sign.kind is MarkingKind.TRILL:
            ground.witness.take(sign.xml_id)
            end = sign.end or sign.start
            told = Told(sign.start, end, sign.staff, Kind.ORNAMENT, Change.MISSING)
            return Plant((told,), frozenset({sign.xml_id}))
    return None


def fermata(change: Change) -> Operation:
    def plant(ground: Ground, bar: int, chance: random.Random) -> Plant | None:
        for event in shuffled(chance, ground.single(bar)):
            if ground.clear((MarkingKind.FERMATA,), event.staff, bar - 1, bar + 1):
                side = ground.witness if change is Change.ADDED else ground.text
                xml_id = ground.new_id()
                side.put("fermata", xml_id, event, form="norm")
                return _plant(Kind.OTHER, change, event, xml_id)
        return None

    return plant


KIND_OF = {
    MarkingKind.DYNAMIC: Kind.DYNAMIC,
    MarkingKind.TEMPO: Kind.TEMPO,
    MarkingKind.WORDS: Kind.WORDS,
}

_MAKERS: dict[str, Callable[[Sort], Operation]] = {
    "added": added,
    "missing": missing,
    "reworded": reworded,
    "moved": moved,
}

SIGN_OPERATIONS: dict[str, Operation] = {
    f"{name} {how}": make(sort)
    for name, sort in SORTS.items()
    for how, make in _MAKERS.items()
    if (name, how) not in {("finger", "moved"), ("string", "moved")}
} | {
    "dynamic in the next bar": moved_into_the_next_bar,
    "dynamic of the work missing": of_the_work((MarkingKind.DYNAMIC,), Change.MISSING),
    "dynamic of the work reworded": of_the_work((MarkingKind.DYNAMIC,), Change.OTHERWISE),
    "words of the work missing": of_the_work(WORDED[1:], Change.MISSING),
    "words of the work reworded": of_the_work(WORDED[1:], Change.OTHERWISE),
    "ornament added": ornament(Change.ADDED),
    "ornament missing": ornament(Change.MISSING),
    "ornament exchanged": ornament(Change.OTHERWISE),
    "trill of the work missing": trill_of_the_work_missing,
    "fermata added": fermata(Change.ADDED),
    "fermata missing": fermata(Change.MISSING),
}  # fmt: skip


def _place(ground: Ground, bar: int, chance: random.Random, sort: Sort) -> Event | None:
    """Return a note of the bar near which there is no sign that might be meant instead."""
    return next(
        (
            event
            for event in shuffled(chance, ground.single(bar))
            if ground.clear(sort.near, event.staff, bar - 1, bar + 2)
        ),
        None,
    )


def _put(
    ground: Ground, sides: tuple[Tree, ...], event: Event, sort: Sort, text: str
) -> str:  # fmt: skip
    xml_id = ground.new_id()
    for side in sides:
        side.put(sort.element, xml_id, event, text, **dict(sort.attributes))
    return xml_id


def _alone(ground: Ground, sign: Marking) -> bool:
    """Return whether no other sign of words stands at that moment, nor the same one near."""
    others = [
        m
        for bar in range(sign.start.bar - 1, sign.start.bar + 2)
        for m in ground.base.markings_in.get((sign.staff, bar), ())
        if m.kind in WORDED and m.xml_id != sign.xml_id
    ]
    return not any(m.start == sign.start for m in others)


def _plant(kind: Kind, change: Change, event: Event, xml_id: str, to: Event | None = None) -> Plant:
    end = event.start if to is None else to.start
    return Plant((Told(event.start, end, event.staff, kind, change),), frozenset({xml_id}))
