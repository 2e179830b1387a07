"""Signs of a bar: where they begin, how far they reach, what they say."""

from __future__ import annotations

from pathlib import Path

import pytest

from pipeline.score.model import Marking
from tests.score.drawn import mei, read, read_with_problems, told

_BARS = ("p=c4/4 d4/4 q=e4+g4/2", "R", "z=c4/2. r/4")


def _shown(marking: Marking) -> str:
    end = f"..{marking.end.bar}+{marking.end.offset}" if marking.end else ""
    ids = "-".join(one for one in (marking.start_id, marking.end_id) if one)
    parts = (
        marking.kind.value,
        f"staff {marking.staff}",
        f"{marking.start.bar}+{marking.start.offset}{end}",
        ids,
        marking.content,
        marking.side,
    )
    return " | ".join(part for part in parts if part)


SIGNS = [
    ('<slur startid="#p" endid="#q"/>', "slur | staff 1 | 0+0..0+2 | p-q"),
    ('<slur startid="#p" endid="#z" curvedir="above"/>', "slur | staff 1 | 0+0..2+0 | p-z | above"),
    ('<slur tstamp="2" tstamp2="1m+1" staff="1"/>', "slur | staff 1 | 0+1..1+0"),
    (
        '<hairpin form="cres" tstamp="1" tstamp2="2m+3.5" staff="1" place="below"/>',
        "hairpin | staff 1 | 0+0..2+5/2 | cres | below",
    ),
    (
        '<dynam tstamp="1.5" staff="1">sempre <rend>p</rend></dynam>',
        "dynam | staff 1 | 0+1/2 | sempre p",
    ),
    ('<dynam startid="#q">f</dynam>', "dynam | staff 1 | 0+2 | q | f"),
    ('<dir startid="#p" place="above">sul<lb/>G</dir>', "dir | staff 1 | 0+0 | p | sul G | above"),
    ('<tempo tstamp="1">Allegro</tempo>', "tempo | staff 1 | 0+0 | Allegro"),
    ('<fing startid="#p">3</fing>', "fing | staff 1 | 0+0 | p | 3"),
    ('<trill startid="#q"/>', "trill | staff 1 | 0+2 | q"),
    ('<mordent startid="#q" form="upper"/>', "mordent | staff 1 | 0+2 | q | upper"),
    ('<turn startid="#q" form="lower"/>', "turn | staff 1 | 0+2 | q | lower"),
    ('<fermata startid="#q" shape="square"/>', "fermata | staff 1 | 0+2 | q | square"),
    (
        '<octave tstamp="1" tstamp2="4" staff="1" dis="8" dis.place="below"/>',
        "octave | staff 1 | 0+0..0+3 | 8 below",
    ),
    ('<arpeg plist="#q #p" order="up"/>', "arpeg | staff 1 | 0+2 | q | up"),
    ('<pedal tstamp="1" staff="1" dir="down"/>', "pedal | staff 1 | 0+0 | down"),
    ('<gliss startid="#p" endid="#q"/>', "gliss | staff 1 | 0+0..0+2 | p-q"),
    ('<breath startid="#p"/>', "breath | staff 1 | 0+0 | p"),
    ('<reh tstamp="1">A</reh>', "other | staff 1 | 0+0 | A"),
    ('<supplied><dynam startid="#p">p</dynam></supplied>', "dynam | staff 1 | 0+0 | p | p"),
    (
        '<app><lem><dynam startid="#p">p</dynam></lem>'
        '<rdg><dynam startid="#p">f</dynam></rdg></app>',
        "dynam | staff 1 | 0+0 | p | p",
    ),
    ('<fingGrp startid="#q"><fing>2</fing></fingGrp>', "fing | staff 1 | 0+2 | q | 2"),
]


@pytest.mark.parametrize(("sign", "expected"), SIGNS, ids=[row[1] for row in SIGNS])
def test_a_sign_is_read_with_its_extent(tmp_path: Path, sign: str, expected: str) -> None:
    passage = read(tmp_path, mei(*_BARS, extra={0: sign}))
    assert [_shown(marking) for marking in passage.markings] == [expected]
    assert all(marking.xml_id for marking in passage.markings)


def test_beats_of_a_sign_are_units_of_the_meter(tmp_path: Path) -> None:
    sign = '<dynam tstamp="4" staff="1">p</dynam>'
    passage = read(tmp_path, mei("c4/4. d4/4.", meter="6/8", extra={0: sign}))
    assert _shown(passage.markings[0]) == "dynam | staff 1 | 0+3/2 | p"


def test_a_sign_on_one_note_of_a_chord_names_that_note(tmp_path: Path) -> None:
    data = mei(*_BARS, extra={0: '<fing startid="#low">1</fing>'}).replace(
        b'<note pname="e" oct="4"/>', b'<note xml:id="low" pname="e" oct="4"/>'
    )
    passage = read(tmp_path, data)
    assert passage.markings[0].start_id == "low"
    assert passage.by_id["low"].xml_id == "q"


def test_a_slur_or_fermata_written_on_notes_becomes_a_sign_with_an_identifier(
    tmp_path: Path,
) -> None:
    data = (
        mei("p=c4/2 q=d4/2", "z=c4/1")
        .replace(b'xml:id="p"', b'xml:id="p" slur="i1 i2"')
        .replace(b'xml:id="q"', b'xml:id="q" slur="t1 i3"')
        .replace(b'xml:id="z"', b'xml:id="z" slur="t2 t3" fermata="above"')
    )
    passage = read(tmp_path, data)
    assert [_shown(m) for m in passage.markings] == [
        "slur | staff 1 | 0+0..0+2 | p-q",
        "slur | staff 1 | 0+0..1+0 | p-z",
        "slur | staff 1 | 0+2..1+0 | q-z",
        "fermata | staff 1 | 1+0 | z | above",
    ]
    assert len({m.xml_id for m in passage.markings}) == 4
    assert b'slur="' not in passage.mei


WRONG = [
    (
        "<dynam>p</dynam>",
        "4 marking-without-place: bar 1: this dynam says neither on which note nor at which beat "
        "it stands",
    ),
    (
        '<dynam startid="#nobody">p</dynam>',
        '4 reference-to-nothing: bar 1: this dynam is attached to "nobody", which is no note, '
        "chord or rest of the text",
    ),
    (
        '<slur startid="#p"/>',
        "4 slur-without-end: bar 1: this slur begins but does not end",
    ),
    (
        '<hairpin tstamp="one" tstamp2="2" staff="1" form="cres"/>',
        '4 unreadable-time: bar 1: tstamp="one" is not a time',
    ),
    (
        '<hairpin tstamp="1" tstamp2="9m+1" staff="1" form="cres"/>',
        '4 time-after-the-end: bar 1: tstamp2="9m+1" reaches beyond the last bar',
    ),
]


@pytest.mark.parametrize(("sign", "expected"), WRONG, ids=[row[1][2:25] for row in WRONG])
def test_a_sign_without_its_place_is_told(tmp_path: Path, sign: str, expected: str) -> None:
    assert told(read_with_problems(tmp_path, mei(*_BARS, extra={0: sign}))[1]) == [expected]


def test_slurs_on_notes_that_do_not_match_are_told(tmp_path: Path) -> None:
    data = (
        mei("p=c4/2 q=d4/2")
        .replace(b'xml:id="p"', b'xml:id="p" slur="t1 x"')
        .replace(b'xml:id="q"', b'xml:id="q" slur="i2" ornam="t"')
    )
    assert told(read_with_problems(tmp_path, data)[1]) == [
        "4 sign-not-read: the attribute ornam is not read",
        "4 slur-without-beginning: a slur ends on this note but has not begun",
        "4 slur-without-end: a slur begins on this note but does not end",
        '4 unreadable-slur: slur="x" is neither a beginning (i), a middle (m) nor an end (t)',
    ]
