"""An edition folder made around any score: a witness with planted changes, and records for them.

Used where the pipeline has to meet music that nobody chose for it (music21's corpus), and where
the number of records is what counts. The same seed makes the same folder.
"""

from __future__ import annotations

import copy
import random
import shutil
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

from lxml import etree

from pipeline.problems import Origin
from pipeline.score.mei_names import XML_ID, Element, local, tag
from pipeline.score.model import Bar, Event, EventKind, MarkingKind, Passage
from pipeline.score.read import read_passage

WITNESS_FILE = "witnesses/W.mei"
_STEPS = "cdefgab"

HEAD = """\
title: An edition made for a test
scoring: as the score says
languages: [en]
agents:
  composer: {name: Somebody, role: composer}
  editor: {name: An Editor, role: editor}
  custom: {name: What is played, role: tradition}
witnesses:
  T: {kind: autograph, title: The text, principal: true}
  W:
    kind: copy
    title: A copy with changes
    copied_from: T
    encodings: {1: witnesses/W.mei}
movements:
  - {n: 1, title: First, base: BASE}
"""


@dataclass(frozen=True)
class Slot:
    """One staff of one bar, where records may be put."""

    bar: Bar
    staff: int
    notes: tuple[Event, ...]


def write_generated_edition(folder: Path, score: Path, records: int, seed: int = 1) -> int:
    """Write an edition with up to that many records around a score; return how many there are."""
    (folder / "score").mkdir(parents=True)
    (folder / "witnesses").mkdir()
    (folder / "music").mkdir()
    (folder / "records").mkdir()
    base = f"score/{score.name}"
    shutil.copy(score, folder / base)
    (folder / "edition.yaml").write_text(HEAD.replace("BASE", base), encoding="utf-8")
    passage = read_passage(folder, base, Origin("edition.yaml")).value
    assert passage is not None, f"{score.name} cannot be read"
    chance = random.Random(seed)
    root = etree.fromstring(passage.mei)
    elements = {e.get(XML_ID, ""): e for e in root.iter(etree.Element)}
    rows: list[str] = []
    for number, (kind, slot) in enumerate(_tasks(passage, chance)):
        if len(rows) == records:
            break
        row = _record(kind, slot, number, passage, elements, folder)
        if row:
            rows.append(row)
    (folder / WITNESS_FILE).write_bytes(
        etree.tostring(root.getroottree(), encoding="UTF-8", xml_declaration=True)
    )
    (folder / "records" / "all.yaml").write_text("".join(rows), encoding="utf-8")
    return len(rows)


_KINDS = ("pitch", "fingering", "slur", "remark", "rest", "ossia", "articulation", "bowing",
          "emendation", "tradition")  # fmt: skip


def _tasks(passage: Passage, chance: random.Random) -> Iterator[tuple[str, Slot]]:
    """Yield slots in a random order, each with a kind; then again with remarks, without end."""
    once = [
        Slot(bar, staff.n, notes)
        for bar in passage.bars
        if passage.bar_index[bar.n] == bar.index
        for staff in passage.staves
        if (notes := tuple(e for e in passage.events_in.get((staff.n, bar.index), ()) if e.heads))
    ]
    chance.shuffle(once)
    for number, slot in enumerate(once):
        yield _KINDS[number % len(_KINDS)], slot
    for _ in range(20):
        yield from (("remark", slot) for slot in once)


def _record(
    kind: str,
    slot: Slot,
    number: int,
    passage: Passage,
    elements: dict[str, Element],
    folder: Path,
) -> str:
    """Return the record as YAML, or nothing where the bar offers no occasion for that kind."""
    lines: list[str] | None
    match kind:
        case "pitch" | "rest" | "articulation" | "slur":
            changed = _CHANGES[kind](slot, passage, elements)
            lines = ["kind: reading", "lemma: [T]", "readings: [{witnesses: [W]}]"]
            lines = lines if changed else None
        case "emendation":
            changed = _change_pitch(slot, passage, elements)
            lines = ["kind: emendation", "certainty: high"]
            lines += ["readings: [{witnesses: [W]}, {witnesses: [T], says: it is smudged}]"]
            lines = lines if changed else None
        case "fingering":
            digits = _one_digit(slot)
            lines = ["kind: fingering", f"alternatives: [{{name: a, fingers: [{digits}]}}]"]
            lines = lines if digits else None
        case "bowing":
            lines = ["kind: bowing", "alternatives: [{name: a, signs: {1: down}}]"]
            lines = None if _within_a_bow(slot, passage) else lines
        case "ossia" | "tradition":
            file = f"music/{kind}-{number}.mei"
            _write_fragment(folder / file, slot, passage)
            lines = [f"kind: {kind}", f"music: {{file: {file}}}", "label: ossia"]
            lines += ["origin: as heard", "note: not the composer's"] * (kind == "tradition")
        case _:
            lines = ["kind: remark"]
    if lines is None:
        return ""
    by = "custom" if kind == "tradition" else "editor"
    head = [
        f"id: r{number}",
        f'place: {{movement: 1, bar: "{slot.bar.n}", staff: {slot.staff}}}',
        f"by: {by}",
        "date: 2026-01-31",
        f"reason: Reason number {number}, which is about a {kind}.",
    ]
    return "- " + "\n  ".join([*head, *lines]) + "\n"


def _one_digit(slot: Slot) -> str:
    """Return a first finger on the first single note and `none` elsewhere, in a violin's range."""
    stopped = [e for e in slot.notes if len(e.heads) == 1 and 57 <= e.pitches[0].midi <= 88]
    if not stopped or any(pitch.midi < 55 for event in slot.notes for pitch in event.pitches):
        return ""
    return ", ".join("1" if event is stopped[0] else "none" for event in slot.notes)


def _within_a_bow(slot: Slot, passage: Passage) -> bool:
    """Return whether a bow is under way when the bar begins."""
    tied = any(head.tie in {"m", "t"} for head in slot.notes[0].heads)
    return tied or any(
        marking.kind is MarkingKind.SLUR
        and marking.start.bar < slot.bar.index
        and (marking.end is None or marking.end.bar >= slot.bar.index)
        for marking in passage.markings_in.get((slot.staff, slot.bar.index), ())
    )


def _change_pitch(slot: Slot, passage: Passage, elements: dict[str, Element]) -> bool:
    for event in slot.notes:
        head = event.heads[0]
        if not head.tie and event.kind is EventKind.NOTE:
            note = elements[head.xml_id]
            step = _STEPS.index(note.get("pname", "c"))
            note.set("pname", _STEPS[(step + 2) % 7])
            if step + 2 > 6:
                note.set("oct", str(int(note.get("oct", "4")) + 1))
            return True
    return False


def _change_to_rest(slot: Slot, passage: Passage, elements: dict[str, Element]) -> bool:
    """Make a rest of a note that no sign is attached to."""
    attached = {m.start_id for m in passage.markings} | {m.end_id for m in passage.markings}
    for event in slot.notes:
        note = elements[event.xml_id]
        ids = {event.xml_id, *(head.xml_id for head in event.heads)}
        if event.grace or ids & attached or any(head.tie for head in event.heads) or len(note):
            continue
        note.tag = tag("rest")
        for name in set(note.attrib) - {XML_ID, "dur", "dots"}:
            del note.attrib[name]
        return True
    return False


def _drop_articulation(slot: Slot, passage: Passage, elements: dict[str, Element]) -> bool:
    for event in slot.notes:
        if event.articulations:
            element = elements[event.xml_id]
            element.attrib.pop("artic", None)
            for sign in [c for c in element if local(c) == "artic"]:
                element.remove(sign)
            return True
    return False


def _drop_slur(slot: Slot, passage: Passage, elements: dict[str, Element]) -> bool:
    for marking in passage.markings:
        begins_here = marking.start.bar == slot.bar.index and marking.staff == slot.staff
        if marking.kind is MarkingKind.SLUR and begins_here:
            slur = elements[marking.xml_id]
            parent = slur.getparent()
            if parent is not None:
                parent.remove(slur)
                return True
    return False


_CHANGES = {
    "pitch": _change_pitch,
    "rest": _change_to_rest,
    "articulation": _drop_articulation,
    "slur": _drop_slur,
}


def _write_fragment(file: Path, slot: Slot, passage: Passage) -> None:
    """Write the bar of that staff, every note an octave higher, as a document of its own."""
    root = etree.fromstring(passage.mei)
    measure = next(e for e in root.iter(tag("measure")) if e.get(XML_ID) == slot.bar.xml_id)
    staff = next(s for s in measure.iter(tag("staff")) if s.get("n") == str(slot.staff))
    content = copy.deepcopy(staff)
    content.set("n", "1")
    for sign in [e for e in content.iter(etree.Element) if local(e) in {"tie", "accid"}]:
        if local(sign) == "tie":
            sign.getparent().remove(sign)
    for note in content.iter(tag("note")):
        note.attrib.pop("tie", None)
        note.set("oct", str(int(note.get("oct", "4")) + 1))
    count = slot.bar.length * 16
    etree.ElementTree(
        etree.fromstring(
            f"""<mei xmlns="http://www.music-encoding.org/ns/mei" meiversion="5.1"><meiHead>
            <fileDesc><titleStmt><title>ossia</title></titleStmt><pubStmt/></fileDesc></meiHead>
            <music><body><mdiv><score><scoreDef meter.count="{count}" meter.unit="64">
            <staffGrp><staffDef n="1" lines="5" clef.shape="G" clef.line="2"/></staffGrp></scoreDef>
            <section><measure n="{slot.bar.n}">{etree.tostring(content).decode()}</measure>
            </section></score></mdiv></body></music></mei>"""
        )
    ).write(file, encoding="UTF-8", xml_declaration=True)
