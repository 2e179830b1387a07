"""Signs on notes and at times of the bar: what the text has, as MusicXML 4.0 has it."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.exchange.exchanged import all_of, compared, exchanged, exchanged_edition, tree
from tests.exchange.musicxml_schema import assert_valid_musicxml
from tests.layers.letters import mei
from tests.layers.small_edition import small

BAR = "a=c5/4 b=d5/4 c=e5/4 d=f5/4"


def with_signs(folder: Path, *signs: str, bar: str = BAR) -> list[str]:
    """Return the directions of a bar, each on one line."""
    part = exchanged_edition(folder, mei(bar, signs={1: "".join(signs)}))
    assert_valid_musicxml(part.musicxml)
    return all_of(part, "direction")


@pytest.mark.parametrize(
    ("sign", "expected"),
    [
        (
            '<dynam startid="#a" place="below">mf</dynam>',
            '<direction placement="below"><direction-type><dynamics><mf/></dynamics>'
            "</direction-type></direction>",
        ),
        (
            '<dynam startid="#a">più f</dynam>',
            "<direction><direction-type><words>più </words></direction-type>"
            "<direction-type><dynamics><f/></dynamics></direction-type></direction>",
        ),
        (
            '<dynam startid="#a">dim. molto</dynam>',
            "<direction><direction-type><words>dim. molto</words></direction-type></direction>",
        ),
        (
            '<dynam startid="#a">poco cresc.</dynam>',
            "<direction><direction-type><dynamics><other-dynamics>poco cresc.</other-dynamics>"
            "</dynamics></direction-type></direction>",
        ),
        (
            '<dir startid="#a" place="above"><rend fontstyle="italic">pizz.</rend></dir>',
            '<direction placement="above"><direction-type><words font-style="italic">pizz.</words>'
            "</direction-type></direction>",
        ),
        (
            '<tempo tstamp="1" mm="46" mm.unit="4" mm.dots="1">Andante</tempo>',
            '<direction directive="yes"><direction-type><words>Andante</words></direction-type>'
            '<sound tempo="69"/></direction>',
        ),
        (
            '<tempo tstamp="1">Vivo (\u2669 = 120) sempre</tempo>',
            '<direction directive="yes"><direction-type><words>Vivo</words></direction-type>'
            '<direction-type><metronome parentheses="yes"><beat-unit>quarter</beat-unit>'
            "<per-minute>120</per-minute></metronome></direction-type>"
            "<direction-type><words>sempre</words></direction-type></direction>",
        ),
        (
            '<tempo tstamp="1">\u2669. = 60</tempo>',
            '<direction directive="yes"><direction-type><metronome><beat-unit>quarter</beat-unit>'
            "<beat-unit-dot/><per-minute>60</per-minute></metronome></direction-type></direction>",
        ),
        (
            '<reh tstamp="1">B</reh>',
            "<direction><direction-type><rehearsal>B</rehearsal></direction-type></direction>",
        ),
        (
            '<dynam tstamp="1.5">p</dynam>',
            "<direction><direction-type><dynamics><p/></dynamics></direction-type>"
            "<offset>1</offset></direction>",
        ),
    ],
)
def test_a_direction_of_the_bar(sign: str, expected: str, tmp_path: Path) -> None:
    assert with_signs(tmp_path, sign) == [expected]


def test_a_hairpin_ends_at_the_note_to_which_it_reaches(tmp_path: Path) -> None:
    sign = '<hairpin form="cres" startid="#a" endid="#c" place="below"/>'
    part = exchanged_edition(tmp_path, mei(BAR, signs={1: sign}))
    measure = tree(part).find(".//measure")
    assert measure is not None
    assert [one.tag for one in measure] == [
        "attributes", "direction", "note", "note", "direction", "note", "note",
    ]  # fmt: skip
    assert all_of(part, "wedge") == [
        '<wedge type="crescendo" number="1"/>',
        '<wedge type="stop" number="1"/>',
    ]


def test_signs_open_at_once_have_numbers_of_their_own(tmp_path: Path) -> None:
    part = exchanged_edition(
        tmp_path,
        mei(
            BAR,
            signs={
                1: '<slur startid="#a" endid="#b"/><slur startid="#b" endid="#c"/>'
                '<slur startid="#a" endid="#d" lform="dashed" curvedir="above"/>'
            },
        ),
    )
    slurs = [
        (note.findtext("pitch/step"), slur.get("type"), slur.get("number"))
        for note in tree(part).iterfind(".//note")
        for slur in note.iterfind("notations/slur")
    ]
    pairs = {
        number: (start, end)
        for start, kind, number in slurs
        if kind == "start"
        for end, other, same in slurs
        if other == "stop" and same == number
    }
    assert sorted(pairs.values()) == [("C", "D"), ("C", "F"), ("D", "E")]
    assert len(pairs) == 3
    dashed = [one for one in tree(part).iterfind(".//slur") if one.get("line-type") == "dashed"]
    assert [one.get("placement") for one in dashed] == ["above"]


@pytest.mark.parametrize(
    ("sign", "path", "expected"),
    [
        ('<trill startid="#a" accidupper="s"/>', "ornaments", "<ornaments><trill-mark/>"
         '<accidental-mark placement="above">sharp</accidental-mark></ornaments>'),
        ('<mordent startid="#a" form="upper"/>', "ornaments",
         "<ornaments><inverted-mordent/></ornaments>"),
        ('<mordent startid="#a" form="lower"/>', "ornaments", "<ornaments><mordent/></ornaments>"),
        ('<turn startid="#a" form="lower"/>', "ornaments",
         "<ornaments><inverted-turn/></ornaments>"),
        ('<turn startid="#a" form="upper" delayed="true"/>', "ornaments",
         "<ornaments><delayed-turn/></ornaments>"),
        ('<fermata startid="#a"/>', "fermata", "<fermata/>"),
        ('<fermata startid="#a" form="inv" shape="square"/>', "fermata",
         '<fermata type="inverted">square</fermata>'),
        ('<breath startid="#a"/>', "articulations",
         "<articulations><breath-mark>comma</breath-mark></articulations>"),
        ('<caesura startid="#a"/>', "articulations",
         "<articulations><caesura>normal</caesura></articulations>"),
    ],
)  # fmt: skip
def test_a_sign_of_one_note(sign: str, path: str, expected: str, tmp_path: Path) -> None:
    part = exchanged_edition(tmp_path, mei(BAR, signs={1: sign}))
    assert_valid_musicxml(part.musicxml)
    assert all_of(part, path) == [expected]
    assert part.left_out == ()


def test_an_arpeggio_is_on_every_note_of_its_chord(tmp_path: Path) -> None:
    part = exchanged_edition(
        tmp_path, mei("a=g3+d4+b4/1", signs={1: '<arpeg startid="#a" order="up"/>'})
    )
    assert all_of(part, "arpeggiate") == ['<arpeggiate direction="up"/>'] * 3


def test_a_slide_and_a_wavy_glissando(tmp_path: Path) -> None:
    part = exchanged_edition(
        tmp_path,
        mei(
            BAR,
            signs={
                1: '<gliss startid="#a" endid="#b"/><gliss startid="#c" endid="#d" lform="wavy"/>'
            },
        ),
    )
    assert all_of(part, "slide") == [
        '<slide type="start" number="1" line-type="solid"/>',
        '<slide type="stop" number="1" line-type="solid"/>',
    ]
    assert [one.get("type") for one in tree(part).iterfind(".//glissando")] == ["start", "stop"]


def test_under_an_octave_sign_stands_what_sounds(tmp_path: Path) -> None:
    """The standard has pitches sound under octave-shift; `down` is how the page has them."""
    sign = '<octave dis="8" dis.place="above" startid="#b" endid="#c"/>'
    layered = small(tmp_path, mei(BAR, signs={1: sign})).layered
    part = exchanged_edition(tmp_path, mei(BAR, signs={1: sign}))
    assert [one.text for one in tree(part).iterfind(".//octave")] == ["5", "6", "6", "5"]
    measure = tree(part).find(".//measure")
    assert measure is not None
    assert [one.tag for one in measure] == [
        "attributes", "note", "direction", "note", "note", "direction", "note",
    ]  # fmt: skip
    assert all_of(part, "octave-shift") == [
        '<octave-shift type="down" size="8" number="1"/>',
        '<octave-shift type="stop" size="8" number="1"/>',
    ]
    assert compared(layered, tmp_path).differences == ()


def test_what_has_no_place_in_the_standard_is_told_with_its_bars(tmp_path: Path) -> None:
    signs = '<phrase startid="#a" endid="#d"/><slur startid="#a" tstamp2="0m+1"/>'
    shape = '<note xml:id="x" dur="1" pname="c" oct="5" head.shape="semicircle" artic="damp"/>'
    part = exchanged_edition(tmp_path, mei(BAR, shape, shape.replace('"x"', '"y"'),
                                           signs={1: signs}))  # fmt: skip
    told = {(one.kind, one.bars, one.count) for one in part.left_out}
    assert told == {
        ("phrase", ("1",), 1),
        ("slur without an end", ("1",), 1),
        ("note head semicircle", ("2", "3"), 2),
        ("articulation damp", ("2", "3"), 2),
    }
    fields = {one.get("name"): one.text for one in tree(part).iterfind(".//miscellaneous-field")}
    assert fields["not-held-2"] == (
        "movement 1: MusicXML cannot hold 2 x articulation damp (there is no such sign): bars 2, 3"
    )


def test_where_two_hairpins_meet_the_first_ends_before_the_second_begins(tmp_path: Path) -> None:
    signs = '<hairpin form="dim" startid="#c" endid="#d"/>' \
            '<hairpin form="cres" startid="#a" endid="#c"/>'  # fmt: skip
    part = exchanged_edition(tmp_path, mei(BAR, signs={1: signs}))
    assert [(one.get("type"), one.get("number")) for one in tree(part).iterfind(".//wedge")] == [
        ("crescendo", "1"), ("stop", "1"), ("diminuendo", "2"), ("stop", "2"),
    ]  # fmt: skip


def test_a_slur_that_ends_at_a_time_reaches_the_note_that_sounds_then(tmp_path: Path) -> None:
    part = exchanged_edition(tmp_path, mei(BAR, signs={1: '<slur startid="#a" tstamp2="0m+3.5"/>'}))
    ends = [
        note.findtext("pitch/step")
        for note in tree(part).iterfind(".//note")
        if note.find("notations/slur") is not None
    ]
    assert ends == ["C", "E"]


def test_the_tempo_of_the_staff_itself_is_not_said_twice(tmp_path: Path) -> None:
    signs = '<tempo staff="1" tstamp="1">Allegro</tempo><tempo staff="2" tstamp="1">Allegro</tempo>'
    layered = small(tmp_path, mei(("c5/1", "c4/1"), signs={1: signs})).layered
    assert all_of(exchanged(layered, staff=2), "words") == ["<words>Allegro</words>"]
