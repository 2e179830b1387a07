"""Bars drawn in letters: where each note begins, how long it lasts, how it sounds.

What an accidental holds for, what a tuplet does, how long an upbeat is: common practice, no source.
"""

from __future__ import annotations

from fractions import Fraction
from pathlib import Path

import pytest

from pipeline.score.model import EventKind
from tests.score.drawn import document, mei, pitches, read, read_with_problems, sounding, told

TIMES = [
    ("plain", "4/4", "c4/4 d4/2 e4/4", "C4@0:1 D4@1:2 E4@3:1"),
    ("dots", "4/4", "c4/4. d4/8 e4/4.. f4/16", "C4@0:3/2 D4@3/2:1/2 E4@2:7/4 F4@15/4:1/4"),
    ("breve", "8/4", "c4/breve", "C4@0:8"),
    ("rests and spaces", "3/4", "r/4 c4/4 s/4", "rest@0:1 C4@1:1 space@2:1"),
    ("rest of the bar", "6/8", "R", "rest@0:3"),
    ("chord, low to high", "2/4", "a5+c4+e4/2", "C4+E4+A5@0:2"),
    ("triplet", "2/4", "(3:2 c4/8 d4/8 e4/8) f4/4", "C4@0:1/3 D4@1/3:1/3 E4@2/3:1/3 F4@1:1"),
    (
        "triplet within a quintuplet",
        "2/4",
        "(5:4 c4/8 (3:2 d4/8 e4/8 f4/8) g4/4)",
        "C4@0:2/5 D4@2/5:4/15 E4@2/3:4/15 F4@14/15:4/15 G4@6/5:4/5",
    ),
    ("grace note", "2/4", "~d5/8 c5/4 ~b4/16 c5/4", "D5@0:0 C5@0:1 B4@1:0 C5@1:1"),
    ("grace note at the end", "1/4", "c5/4 ~d5/16", "C5@0:1 D5@1:0"),
    ("two voices", "2/4", "c5/2 | e4/4 f4/4", "C5@0:2 E4@0:1 F4@1:1"),
]


@pytest.mark.parametrize(
    ("meter", "bar", "expected"), [row[1:] for row in TIMES], ids=[row[0] for row in TIMES]
)
def test_onsets_and_durations(tmp_path: Path, meter: str, bar: str, expected: str) -> None:
    assert sounding(read(tmp_path, mei(bar, meter=meter)).events) == expected


SOUNDS = [
    ("key of two sharps", "2s", ("f4/4 c5/4 g4/4 f5/4",), "F♯4 C♯5 G4 F♯5"),
    ("key of three flats", "3f", ("b4/4 e4/4 a4/4 d4/4",), "B♭4 E♭4 A♭4 D4"),
    ("key of eight sharps", "8s", ("f4/4 c4/4",), "F𝄪4 C♯4"),
    ("an accidental holds for the bar", "0", ("f#4/4 f4/4 f4/4 f4/4",), "F♯4 F♯4 F♯4 F♯4"),
    ("not for the next bar", "0", ("f#4/1", "f4/1"), "F♯4 F4"),
    ("not for another octave", "0", ("f#4/2 f5/2",), "F♯4 F5"),
    ("natural against the key", "1s", ("fn4/4 f4/4 f5/2", "f4/1"), "F4 F4 F♯5 F♯4"),
    ("double signs", "0", ("cx4/4 c4/4 bbb4/4 b4/4",), "C𝄪4 C𝄪4 B♭♭4 B♭♭4"),
    ("in the order of time, not of voices", "0", ("r/2 f#4/2 | f4/2 f4/2",), "F4 F♯4 F♯4"),
    ("for a voice that meets another on its line", "0", ("r/4 f4/4 | f#4/4 fn4/4",), "F♯4 F4 F4"),
    ("within a chord", "0", ("f#4+a4/2 f4+a4/2",), "F♯4+A4 F♯4+A4"),
    ("one grace note after the other", "0", ("~f4/8 ~f#4/8 f4/1",), "F4 F♯4 F♯4"),
    ("for the grace note's main note", "0", ("~f#4/8 f4/1",), "F♯4 F♯4"),
]


@pytest.mark.parametrize(
    ("key", "bars", "expected"), [row[1:] for row in SOUNDS], ids=[row[0] for row in SOUNDS]
)
def test_how_notes_sound(tmp_path: Path, key: str, bars: tuple[str, ...], expected: str) -> None:
    assert pitches(read(tmp_path, mei(*bars, key=key)).events) == expected


def test_a_tie_carries_its_accidental_over_the_barline_and_no_further(tmp_path: Path) -> None:
    data = mei("f#4/1_", "f4/2 f4/2").replace(
        b'<note pname="f" oct="4" dur="2"/>', b'<note pname="f" oct="4" dur="2" tie="t"/>', 1
    )
    assert pitches(read(tmp_path, data).events) == "F♯4 F♯4 F4"


def test_a_tie_element_is_known_on_both_notes(tmp_path: Path) -> None:
    data = mei(
        "p=f#4/1",
        "q=f4/2 f4/2",
        extra={0: '<tie startid="#p" endid="#q"/>'},
    )
    events = read(tmp_path, data).events
    assert [e.heads[0].tie for e in events] == ["i", "t", ""]
    assert pitches(events) == "F♯4 F♯4 F4"


def test_two_staves_do_not_share_accidentals(tmp_path: Path) -> None:
    passage = read(tmp_path, mei(("f#4/1", "f4/1"), labels=("Violin", "Viola")))
    assert pitches(passage.events) == "F♯4 F4"


def test_what_the_file_says_about_sound_comes_before_the_key(tmp_path: Path) -> None:
    data = mei("f4/2 f4/2", key="1s").replace(b'oct="4" dur', b'oct="4" accid.ges="n" dur', 1)
    assert pitches(read(tmp_path, data).events) == "F4 F♯4"


@pytest.mark.parametrize(
    ("definition", "expected"),
    [
        ("", "C♯4"),
        ('trans.semi="-12" trans.diat="-7"', "C♯3"),
        ('trans.semi="12" trans.diat="7"', "C♯5"),
        ('trans.semi="-2" trans.diat="-1"', "C♯4"),
        ('trans.semi="-14" trans.diat="-8"', "C♯3"),
    ],
    ids=["violin", "double bass", "piccolo", "clarinet in B flat", "bass clarinet"],
)
def test_written_pitch_at_sounding_octave(tmp_path: Path, definition: str, expected: str) -> None:
    data = mei("c#4/1", staff_def=definition)
    assert pitches(read(tmp_path, data).events) == expected


def test_an_octave_sign_moves_what_is_under_it(tmp_path: Path) -> None:
    sign = '<octave staff="1" startid="#p" endid="#q" dis="8" dis.place="above"/>'
    passage = read(tmp_path, mei("c5/4 p=d5/4 q=e5/4 f5/4", extra={0: sign}))
    assert pitches(passage.events) == "C5 D6 E6 F5"


def test_an_octave_sign_does_not_move_a_note_that_states_its_octave(tmp_path: Path) -> None:
    sign = '<octave staff="1" tstamp="1" tstamp2="4" dis="8" dis.place="above"/>'
    data = mei("c5/2 d5/2", extra={0: sign}).replace(b'oct="5" dur', b'oct="5" oct.ges="6" dur')
    assert pitches(read(tmp_path, data).events) == "C6 D6"


METERS = [
    ("4/4", Fraction(4), Fraction(1)),
    ("3/4", Fraction(3), Fraction(1)),
    ("2/2", Fraction(4), Fraction(2)),
    ("6/4", Fraction(6), Fraction(1)),
    ("3/8", Fraction(3, 2), Fraction(1, 2)),
    ("4/8", Fraction(2), Fraction(1, 2)),
    ("6/8", Fraction(3), Fraction(3, 2)),
    ("9/8", Fraction(9, 2), Fraction(3, 2)),
    ("12/8", Fraction(6), Fraction(3, 2)),
    ("6/16", Fraction(3, 2), Fraction(3, 4)),
    ("3+2/8", Fraction(5, 2), Fraction(1, 2)),
    ("3+3/8", Fraction(3), Fraction(1, 2)),
]


@pytest.mark.parametrize(("meter", "length", "beat"), METERS, ids=[row[0] for row in METERS])
def test_how_beats_are_counted(
    tmp_path: Path, meter: str, length: Fraction, beat: Fraction
) -> None:
    bar = read(tmp_path, mei("R", meter=meter)).bars[0]
    assert (bar.length, bar.filled, bar.beat) == (length, length, beat)


def test_an_upbeat_is_as_long_as_what_it_holds(tmp_path: Path) -> None:
    passage = read(tmp_path, mei(("c5/8", "R"), ("d5/1", "R"), labels=("Violin", "Piano")))
    assert [bar.filled for bar in passage.bars] == [Fraction(1, 2), Fraction(4)]
    assert [e.duration for e in passage.events if e.kind is EventKind.REST] == [
        Fraction(1, 2),
        Fraction(4),
    ]


def test_key_and_meter_change_between_bars_and_within(tmp_path: Path) -> None:
    bars = mei("f4/1", "f4/2. b4/4", "f4/2", "f4/2 b4/2")
    data = (
        bars.replace(b'<measure n="2">', b'<scoreDef keysig="1s"/><measure n="2">')
        .replace(
            b'<measure n="3">',
            b'<scoreDef meter.count="2" meter.unit="4"><keySig sig="1f"/></scoreDef>'
            b'<measure n="3">',
        )
        .replace(
            b'<note pname="b" oct="4" dur="2"/>',
            b'<keySig sig="2f"/><note pname="b" oct="4" dur="2"/>',
        )
        .replace(
            b'<measure n="4">',
            b'<staffDef n="1" keysig="0" meter.count="4" meter.unit="4"/><measure n="4">',
        )
    )
    passage = read(tmp_path, data)
    assert pitches(passage.events) == "F4 F♯4 B4 F4 F4 B♭4"
    assert [bar.length for bar in passage.bars] == [4, 4, 2, 4]


def test_signatures_written_as_elements(tmp_path: Path) -> None:
    data = document(
        '<scoreDef><staffGrp><staffDef n="1" lines="5"><keySig sig="mixed">'
        '<keyAccid pname="f" accid="s"/><keyAccid pname="b" accid="f"/></keySig>'
        '<meterSig sym="cut"/></staffDef></staffGrp></scoreDef><section><measure n="1">'
        '<staff n="1"><layer n="1"><note pname="f" oct="4" dur="2"/>'
        '<note pname="b" oct="4" dur="2"/></layer></staff></measure></section>'
    )
    passage = read(tmp_path, data)
    assert pitches(passage.events) == "F♯4 B♭4"
    assert passage.bars[0].beat == 2


def test_nested_sections_and_endings_are_read_as_they_stand(tmp_path: Path) -> None:
    data = (
        mei("c4/1", "d4/1", "e4/1", "f4/1")
        .replace(b'<measure n="2">', b'<section><measure n="2">')
        .replace(b'<measure n="3">', b'</section><ending n="1"><measure n="3">')
        .replace(b'<measure n="4">', b'</ending><ending n="2"><measure n="4">')
        .replace(b"</section></score>", b"</ending></section></score>")
    )
    passage = read(tmp_path, data)
    assert [bar.n for bar in passage.bars] == ["1", "2", "3", "4"]
    assert pitches(passage.events) == "C4 D4 E4 F4"


READINGS = [
    ("<app><lem>{c}</lem><rdg>{d}</rdg></app>", "C4"),
    ("<app><rdg>{d}</rdg><rdg>{c}</rdg></app>", "D4"),
    ("<choice><sic>{c}</sic><corr>{d}</corr></choice>", "D4"),
    ("<choice><orig>{c}</orig><reg>{d}</reg></choice>", "D4"),
    ("<supplied>{c}</supplied>", "C4"),
    ("<subst><del>{c}</del><add>{d}</add></subst>", "D4"),
    ("<restore><del>{c}</del></restore>", "C4"),
    ("<del>{c}</del>{d}", "D4"),
    ("<app><lem><app><lem>{c}</lem><rdg/></app></lem><rdg>{d}</rdg></app>", "C4"),
]


@pytest.mark.parametrize(("markup", "expected"), READINGS)
def test_one_reading_counts_by_a_fixed_rule(tmp_path: Path, markup: str, expected: str) -> None:
    c, d = ('<note pname="c" oct="4" dur="1"/>', '<note pname="d" oct="4" dur="1"/>')
    data = mei("b4/1").replace(
        b'<note pname="b" oct="4" dur="1"/>', markup.format(c=c, d=d).encode()
    )
    assert pitches(read(tmp_path, data).events) == expected


def test_of_an_ossia_the_main_staff_counts(tmp_path: Path) -> None:
    data = (
        mei("c4/1")
        .replace(
            b'<staff n="1">',
            b'<ossia><oStaff n="1"><layer n="1"><note pname="d" oct="4" '
            b'dur="1"/></layer></oStaff><staff n="1">',
        )
        .replace(b"</staff></measure>", b"</staff></ossia></measure>")
    )
    assert pitches(read(tmp_path, data).events) == "C4"


def test_of_an_ossia_within_a_staff_the_main_layer_counts(tmp_path: Path) -> None:
    other = b'<oLayer n="1"><note pname="d" oct="4" dur="1"/></oLayer>'
    data = (
        mei("c4/1")
        .replace(b"<layer", b"<ossia>" + other + b"<layer")
        .replace(b"</layer>", b"</layer></ossia>")
    )
    assert pitches(read(tmp_path, data).events) == "C4"


def test_tremolos_last_as_long_as_they_are_written(tmp_path: Path) -> None:
    data = (
        mei("c4/2 d4/2 e4/2")
        .replace(
            b'<note pname="c" oct="4" dur="2"/>',
            b'<bTrem unitdur="16"><note pname="c" oct="4" dur="2"/></bTrem><fTrem unitdur="16">',
        )
        .replace(b"</layer>", b"</fTrem></layer>")
    )
    assert sounding(read(tmp_path, data).events) == "C4@0:2 D4@2:1 E4@3:1"


@pytest.mark.parametrize(
    "span",
    [
        '<tupletSpan startid="#p" endid="#q" num="3" numbase="2"/>',
        '<tupletSpan plist="#p #m #q" num="3" numbase="2"/>',
        '<tupletSpan plist="#p #m #q" num="3"/>',
    ],
)
def test_a_tuplet_written_as_a_span(tmp_path: Path, span: str) -> None:
    passage = read(tmp_path, mei("p=c4/4 m=d4/4 q=e4/4 f4/2", extra={0: span}))
    assert sounding(passage.events) == "C4@0:2/3 D4@2/3:2/3 E4@4/3:2/3 F4@2:2"
    assert [event.tuplet for event in passage.events] == ["3:2", "3:2", "3:2", ""]


def test_notes_that_are_not_printed_are_no_text(tmp_path: Path) -> None:
    data = mei("c4/2 d4/2").replace(b'pname="c"', b'visible="false" pname="c"')
    assert sounding(read(tmp_path, data).events) == "space@0:2 D4@2:2"


def test_notes_and_chords_are_numbered_as_a_musician_counts(tmp_path: Path) -> None:
    passage = read(tmp_path, mei("~d5/8 c5/4 r/4 e5+g5/2 | r/4 a4/4 f4/2", "b4/1"))
    counted = [(pitches((event,)), event.number) for event in passage.events]
    assert counted == [
        ("D5", 1),
        ("C5", 2),
        ("", None),
        ("", None),
        ("A4", 3),
        ("E5+G5", 4),
        ("F4", 5),
        ("B4", 1),
    ]


def test_articulations_heads_and_labels(tmp_path: Path) -> None:
    data = mei("c4+e4/1").replace(
        b'<chord dur="1"><note pname="c"',
        b'<chord dur="1" artic="dnbow"><artic artic="acc ten"/>'
        b'<note head.shape="diamond" pname="c"',
    )
    passage = read(tmp_path, data)
    assert passage.events[0].articulations == ("dnbow", "acc", "ten")
    assert [head.shape for head in passage.events[0].heads] == ["diamond", ""]
    assert passage.staves[0].label == "Violin"


def test_two_staves_of_one_player_share_the_name_of_their_group(tmp_path: Path) -> None:
    data = document(
        "<scoreDef meter.count='4' meter.unit='4'><staffGrp><staffDef n='1' label='Violin'/>"
        "<staffGrp><label>Piano</label><staffDef n='2'/><staffDef n='3'/></staffGrp></staffGrp>"
        "</scoreDef><section><measure n='1'><staff n='1'><layer n='1'><mRest/></layer></staff>"
        "</measure></section>"
    )
    assert [s.label for s in read(tmp_path, data).staves] == ["Violin", "Piano", "Piano"]


WRONG = [
    (
        mei("c4/4").replace(b' dur="4"', b""),
        ["4 no-note-value: bar 1: this note has no note value"],
    ),
    (mei("c4/4").replace(b'pname="c" ', b""), ["4 no-pitch: bar 1: this note has no pitch"]),
    (
        mei("c4/4").replace(b' dur="4"', b' dur="4" dots="x"'),
        ['4 unreadable-rhythm: bar 1: dots="x" is no number of dots or notes'],
    ),
    (
        mei("c4/4").replace(b"<note ", b'<tuplet num="0" numbase="2"/><note ', 1),
        ['4 unreadable-rhythm: bar 1: num="0" is no number of dots or notes'],
    ),
    (
        mei("c4/4").replace(b'oct="4"', 'oct="²"'.encode()),
        ["4 no-pitch: bar 1: this note has no pitch"],
    ),
    (
        mei("c4/4").replace(b'oct="4"', b'oct="4" accid="sharp"'),
        ['4 unknown-accidental: bar 1: "sharp" is not an accidental of MEI'],
    ),
    (
        mei("c4/4").replace(b'oct="4"', b'oct="4" accid="1qs"'),
        [
            '4 quarter-tone: bar 1: the accidental "1qs" is not a whole number of semitones; '
            "pitches are reckoned without it"
        ],
    ),
    (mei("c4/4", key="2x"), ['2 unreadable-signature: key signature "2x" cannot be read']),
    (
        mei("c4/4").replace(b'<staff n="1">', b'<staff n="2">'),
        ["4 staff-not-defined: bar 1: staff 2 has no staffDef, so its key is not known"],
    ),
    (
        mei("c4/4").replace(b' meter.count="4" meter.unit="4"', b""),
        [
            "4 no-meter: bar 1: no meter is in force; bars are taken to be as long as what they "
            "hold, and beats to be quarter notes"
        ],
    ),
    (
        mei("R").replace(b"<mRest/>", b"<mRpt/>"),
        [
            "4 repeat-sign-not-read: bar 1: a repeat sign (mRpt) stands for notes here; the notes "
            "are not read from before it"
        ],
    ),
    (
        mei("a=c4/1", "R").replace(b"<mRest/>", b'<mRest copyof="#a"/>'),
        ["5 copy-not-written-out: this mRest stands for a copy of another; its notes are not read"],
    ),
    (
        mei("R", "c4/1", numbers=("1", "4")).replace(b"<mRest/>", b'<multiRest num="3"/>'),
        [
            "4 rest-of-several-bars: bar 1: one rest stands for 3 bars here; only its first bar "
            "can be spoken of"
        ],
    ),
    (mei(), ["2 no-bars: the score has no measure"]),
    (
        mei("c4/1").replace(b'<measure n="1">', b"").replace(b"</measure>", b""),
        [
            "2 no-bars: the score has no measure",
            "4 unmeasured-music: this staff stands in a section, not in a measure",
        ],
    ),
    (
        mei("c4/1").replace(b"</mdiv>", b"</mdiv>\n<mdiv><score/></mdiv>"),
        ["6 several-movements: the file holds 2 scores; a file of the edition holds one movement"],
    ),
]


@pytest.mark.parametrize(("data", "expected"), WRONG)
def test_what_cannot_be_read_is_told_by_line_and_bar(
    tmp_path: Path, data: bytes, expected: list[str]
) -> None:
    assert told(read_with_problems(tmp_path, data)[1]) == expected
