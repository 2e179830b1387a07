"""Clefs and octave signs that are read or left out, so that the notes sound otherwise."""

from __future__ import annotations

import random

from lxml import etree

from pipeline.collation.model import Change
from pipeline.collation.model import DifferenceKind as Kind
from pipeline.score.model import Event, MarkingKind
from tests.planting.ground import (
    MEI,
    Ground,
    Operation,
    Plant,
    Told,
    at_event,
    ids,
    say_sound,
    shuffled,
)

_STEPS = "cdefgab"
_LOWER_BY = 6
"""What stands on a line of the treble clef stands seven names lower in the alto clef: e1 is f."""


def octave_sign(change: Change) -> Operation:
    """Return the operation that sets an 8va sign over written notes on one side only: the sign
    is told, which says that they all sound an octave off."""

    def plant(ground: Ground, bar: int, chance: random.Random) -> Plant | None:
        for event in shuffled(chance, ground.single(bar)):
            notes = _alone_from(ground, event)
            if len(notes) < 2 or not ground.clear(
                (MarkingKind.OCTAVE,), event.staff, bar - 1, bar + 1
            ):
                continue
            side = ground.witness if change is Change.ADDED else ground.text
            xml_id = ground.new_id()
            side.put("octave", xml_id, notes[0], end=notes[-1], dis="8", **{"dis.place": "above"})
            sign = Told(notes[0].start, notes[-1].start, event.staff, Kind.OCTAVE_SIGN, change)
            ground.taken |= ids(*notes)
            return Plant((sign,), frozenset({xml_id}))
        return None

    return plant


def other_clef(ground: Ground, bar: int, chance: random.Random) -> Plant | None:
    """Notes on the same lines are read in another clef, which holds to the end of the bar."""
    for event in shuffled(chance, ground.single(bar)):
        notes = _alone_from(ground, event)
        first = ground.witness[event.xml_id]
        parent = first.getparent()
        if not 2 <= len(notes) <= 6 or parent is None or parent.tag == f"{MEI}tuplet":
            continue
        if any(head.accidental for note in notes for head in note.heads):
            continue
        first.addprevious(etree.Element(f"{MEI}clef", shape="C", line="3"))
        for note in notes:
            element = ground.witness[note.xml_id]
            at = _STEPS.index(element.get("pname", "")) - _LOWER_BY
            element.set("pname", _STEPS[at % 7])
            element.set("oct", str(int(element.get("oct", "")) + at // 7))
            say_sound(element, 0)
        return Plant(tuple(at_event(note, Kind.PITCH) for note in notes), ids(*notes))
    return None


SOUNDING_OPERATIONS: dict[str, Operation] = {
    "octave sign added": octave_sign(Change.ADDED),
    "octave sign missing": octave_sign(Change.MISSING),
    "another clef": other_clef,
}


def _alone_from(ground: Ground, event: Event) -> list[Event]:
    """Return the notes from this one to the end of the bar where they are all that sounds on the
    staff: single, untied, without grace notes."""
    events = ground.base.events_in[event.staff, event.bar]
    notes = [e for e in events if e.heads and e.start >= event.start]
    if any(e.heads and e.start < event.start < e.end for e in events):
        return []
    single = {e.xml_id for e in ground.single(event.bar)}
    return notes if all(note.xml_id in single for note in notes) else []
