"""Changes of length: two notes exchange theirs, a dot, a note in two, three for two."""

from __future__ import annotations

import random
from collections.abc import Iterator
from copy import deepcopy

from lxml import etree

from pipeline.collation.model import Change
from pipeline.collation.model import DifferenceKind as Kind
from pipeline.score.model import Event
from tests.planting.ground import (
    MEI,
    XML_ID,
    Element,
    Ground,
    Operation,
    Plant,
    Told,
    ids,
    shuffled,
)


def exchanged(ground: Ground, bar: int, chance: random.Random) -> Plant | None:
    """A crotchet and a quaver become a quaver and a crotchet."""
    for one, other in _pairs(ground, bar, chance):
        if one.written != other.written:
            _value(ground.witness[one.xml_id], other.written)
            _value(ground.witness[other.xml_id], one.written)
            return _run(Kind.RHYTHM, Change.OTHERWISE, one, other)
    return None


def dotted(ground: Ground, bar: int, chance: random.Random) -> Plant | None:
    """Of two equal notes the first takes half of the second."""
    for one, other in _pairs(ground, bar, chance):
        if one.written == other.written in {"2", "4", "8", "16"}:
            _value(ground.witness[one.xml_id], one.written + ".")
            _value(ground.witness[other.xml_id], str(2 * int(one.written)))
            return _run(Kind.RHYTHM, Change.OTHERWISE, one, other)
    return None


def halved(ground: Ground, bar: int, chance: random.Random) -> Plant | None:
    """A note becomes two of half its length, struck twice."""
    return _in_two(ground, bar, chance, tied=False)


def halved_and_tied(ground: Ground, bar: int, chance: random.Random) -> Plant | None:
    """A note becomes two of half its length, tied."""
    return _in_two(ground, bar, chance, tied=True)


def triplet(ground: Ground, bar: int, chance: random.Random) -> Plant | None:
    """Three notes in the time of two equal ones; the middle one is new."""
    for one, other in _pairs(ground, bar, chance):
        if one.written == other.written in {"4", "8", "16"}:
            tuplet = _in_tuplet(ground, one, other)
            middle = _copy(ground, one)
            middle.set("oct", "7")
            tuplet.insert(1, middle)
            return _run(Kind.NOTES_ADDED, Change.ADDED, one, other, new=middle)
    return None


def two_of_a_triplet(ground: Ground, bar: int, chance: random.Random) -> Plant | None:
    """Two equal notes become long and short of a triplet."""
    for one, other in _pairs(ground, bar, chance):
        if one.written == other.written in {"4", "8", "16"}:
            _in_tuplet(ground, one, other)
            _value(ground.witness[one.xml_id], str(int(one.written) // 2))
            return _run(Kind.RHYTHM, Change.OTHERWISE, one, other)
    return None


RHYTHM_OPERATIONS: dict[str, Operation] = {
    "lengths exchanged": exchanged,
    "dotted": dotted,
    "note struck twice": halved,
    "note written as two tied": halved_and_tied,
    "triplet for two": triplet,
    "long and short of a triplet": two_of_a_triplet,
}


def _pairs(ground: Ground, bar: int, chance: random.Random) -> Iterator[tuple[Event, Event]]:
    """Yield neighbouring single notes that stand beside each other in the file too."""
    following = {(e.staff, e.voice, e.onset): e for e in ground.single(bar)}
    for one in shuffled(chance, ground.single(bar)):
        other = following.get((one.staff, one.voice, one.onset + one.duration))
        if other is None or one.tuplet or other.tuplet:
            continue
        parent = ground.witness[one.xml_id].getparent()
        assert parent is not None
        beside = ground.witness[one.xml_id].getnext() is ground.witness[other.xml_id]
        if beside and parent.tag in {f"{MEI}layer", f"{MEI}beam"}:
            yield one, other


def _in_two(ground: Ground, bar: int, chance: random.Random, tied: bool) -> Plant | None:
    for event in shuffled(chance, ground.single(bar)):
        if event.written not in {"1", "2", "4", "8", "16"}:
            continue
        note = ground.witness[event.xml_id]
        _value(note, str(2 * int(event.written)))
        second = _copy(ground, event)
        note.addnext(second)
        if not tied:
            return _run(Kind.NOTES_ADDED, Change.ADDED, event, new=second)
        ground.witness.put("tie", ground.new_id(), event, endid=f"#{second.get(XML_ID)}")
        return _run(Kind.RHYTHM, Change.OTHERWISE, event, new=second)
    return None


def _copy(ground: Ground, event: Event) -> Element:
    """Return a new note like that one, without its articulations and printed accidental."""
    note = deepcopy(ground.witness[event.xml_id])
    note.set(XML_ID, ground.new_id())
    note.tail = None
    for child in list(note):
        note.remove(child)
    note.attrib.pop("accid", None)
    note.set("accid.ges", {-1: "f", 0: "n", 1: "s"}.get(event.heads[0].pitch.alter, "n"))
    return note


def _in_tuplet(ground: Ground, one: Event, other: Event) -> Element:
    tuplet = etree.Element(f"{MEI}tuplet", num="3", numbase="2")
    first = ground.witness[one.xml_id]
    first.addprevious(tuplet)
    tuplet.append(first)
    tuplet.append(ground.witness[other.xml_id])
    return tuplet


def _value(note: Element, written: str) -> None:
    for child in note.findall(f"{MEI}dot"):
        note.remove(child)
    note.set("dur", written.rstrip("."))
    note.attrib.pop("dots", None)
    note.attrib.pop("dur.ppq", None)
    if written.endswith("."):
        note.set("dots", str(written.count(".")))


def _run(kind: Kind, change: Change, *events: Event, new: Element | None = None) -> Plant:
    told = Told(events[0].start, events[-1].end, events[0].staff, kind, change)
    return Plant((told,), ids(*events) | ({new.get(XML_ID, "")} if new is not None else set()))
