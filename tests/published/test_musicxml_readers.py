"""What independent readers find in part.musicxml is what the layered edition has.

Outside references: music21 (M. S. Cuthbert and others), whose reader of MusicXML is its own, and
Verovio (RISM Digital Center), asked directly and not through this project's reader; the MusicXML
schema that partitura carries. Music: the example edition with all its layers, movement by movement.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction
from functools import cache
from pathlib import Path
from typing import Any

import pytest
from lxml import etree

from pipeline.build import examine
from pipeline.exchange.musicxml import ExchangedPart
from pipeline.exchange.source import StaffMusic, music_of
from pipeline.layers.write import write_layers
from pipeline.score.mei_names import XML_ID, Element, tag
from pipeline.score.model import Event, MarkingKind
from tests.collation.letters import told
from tests.exchange.exchanged import ALL, compared, exchanged, untold
from tests.exchange.musicxml_schema import assert_valid_musicxml

EXAMPLE = Path(__file__).parents[2] / "example_edition"
MOVEMENTS = (1, 2)

Sounding = tuple[int, Fraction, Fraction, tuple[int, ...]]
"""Bar index, onset and length in quarter notes, pitches as MIDI numbers from low to high."""


@dataclass(frozen=True)
class Exchanged:
    """A movement of the part, and the music it was written from."""

    main: StaffMusic
    ossia: StaffMusic
    part: ExchangedPart


@cache
def layered() -> bytes:
    material = examine(EXAMPLE).value
    assert material is not None
    return write_layers(material.edition, material.score, material.decisions, material.collations)


@cache
def movement(n: int) -> Exchanged:
    music = next(one for one in music_of(layered(), ALL, 1) if one.n == n)
    assert music.ossia is not None
    return Exchanged(music.main, music.ossia, exchanged(layered(), movements={n}))


@cache
def staves(n: int) -> tuple[Any, Any]:
    """Return the ossias' staff and the main one as music21 reads them."""
    from music21 import converter

    score = converter.parseData(movement(n).part.musicxml.decode(), format="musicxml")
    upper, lower = score.parts
    return upper, lower


def in_bars(staff: Any, kind: str) -> Iterator[tuple[int, Fraction, Any]]:
    """Yield what music21 has in each bar, with bar index and offset."""
    for index, bar in enumerate(staff.getElementsByClass("Measure")):
        for one in bar.recurse().getElementsByClass(kind):
            yield index, Fraction(one.getOffsetInHierarchy(bar)).limit_denominator(960), one


@cache
def verovio(n: int) -> Element:
    """Return the MEI that Verovio makes of the file, nothing of it changed."""
    import verovio as library

    toolkit = library.toolkit()
    assert toolkit.loadData(movement(n).part.musicxml.decode())
    return etree.fromstring(toolkit.getMEI().encode())


def sounding(events: tuple[Event, ...]) -> list[Sounding]:
    return sorted(
        (e.bar, e.onset, e.duration, tuple(sorted(p.midi for p in e.pitches)))
        for e in events
        if e.heads and not e.grace
    )


@pytest.mark.parametrize("n", MOVEMENTS)
def test_the_file_is_valid(n: int) -> None:
    assert_valid_musicxml(movement(n).part.musicxml)


@pytest.mark.parametrize("n", MOVEMENTS)
def test_music21_reads_the_same_notes_in_the_part_and_in_its_ossias(n: int) -> None:
    for staff, music in zip(staves(n), (movement(n).ossia, movement(n).main), strict=True):
        found = sorted(
            (
                bar,
                offset,
                Fraction(note.quarterLength).limit_denominator(960),
                tuple(sorted(pitch.midi for pitch in note.pitches)),
            )
            for bar, offset, note in in_bars(staff, "NotRest")
            if not note.duration.isGrace
        )
        assert found == sounding(music.events)
        graces = sum(note.duration.isGrace for _, _, note in in_bars(staff, "NotRest"))
        assert graces == sum(event.grace for event in music.events)


@pytest.mark.parametrize("n", MOVEMENTS)
def test_music21_reads_the_same_ties(n: int) -> None:
    kinds = {"start": "i", "continue": "m", "stop": "t"}
    found = Counter(
        (bar, offset, head.pitch.midi, kinds[head.tie.type])
        for bar, offset, note in in_bars(staves(n)[1], "NotRest")
        for head in (note.notes if note.isChord else (note,))
        if head.tie is not None
    )
    assert found == Counter(
        (event.bar, event.onset, head.pitch.midi, head.tie)
        for event in movement(n).main.events
        for head in event.heads
        if head.tie
    )


def spanners(n: int, kind: str) -> Iterator[tuple[int, Any]]:
    """Yield music21's spanners, kept in the first staff, each with the staff of its notes."""
    upper, lower = staves(n)
    notes = {id(note) for note in lower.recurse().notes}
    for one in upper.recurse().getElementsByClass(kind):
        yield int(id(one.getFirst()) in notes), one


@pytest.mark.parametrize("n", MOVEMENTS)
def test_music21_reads_the_same_slurs(n: int) -> None:
    bars = {
        id(bar): index
        for staff in staves(n)
        for index, bar in enumerate(staff.getElementsByClass("Measure"))
    }

    def at(note: Any) -> tuple[int, Fraction]:
        bar = note.getContextByClass("Measure")
        return bars[id(bar)], Fraction(note.getOffsetInHierarchy(bar)).limit_denominator(960)

    for staff, music in enumerate((movement(n).ossia, movement(n).main)):
        found = Counter(
            (at(slur.getFirst()), at(slur.getLast()), slur.lineType or "solid")
            for which, slur in spanners(n, "Slur")
            if which == staff
        )
        assert found == Counter(
            (
                (m.start.bar, m.start.offset),
                (m.end.bar, m.end.offset),
                _line_type(music.elements[m.xml_id]) if staff else "solid",
            )
            for m in music.markings
            if m.kind is MarkingKind.SLUR and m.end is not None
        )


def _line_type(slur: Element) -> str:
    """Return how a slur is drawn: those of the text plainly, as music21 takes for granted."""
    around = slur.iterancestors(tag("supplied"))
    return {"editor": "dashed", "tradition": "dotted"}.get(
        next((one.get("class", "").partition("layer-")[2] for one in around), ""), "solid"
    )


ARTICULATIONS = {
    "DownBow": "dnbow", "UpBow": "upbow", "Staccato": "stacc", "Accent": "acc", "Tenuto": "ten",
    "StrongAccent": "marc", "Staccatissimo": "stacciss",
}  # fmt: skip


@pytest.mark.parametrize("n", MOVEMENTS)
def test_music21_reads_the_same_bow_signs_and_articulations(n: int) -> None:
    found = Counter(
        (bar, offset, ARTICULATIONS[name])
        for bar, offset, note in in_bars(staves(n)[1], "NotRest")
        for name in (one.classes[0] for one in note.articulations)
        if name in ARTICULATIONS
    )
    expected = Counter(
        (event.bar, event.onset, name)
        for event in movement(n).main.events
        for name in event.articulations
        if name in ARTICULATIONS.values()
    )
    assert found == expected
    assert {"dnbow", "upbow"} <= {name for _, _, name in expected}


@pytest.mark.parametrize("n", MOVEMENTS)
def test_music21_reads_the_same_fingerings_and_strings(n: int) -> None:
    for staff, music in zip(staves(n), (movement(n).ossia, movement(n).main), strict=True):
        found = Counter(
            (bar, offset, str(one.fingerNumber), bool(one.alternate))
            for bar, offset, note in in_bars(staff, "NotRest")
            for one in note.articulations
            if "Fingering" in one.classes
        )
        digits = [m for m in music.markings if m.kind is MarkingKind.FINGERING]
        assert found == Counter(
            (m.start.bar, m.start.offset, m.content, _is_second(music.elements[m.xml_id]))
            for m in digits
        )
        strings = sum(
            "StringIndication" in one.classes
            for _, _, note in in_bars(staff, "NotRest")
            for one in note.articulations
        )
        assert strings == sum(
            len(m.content.split("+"))
            for m in music.markings
            if m.kind is MarkingKind.WORDS
            and "string" in music.elements[m.xml_id].get("type", "").split()
        )


def _is_second(fing: Element) -> bool:
    return fing.get(XML_ID, "").startswith("mark-") and fing.get("n", "1") != "1"


@pytest.mark.parametrize("n", MOVEMENTS)
def test_music21_reads_the_same_dynamics_and_hairpins(n: int) -> None:
    staff = staves(n)[1]
    found = Counter((bar, at, one.value) for bar, at, one in in_bars(staff, "Dynamic"))
    markings = movement(n).main.markings
    dynamics = [m for m in markings if m.kind is MarkingKind.DYNAMIC]
    # A cresc. is written as words; music21 10.5 does not read the text of `other-dynamics`.
    unread = {"poco cresc.": "other-dynamics"}
    assert found == Counter(
        (m.start.bar, m.start.offset, unread.get(m.content, m.content))
        for m in dynamics
        if not m.content.startswith(("cresc", "dim"))
    )
    words = {one.content for _, _, one in in_bars(staff, "TextExpression")}
    assert words >= {m.content for m in dynamics if m.content.startswith(("cresc", "dim"))}
    wedges = Counter(
        "cres" if "Crescendo" in one.classes else "dim"
        for which in staves(n)
        for one in which.recurse().getElementsByClass("DynamicWedge")
    )
    both = (*markings, *movement(n).ossia.markings)
    assert wedges == Counter(m.content for m in both if m.kind is MarkingKind.HAIRPIN)


def of_verovio(n: int, name: str) -> list[Element]:
    """Return Verovio's elements of a name on the main staff, whose notes keep their ids."""
    ids = {one for event in movement(n).main.events for one in _ids(event)}
    return [
        one
        for one in verovio(n).iter(tag(name))
        if one.get("startid", "").removeprefix("#") in ids or one.get("staff") == "2"
    ]


def _ids(event: Event) -> list[str]:
    return [event.xml_id, *(head.xml_id for head in event.heads)]


def first_note(music: StaffMusic, xml_id: str) -> str:
    """Return what a sign on a chord or note is written on."""
    event = music.passage.by_id[xml_id]
    heads = [head.xml_id for head in event.heads]
    return xml_id if xml_id in heads or not heads else heads[0]


@pytest.mark.parametrize("n", MOVEMENTS)
def test_verovio_reads_the_same_slurs_on_the_same_notes(n: int) -> None:
    music = movement(n).main
    events = music.passage.by_id

    def bearer(reference: str) -> str:
        written = reference.removeprefix("#")
        return events[written].xml_id if written in events else _event_of_chord(n, written)

    found = Counter(
        (bearer(one.get("startid", "")), bearer(one.get("endid", "")))
        for one in of_verovio(n, "slur")
    )
    assert found == Counter(
        (events[m.start_id].xml_id, events[m.end_id].xml_id)
        for m in music.markings
        if m.kind is MarkingKind.SLUR
    )


def _event_of_chord(n: int, xml_id: str) -> str:
    """Return the chord of the text that one of Verovio's is: by a note that it has."""
    chord = next(one for one in verovio(n).iter(tag("chord")) if one.get(XML_ID) == xml_id)
    inner = next(chord.iter(tag("note")))
    return movement(n).main.passage.by_id[inner.get(XML_ID, "")].xml_id


@pytest.mark.parametrize("n", MOVEMENTS)
def test_verovio_reads_the_same_fingerings_on_the_same_notes(n: int) -> None:
    music = movement(n).main
    found = Counter(
        (one.get("startid", "").removeprefix("#"), "".join(one.itertext()), one.get("place"))
        for one in of_verovio(n, "fing")
    )
    assert found == Counter(
        (first_note(music, m.start_id), m.content, m.side or None)
        for m in music.markings
        if m.kind is MarkingKind.FINGERING
    )


@pytest.mark.parametrize("n", MOVEMENTS)
def test_verovio_reads_the_same_bow_signs_dynamics_and_words(n: int) -> None:
    music = movement(n).main
    notes = {
        one.get(XML_ID): one for one in verovio(n).iter(tag("note")) if one.get(XML_ID) is not None
    }
    signs: Counter[tuple[str, str]] = Counter()
    for event in music.events:
        for head in event.heads[:1]:
            bearer = notes[head.xml_id]
            around = bearer.getparent()
            chord = around is not None and around.tag == tag("chord")
            holders = (bearer, around) if chord and around is not None else (bearer,)
            for holder in holders:
                for artic in holder.iterchildren(tag("artic")):
                    for name in artic.get("artic", "").split():
                        signs[event.xml_id, name] += name in {"dnbow", "upbow"}
    assert +signs == Counter(
        (event.xml_id, name)
        for event in music.events
        for name in event.articulations
        if name in {"dnbow", "upbow"}
    )
    for kind, name in ((MarkingKind.DYNAMIC, "dynam"), (MarkingKind.TEMPO, "tempo")):
        found = Counter(_words(one) for one in of_verovio(n, name))
        assert found == Counter(m.content for m in music.markings if m.kind is kind)
    strings = [
        m.xml_id
        for m in music.markings
        if "string" in music.elements[m.xml_id].get("type", "").split()
    ]
    assert Counter(_words(one) for one in of_verovio(n, "dir")) == Counter(
        m.content for m in music.markings if m.kind is MarkingKind.WORDS and m.xml_id not in strings
    )


def _words(element: Element) -> str:
    return re.sub(r"\s+", " ", "".join(str(one) for one in element.itertext())).strip()


@pytest.mark.parametrize("n", MOVEMENTS)
def test_the_projects_own_reader_finds_all_layers_but_numbers_the_strings(
    n: int, tmp_path: Path
) -> None:
    """MusicXML numbers the strings from the highest; records name them by letter."""
    found = compared(layered(), tmp_path, movement=n)
    strings = {"E": "I", "A": "II", "D": "III", "G": "IV"}
    for difference in found.differences:
        text, reading = difference.text.marking, difference.reading.marking
        assert text is not None, told(difference)
        assert reading is not None, told(difference)
        assert strings[text.content] == reading.content
    assert found.bars == ()
    assert len(found.differences) >= 9


def test_nothing_of_the_example_edition_is_left_out() -> None:
    part = exchanged(layered())
    assert part.left_out == ()
    assert untold(layered(), part) == set()
