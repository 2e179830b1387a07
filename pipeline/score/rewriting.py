"""Some bars of one staff with other notes in them: a passage in, a passage of its own out.

Rhythm, rests, beams, tuplets, slurs and ties stay; what was written at the old notes (fingerings,
harmonic signs, stem directions) goes, and what belongs to the bars rather than to the notes
(dynamics, words, tempo) is left to the staff below. MEI Guidelines 5.1, chapters 3 and 4.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from copy import deepcopy
from dataclasses import dataclass
from typing import cast

from lxml import etree

from pipeline.score.identifiers import give_identifiers, prefix_identifiers
from pipeline.score.mei_names import (
    MEI_NAMESPACE,
    MEI_VERSION,
    XML_ID,
    Element,
    chosen_children,
    local,
    tag,
)
from pipeline.score.model import Event, Marking, MarkingKind, Moment, NoteHead, Passage, Pitch
from pipeline.score.passage import passage_of
from pipeline.score.safe_xml import parse_xml
from pipeline.score.signatures import StaffDefinition, redefined
from pipeline.score.trouble import Trouble

_ACCIDENTALS = {1: "s", -1: "f", 0: "n", 2: "x", -2: "ff"}
_OPENING_SIGNS = ("clef", "keySig", "meterSig", "meterSigGrp")
_OPENING_ATTRIBUTES = ("clef.", "key", "meter.", "trans.", "lines")
_OF_THE_OLD_NOTES = ("stem.dir", "stem.len", "stem.pos", "artic", "head.shape", "head.fill")
_DEFAULT = cast("Mapping[str, str]", {None: MEI_NAMESPACE})


@dataclass(frozen=True)
class NewNotes:
    """What stands in place of a note or chord: pitches from low to high, each with its head shape.

    `articulation` is a sign of MEI data.ARTICULATION above it, `fingers` are digits by pitch,
    `words` stand above it; each may be empty.
    """

    heads: tuple[tuple[Pitch, str], ...]
    articulation: str = ""
    fingers: tuple[str, ...] = ()
    words: str = ""


def rewritten(
    text: Passage,
    bars: Sequence[int],
    staff: int,
    notes: Mapping[str, NewNotes],
    prefix: str,
) -> Passage:
    """Return those bars of that staff with new notes in place of the events of these xml:ids.

    Every xml:id begins with `prefix`. Notes outside the mapping stay as they sound.
    """
    root = parse_xml(text.mei, text.file).value
    assert root is not None, "a passage that was read"
    source = _Source(text, root, tuple(bars), staff)
    document, section = _document(source)
    for index in bars:
        section.append(_measure(source, index, notes))
    give_identifiers(document)
    prefix_identifiers(document, prefix)
    # Written and read again, so that the passage is what a file with these notes would give.
    passage = passage_of(
        etree.fromstring(etree.tostring(document)), text.file, Trouble(text.file, has_lines=False)
    )
    assert passage is not None, "a document with bars"
    return passage


@dataclass(frozen=True)
class _Source:
    """Where the bars come from; the tree is not changed."""

    text: Passage
    root: Element
    bars: tuple[int, ...]
    staff: int

    def measure(self, index: int) -> Element:
        wanted = self.text.bars[index].xml_id
        return next(m for m in self.root.iter(tag("measure")) if m.get(XML_ID) == wanted)

    def events(self, index: int) -> tuple[Event, ...]:
        return self.text.events_in.get((self.staff, index), ())


def _make(name: str, **attributes: str) -> Element:
    return etree.Element(tag(name), attributes, nsmap=_DEFAULT)


def _document(source: _Source) -> tuple[Element, Element]:
    """Return an MEI document with clef, key and meter of the first bar, and its empty section."""
    root = _make("mei", meiversion=MEI_VERSION)
    head = etree.SubElement(etree.SubElement(root, tag("meiHead")), tag("fileDesc"))
    etree.SubElement(etree.SubElement(head, tag("titleStmt")), tag("title"))
    etree.SubElement(head, tag("pubStmt"))
    body = etree.SubElement(etree.SubElement(root, tag("music")), tag("body"))
    score = etree.SubElement(etree.SubElement(body, tag("mdiv")), tag("score"))
    definition = etree.SubElement(etree.SubElement(score, tag("scoreDef")), tag("staffGrp"))
    definition = etree.SubElement(definition, tag("staffDef"), n=str(source.staff), lines="5")
    label = next((s.label for s in source.text.staves if s.n == source.staff), "")
    if label:
        etree.SubElement(definition, tag("label")).text = label
    for sign in _opening(source, definition).values():
        definition.append(sign)
    return root, etree.SubElement(score, tag("section"))


def _opening(source: _Source, definition: Element) -> dict[str, Element]:
    """Return copies of the signs in force; attributes go into the definition itself."""
    signs: dict[str, Element] = {}
    for element in _before(source):
        name = local(element)
        if name in {"scoreDef", "staffDef"}:
            for attribute, value in element.attrib.items():
                if str(attribute).startswith(_OPENING_ATTRIBUTES):
                    definition.set(str(attribute), str(value))
                    _supersede(signs, str(attribute))
        elif name in _OPENING_SIGNS:
            copy = deepcopy(element)
            copy.tail = None
            copy.attrib.pop(XML_ID, "")
            signs[name] = copy
    return {name: signs[name] for name in _OPENING_SIGNS if name in signs}


def _supersede(signs: dict[str, Element], attribute: str) -> None:
    start = attribute.partition(".")[0]
    for name in [name for name in signs if name.lower().startswith(start[:4])]:
        del signs[name]


def _before(source: _Source) -> Iterator[Element]:
    """Yield what defines the staff before the first bar, in document order."""
    first = source.measure(source.bars[0])
    for element in source.root.iter(
        *(tag(name) for name in ("scoreDef", "staffDef", "measure", *_OPENING_SIGNS))
    ):
        if element is first:
            return
        owner = next(
            (above for above in (element, *element.iterancestors())
             if local(above) in {"staff", "staffDef"}), None
        )  # fmt: skip
        if owner is None or owner.get("n", str(source.staff)) == str(source.staff):
            yield element


def _definition(source: _Source) -> StaffDefinition:
    definition = StaffDefinition()
    for element in _before(source):
        if local(element) in {"scoreDef", "staffDef"}:
            definition = redefined(definition, element)
    return definition


def _measure(source: _Source, index: int, notes: Mapping[str, NewNotes]) -> Element:
    old = source.measure(index)
    measure = _make("measure", n=source.text.bars[index].n)
    measure.set(XML_ID, source.text.bars[index].xml_id)
    if old.get("metcon"):
        measure.set("metcon", old.get("metcon", ""))
    for child in chosen_children(old):
        if local(child) == "staff" and child.get("n", "1") == str(source.staff):
            copy = deepcopy(child)
            copy.tail = None
            measure.append(copy)
    _exchange(source, index, measure, notes)
    for marking in source.text.markings:
        if marking.kind is MarkingKind.SLUR and marking.staff == source.staff:
            measure.extend(_slur(source, index, marking))
    measure.extend(_signs(source, index, notes))
    return measure


def _exchange(source: _Source, index: int, measure: Element, notes: Mapping[str, NewNotes]) -> None:
    definition = _definition(source)
    there = {element.get(XML_ID): element for element in measure.iter("*")}
    sounding: dict[tuple[str, int], int] = {}
    for event in sorted(source.events(index), key=lambda e: (e.onset, e.voice)):
        old = there.get(event.xml_id)
        if old is None or not event.heads:
            continue
        new = notes.get(event.xml_id)
        heads = (
            [(head.pitch, head.shape, head.tie) for head in event.heads]
            if new is None
            else [(pitch, shape, _tie(event.heads)) for pitch, shape in new.heads]
        )
        written = _written(event, old, heads, "" if new is None else new.articulation)
        if new is None:
            _keep_articulations(old, written)
        for note, (pitch, _, tie) in zip(_notes(written), heads, strict=True):
            note.set("oct", str(pitch.octave - definition.octaves))
            _accidental(note, pitch, tie, sounding, definition)
        parent = old.getparent()
        assert parent is not None
        written.tail = old.tail
        parent.replace(old, written)


def _tie(heads: Sequence[NoteHead]) -> str:
    ties = {head.tie for head in heads}
    return ties.pop() if len(ties) == 1 else ""


def _notes(written: Element) -> list[Element]:
    return [written] if local(written) == "note" else list(written.iter(tag("note")))


def _written(
    event: Event, old: Element, heads: Sequence[tuple[Pitch, str, str]], articulation: str
) -> Element:
    """Return the note or chord with the old one's value and place in beam and tuplet."""
    outer = _make("chord" if len(heads) > 1 else "note")
    for name, value in old.attrib.items():
        if str(name) not in _OF_THE_OLD_NOTES and str(name) in _OF_AN_EVENT:
            outer.set(str(name), str(value))
    for number, (pitch, shape, tie) in enumerate(heads, start=1):
        if len(heads) > 1:
            note = etree.SubElement(outer, tag("note"))
            note.set(XML_ID, f"{event.xml_id}-{number}")
        else:
            note = outer
        note.set("pname", pitch.step.lower())
        if shape:
            note.set("head.shape", shape)
            note.set("head.fill", "void")
        if tie:
            note.set("tie", tie)
    if articulation:
        outer.set("artic", articulation)
    return outer


_OF_AN_EVENT = frozenset({XML_ID, "dur", "dots", "grace", "tuplet", "dur.ppq", "num", "numbase"})


def _keep_articulations(old: Element, written: Element) -> None:
    """Keep the signs of a note that stays, written as attribute or as elements."""
    if old.get("artic"):
        written.set("artic", old.get("artic", ""))
    for sign in [child for child in old if local(child) == "artic"]:
        written.append(deepcopy(sign))


def _accidental(
    note: Element,
    pitch: Pitch,
    tie: str,
    sounding: dict[tuple[str, int], int],
    definition: StaffDefinition,
) -> None:
    """Print the accidental that the bar so far makes necessary, else only say how it sounds."""
    line = (pitch.step, pitch.octave)
    understood = sounding.get(line, definition.key.alterations.get(pitch.step, 0))
    sign = _ACCIDENTALS[pitch.alter]
    if pitch.alter != understood and tie not in {"m", "t"}:
        note.set("accid", sign)
        sounding[line] = pitch.alter
    elif pitch.alter:
        note.set("accid.ges", sign)


def _slur(source: _Source, index: int, marking: Marking) -> Iterator[Element]:
    """Yield the slur if it begins in this bar; one that crosses an edge is cut there."""
    first, last = source.bars[0], source.bars[-1]
    if marking.end is None or marking.end.bar < first or marking.start.bar > last:
        return
    if max(marking.start.bar, first) != index:
        return
    start = _event_at(source, marking.start_id, marking.start)
    end = _event_at(source, marking.end_id, marking.end)
    if start and end and start != end:
        yield _make("slur", startid=f"#{start}", endid=f"#{end}")


def _event_at(source: _Source, xml_id: str, moment: Moment) -> str:
    """Return the event a slur hangs on, or the nearest inside the bars."""
    known = source.text.by_id.get(xml_id)
    if known is not None and known.bar in source.bars:
        return known.xml_id
    inside = [e for bar in source.bars for e in source.events(bar) if e.heads and not e.grace]
    if not inside:
        return ""
    if moment < inside[0].start:
        return inside[0].xml_id
    before = [event for event in inside if event.start <= moment]
    return before[-1].xml_id if before else ""


def _signs(source: _Source, index: int, notes: Mapping[str, NewNotes]) -> Iterator[Element]:
    for event in source.events(index):
        new = notes.get(event.xml_id)
        if new is None:
            continue
        for number, digit in enumerate(new.fingers, start=1):
            hung = f"#{event.xml_id}" + (f"-{number}" if len(new.heads) > 1 else "")
            fing = _make("fing", staff=str(source.staff), startid=hung, place="above")
            fing.text = digit
            yield fing
        if new.words:
            words = _make("dir", staff=str(source.staff), startid=f"#{event.xml_id}", place="above")
            words.text = new.words
            yield words
