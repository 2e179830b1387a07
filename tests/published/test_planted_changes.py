"""Changes planted into works nobody wrote for this project: each is found, and nothing else.

Outside reference: works of music21's corpus (see tests/corpus.py). The changes are made in the
MEI file of the work, element by element, not in the objects that are compared.
"""

from __future__ import annotations

import random
from collections.abc import Callable
from fractions import Fraction
from pathlib import Path

import pytest
from lxml import etree

from pipeline.collation.differences import differences
from pipeline.collation.model import DifferenceKind as Kind
from pipeline.collation.model import Version
from pipeline.problems import Origin
from pipeline.score.model import Event, EventKind, Moment, Passage, Span
from pipeline.score.read import read_passage
from tests.corpus import SMALL, corpus_file

MEI = "{http://www.music-encoding.org/ns/mei}"
XML_ID = "{http://www.w3.org/XML/1998/namespace}id"
Element = etree._Element


def _other_pitch(note: Element, _: Element, event: Event) -> None:
    head = event.heads[0].pitch
    note.set("oct", str(int(note.get("oct", "0")) + (1 if head.octave < 5 else -1)))


def _rest(note: Element, _: Element, __: Event) -> None:
    for child in list(note):
        note.remove(child)
    for name in set(note.attrib) - {XML_ID, "dur", "dots"}:
        del note.attrib[name]
    note.tag = f"{MEI}rest"


def _staccato(note: Element, _: Element, __: Event) -> None:
    etree.SubElement(note, f"{MEI}artic", artic="spicc")


def _down_bow(note: Element, _: Element, __: Event) -> None:
    etree.SubElement(note, f"{MEI}artic", artic="dnbow")


def _natural(note: Element, _: Element, __: Event) -> None:
    etree.SubElement(note, f"{MEI}accid", accid="n")


def _grace(note: Element, _: Element, __: Event) -> None:
    grace = etree.Element(f"{MEI}note", grace="unacc", dur="8", pname="c", oct="4")
    note.addprevious(grace)


def _diamond(note: Element, _: Element, __: Event) -> None:
    note.set("head.shape", "diamond")


def _sign(name: str, text: str = "", **attributes: str) -> Callable[..., None]:
    def add(note: Element, measure: Element, event: Event) -> None:
        sign = etree.SubElement(
            measure, f"{MEI}{name}", startid=f"#{note.get(XML_ID)}", staff=str(event.staff),
            **attributes,
        )  # fmt: skip
        sign.text = text or None

    return add


CHANGES: tuple[tuple[Kind, Callable[[Element, Element, Event], None]], ...] = (
    (Kind.PITCH, _other_pitch),
    (Kind.NOTES_MISSING, _rest),
    (Kind.ARTICULATION, _staccato),
    (Kind.BOW_SIGN, _down_bow),
    (Kind.ACCIDENTAL, _natural),
    (Kind.NOTES_ADDED, _grace),
    (Kind.NOTE_HEAD, _diamond),
    (Kind.DYNAMIC, _sign("dynam", "sfzp")),
    (Kind.WORDS, _sign("dir", "quasi niente")),
    (Kind.TEMPO, _sign("tempo", "Adagissimo")),
    (Kind.FINGERING, _sign("fing", "3")),
    (Kind.ORNAMENT, _sign("turn")),
    (Kind.OTHER, _sign("fermata", form="norm")),
    (Kind.HAIRPIN, _sign("hairpin", form="cres", tstamp2="0m+1")),
    (Kind.OCTAVE_SIGN, _sign("octave", dis="15", **{"dis.place": "above"})),
)


def _simple_notes(passage: Passage) -> dict[int, list[Event]]:
    """Return by bar the single notes to which nothing is attached and that carry no sign."""
    attached = {m.start_id for m in passage.markings} | {m.end_id for m in passage.markings}
    found: dict[int, list[Event]] = {}
    for event in passage.events:
        head = event.heads[0] if event.kind is EventKind.NOTE else None
        if head is None or event.grace or head.tie or head.accidental or head.pitch.alter:
            continue
        if not {event.xml_id, head.xml_id} & attached and event.duration >= Fraction(1, 4):
            found.setdefault(event.bar, []).append(event)
    return found


def _planted(passage: Passage, seed: int) -> tuple[bytes, list[tuple[Kind, int, int]]]:
    """Return the work with a change in every other bar, and what was changed where."""
    chance = random.Random(seed)
    root = etree.fromstring(passage.mei)
    by_id = {element.get(XML_ID): element for element in root.iter(f"{MEI}note")}
    simple = _simple_notes(passage)
    planted = []
    for count, bar in enumerate(sorted(simple)[::2]):
        kind, change = CHANGES[(count + seed) % len(CHANGES)]
        event = chance.choice(simple[bar])
        note = by_id[event.xml_id]
        (measure,) = note.iterancestors(f"{MEI}measure")
        change(note, measure, event)
        planted.append((kind, bar, event.staff))
    return etree.tostring(root), planted


def _all_differences(text: Passage, reading: Passage) -> list[tuple[Kind, int, int]]:
    found = []
    bars = tuple(bar.index for bar in text.bars)
    for staff in text.staves:
        events = tuple(e for e in text.events if e.staff == staff.n)
        end = Moment(bars[-1], text.bars[-1].filled)
        span = Span(1, staff.n, Moment(0, Fraction(0)), end, events, True)
        for found_one in differences(text, span, Version(reading, bars, staff.n, "encoding")):
            found.append((found_one.kind, found_one.start.bar, found_one.staff))
    return sorted(found, key=lambda row: row[1:])


@pytest.mark.parametrize("work", SMALL)
def test_every_planted_change_is_found_and_no_other(work: str, tmp_path: Path) -> None:
    (tmp_path / "text.mxl").write_bytes(corpus_file(work).read_bytes())
    text = read_passage(tmp_path, "text.mxl", Origin("edition.yaml")).value
    assert text is not None
    for seed in range(3):
        changed, planted = _planted(text, seed)
        assert len(planted) > 5
        (tmp_path / "witness.mei").write_bytes(changed)
        reading = read_passage(tmp_path, "witness.mei", Origin("edition.yaml")).value
        assert reading is not None
        assert _all_differences(text, reading) == planted


@pytest.mark.parametrize("work", SMALL)
def test_a_work_does_not_differ_from_itself(work: str, tmp_path: Path) -> None:
    (tmp_path / "text.mxl").write_bytes(corpus_file(work).read_bytes())
    text = read_passage(tmp_path, "text.mxl", Origin("edition.yaml")).value
    assert text is not None
    assert _all_differences(text, text) == []
