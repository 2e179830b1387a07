"""Changes of notes: pitch, accidentals, length, notes more or fewer, ties, what a note carries."""

from __future__ import annotations

import random

from lxml import etree

from pipeline.collation.model import Change
from pipeline.collation.model import DifferenceKind as Kind
from pipeline.score.model import Event, EventKind
from tests.planting.ground import (
    MEI,
    SOUND,
    XML_ID,
    Element,
    Ground,
    Operation,
    Plant,
    Told,
    at_event,
    ids,
    shuffled,
)

_NEIGHBOUR = dict(zip("abcdefg", "bagedgf", strict=True))
"""A step beside each within its octave of names (C to B)."""


def other_step(ground: Ground, bar: int, chance: random.Random) -> Plant | None:
    for event in shuffled(chance, ground.single(bar)):
        note = ground.witness[event.xml_id]
        if event.heads[0].accidental:
            continue
        note.set("pname", _NEIGHBOUR[note.get("pname", "")])
        return _one(event, Kind.PITCH)
    return None


def other_octave(ground: Ground, bar: int, chance: random.Random) -> Plant | None:
    for event in shuffled(chance, ground.single(bar)):
        note, octave = ground.witness[event.xml_id], event.heads[0].pitch.octave
        if note.get("oct") is None or note.get("oct.ges") is not None:
            continue
        note.set("oct", str(int(note.get("oct", "")) + (1 if octave < 4 else -1)))
        return _one(event, Kind.PITCH)
    return None


def other_alteration(ground: Ground, bar: int, chance: random.Random) -> Plant | None:
    for event in shuffled(chance, ground.single(bar)):
        head = event.heads[0]
        if head.accidental or abs(head.pitch.alter) > 1:
            continue
        _print_accidental(ground.witness[event.xml_id], head.pitch.alter + chance.choice((-1, 1)))
        return _one(event, Kind.PITCH)
    return None


def accidental_added(ground: Ground, bar: int, chance: random.Random) -> Plant | None:
    for event in shuffled(chance, ground.single(bar)):
        if not event.heads[0].accidental:
            _print_accidental(ground.witness[event.xml_id], event.heads[0].pitch.alter)
            return _one(event, Kind.ACCIDENTAL, Change.ADDED)
    return None


def accidental_missing(ground: Ground, bar: int, chance: random.Random) -> Plant | None:
    for event in shuffled(chance, ground.single(bar)):
        head = event.heads[0]
        if not head.accidental:
            _print_accidental(ground.text[event.xml_id], head.pitch.alter)
        elif head.accidental not in SOUND.values():
            continue
        else:
            _leave_to_sound(ground.witness[event.xml_id], head.pitch.alter)
        return _one(event, Kind.ACCIDENTAL, Change.MISSING)
    return None


def note_of_chord_missing(ground: Ground, bar: int, chance: random.Random) -> Plant | None:
    for event in shuffled(chance, ground.notes(bar)):
        heads = [h for h in event.heads if not h.tie and h.xml_id not in ground.attached]
        if len(event.heads) > 2 and heads:
            ground.witness.take(chance.choice(heads).xml_id)
            return _one(event, Kind.NOTES_MISSING, Change.MISSING)
    return None


def note_of_chord_added(ground: Ground, bar: int, chance: random.Random) -> Plant | None:
    """A single note becomes a chord, or a chord has one note more: the octave of its first."""
    for event in shuffled(chance, ground.notes(bar)):
        head = event.heads[0]
        octave = head.pitch.octave + 1
        if any(h.tie or h.pitch.octave > head.pitch.octave for h in event.heads):
            continue
        element = ground.witness[event.xml_id]
        chord = element if event.kind is EventKind.CHORD else _as_chord(element, ground.new_id())
        note = etree.SubElement(chord, f"{MEI}note", pname=head.pitch.step.lower(), oct=str(octave))
        note.set(XML_ID, ground.new_id())
        note.set("accid.ges", SOUND[head.pitch.alter])
        return Plant(
            (at_event(event, Kind.NOTES_ADDED, Change.ADDED),),
            ids(event) | {chord.get(XML_ID, "")},
        )
    return None


def note_missing(ground: Ground, bar: int, chance: random.Random) -> Plant | None:
    for event in shuffled(chance, ground.single(bar)):
        if ground.free(event) and not _grace_before(ground.text[event.xml_id]):
            _make_rest(ground.witness[event.xml_id])
            return _one(event, Kind.NOTES_MISSING, Change.MISSING)
    return None


def note_added(ground: Ground, bar: int, chance: random.Random) -> Plant | None:
    """A note stands where the text has a rest."""
    for event in shuffled(chance, (e for e in ground.base.events if e.bar == bar)):
        element = ground.witness[event.xml_id]
        if event.xml_id in ground.taken:
            continue
        if element.tag != f"{MEI}rest" or not event.written or event.tuplet:
            continue
        for name in set(element.attrib) - {XML_ID, "dur", "dots"}:
            del element.attrib[name]
        element.tag = f"{MEI}note"
        element.set("pname", "d")
        element.set("oct", "4")
        element.set("accid.ges", "n")
        return _one(event, Kind.NOTES_ADDED, Change.ADDED)
    return None


def grace_added(ground: Ground, bar: int, chance: random.Random) -> Plant | None:
    return _with_grace(ground, bar, chance, Kind.NOTES_ADDED, Change.ADDED)


def grace_missing(ground: Ground, bar: int, chance: random.Random) -> Plant | None:
    return _with_grace(ground, bar, chance, Kind.NOTES_MISSING, Change.MISSING)


def grace_of_other_pitch(ground: Ground, bar: int, chance: random.Random) -> Plant | None:
    return _with_grace(ground, bar, chance, Kind.PITCH, Change.OTHERWISE)


def tie_missing(ground: Ground, bar: int, chance: random.Random) -> Plant | None:
    """A tie of the work is taken away, or one that was first put on both sides."""
    ties = [t for t in ground.base.markings if t.kind == "tie" and t.start.bar == bar]
    for tie in ties:
        event = ground.base.by_id[tie.start_id]
        if event.kind is EventKind.NOTE and not event.grace and event.xml_id not in ground.taken:
            ground.witness.take(tie.xml_id)
            return _one(event, Kind.TIE, Change.MISSING)
    return _tied(ground, bar, chance, Change.MISSING)


def tie_added(ground: Ground, bar: int, chance: random.Random) -> Plant | None:
    return _tied(ground, bar, chance, Change.ADDED)


def diamond_head(ground: Ground, bar: int, chance: random.Random) -> Plant | None:
    for event in shuffled(chance, ground.single(bar)):
        ground.witness[event.xml_id].set("head.shape", "diamond")
        return _one(event, Kind.NOTE_HEAD)
    return None


def carried(kind: Kind, signs: tuple[str, ...], change: Change) -> Operation:
    """Return the operation that adds, takes away or exchanges an articulation or a bow sign."""

    def plant(ground: Ground, bar: int, chance: random.Random) -> Plant | None:
        for event in shuffled(chance, ground.notes(bar)):
            if event.articulations:
                continue
            one, other = chance.sample(signs, 2)
            if change is not Change.ADDED:
                _carry(ground.text[event.xml_id], one)
            if change is not Change.MISSING:
                _carry(ground.witness[event.xml_id], other)
            return _one(event, kind, change)
        return None

    return plant


def articulation_of_the_work_missing(
    ground: Ground, bar: int, chance: random.Random
) -> Plant | None:
    for event in shuffled(chance, ground.notes(bar)):
        found = ground.witness[event.xml_id].findall(f"{MEI}artic")
        if (
            len(found) == 1
            and len(event.articulations) == 1
            and "bow" not in event.articulations[0]
        ):
            ground.witness[event.xml_id].remove(found[0])
            return _one(event, Kind.ARTICULATION, Change.MISSING)
    return None


ARTICULATIONS = ("stacc", "ten", "acc", "marc", "spicc")
BOWS = ("dnbow", "upbow")

NOTE_OPERATIONS: dict[str, Operation] = {
    "another step": other_step,
    "another octave": other_octave,
    "another alteration": other_alteration,
    "accidental added": accidental_added,
    "accidental missing": accidental_missing,
    "note of a chord missing": note_of_chord_missing,
    "note of a chord added": note_of_chord_added,
    "note missing": note_missing,
    "note added": note_added,
    "grace note added": grace_added,
    "grace note missing": grace_missing,
    "grace note of another pitch": grace_of_other_pitch,
    "tie missing": tie_missing,
    "tie added": tie_added,
    "diamond head": diamond_head,
    "articulation added": carried(Kind.ARTICULATION, ARTICULATIONS, Change.ADDED),
    "articulation missing": carried(Kind.ARTICULATION, ARTICULATIONS, Change.MISSING),
    "articulation exchanged": carried(Kind.ARTICULATION, ARTICULATIONS, Change.OTHERWISE),
    "articulation of the work missing": articulation_of_the_work_missing,
    "bow sign added": carried(Kind.BOW_SIGN, BOWS, Change.ADDED),
    "bow sign missing": carried(Kind.BOW_SIGN, BOWS, Change.MISSING),
    "bow sign exchanged": carried(Kind.BOW_SIGN, BOWS, Change.OTHERWISE),
}


def _one(event: Event, kind: Kind, change: Change = Change.OTHERWISE) -> Plant:
    return Plant((at_event(event, kind, change),), ids(event))


def _print_accidental(note: Element, alter: int) -> None:
    for accid in note.findall(f"{MEI}accid"):
        note.remove(accid)
    note.attrib.pop("accid.ges", None)
    note.set("accid", SOUND[alter])


def _leave_to_sound(note: Element, alter: int) -> None:
    for accid in note.findall(f"{MEI}accid"):
        note.remove(accid)
    note.attrib.pop("accid", None)
    note.set("accid.ges", SOUND[alter])


def _as_chord(note: Element, xml_id: str) -> Element:
    """Put a chord around a note; what is said of the whole chord moves to it."""
    chord = etree.Element(f"{MEI}chord")
    chord.set(XML_ID, xml_id)
    note.addprevious(chord)
    chord.append(note)
    for name in ("dur", "dots", "dur.ppq", "stem.dir"):
        if name in note.attrib:
            chord.set(name, note.attrib.pop(name))
    for artic in note.findall(f"{MEI}artic"):
        chord.append(artic)
    return chord


def _make_rest(note: Element) -> None:
    for child in list(note):
        note.remove(child)
    for name in set(note.attrib) - {XML_ID, "dur", "dots"}:
        del note.attrib[name]
    note.tag = f"{MEI}rest"


def _grace_before(note: Element) -> bool:
    before = note.getprevious()
    if before is None and note.getparent() is not None:
        before = note.getparent().getprevious()
    return before is not None and any(
        one.get("grace") or one.tag == f"{MEI}graceGrp" for one in before.iter("*")
    )


def _with_grace(
    ground: Ground, bar: int, chance: random.Random, kind: Kind, change: Change
) -> Plant | None:
    for event in shuffled(chance, ground.single(bar)):
        if _grace_before(ground.text[event.xml_id]):
            continue
        xml_id = ground.new_id()
        pitches = {ground.text: "e", ground.witness: "e" if kind is Kind.NOTES_MISSING else "f"}
        sides = {Change.ADDED: (ground.witness,), Change.MISSING: (ground.text,)}
        for side in sides.get(change, ground.both):
            grace = etree.Element(
                f"{MEI}note", grace="unacc", dur="8", pname=pitches[side], oct="4"
            )
            grace.set(XML_ID, xml_id)
            grace.set("accid.ges", "n")
            side[event.xml_id].addprevious(grace)
        told = Told(event.start, event.start, event.staff, kind, change)
        return Plant((told,), frozenset({xml_id}))
    return None


def _tied(ground: Ground, bar: int, chance: random.Random, change: Change) -> Plant | None:
    side = ground.witness if change is Change.ADDED else ground.text
    for event in shuffled(chance, ground.single(bar)):
        after = next((e for e in ground.single(bar) if _repeats(event, e)), None)
        if after is not None:
            side.put("tie", ground.new_id(), event, end=after)
            return _one(event, Kind.TIE, change)
    return None


def _repeats(event: Event, after: Event) -> bool:
    return (after.staff, after.voice, after.start) == (
        event.staff,
        event.voice,
        event.end,
    ) and after.pitches == event.pitches


def _carry(note: Element, sign: str) -> None:
    etree.SubElement(note, f"{MEI}artic", artic=sign)
