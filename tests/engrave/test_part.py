"""The engraved part: one staff, its layers, looks, lines, and nothing lost on the way."""

from __future__ import annotations

from fractions import Fraction
from pathlib import Path

import pytest

from pipeline.build import examine
from pipeline.edition.layer import Layer
from pipeline.engrave.part import engrave_part
from pipeline.engrave.part_looks import dress
from pipeline.engrave.part_rests import join_rests
from pipeline.engrave.part_staff import solo_movements
from pipeline.layers.write import write_layers
from pipeline.typeset.remarks import remark_numbers
from tests.engrave.engraved_part import ORDER, STYLE, Part, layers_counted, part, said
from tests.layers.letters import mei
from tests.layers.small_edition import Row, Small, place, reading, small

EXAMPLE = Path(__file__).parents[2] / "example_edition"
LINE = "c5/4 d5/4 e5/4 f5/4"
FINGERED: Row = {
    "id": "hand",
    "kind": "fingering",
    "place": place(1),
    "alternatives": [
        {"name": "low", "fingers": "1 on A, 2, 3, 4"},
        {"name": "high", "fingers": "2 on D, 3, ., 4", "by": "custom"},
    ],
    "printed": ["low", "high"],
}


def edition(
    folder: Path, *records: Row, bars: tuple[str, ...] = (LINE, LINE), **more: object
) -> Small:
    return small(folder, mei(*bars, signs=more.pop("signs", None)), list(records), **more)  # type: ignore[arg-type]


@pytest.fixture(scope="module")
def example() -> tuple[bytes, Part]:
    material = examine(EXAMPLE).value
    assert material is not None
    numbers = remark_numbers(material.decisions)
    layered = write_layers(
        material.edition, material.score, material.decisions, material.collations
    )
    return layered, part(layered, numbers)


def test_only_the_edited_staff_is_engraved(tmp_path: Path) -> None:
    signs = {
        1: '<dynam xml:id="mine" staff="1" tstamp="1">p</dynam>'
        '<dynam staff="2" tstamp="1">ff</dynam><slur startid="#low" endid="#lower"/>'
        '<tempo staff="2" tstamp="1">Lento</tempo>'
    }
    two = small(tmp_path, mei((LINE, "low=c4/2 lower=d4/2"), signs=signs))
    drawn = part(two.layered)
    assert drawn.problems == ()
    assert len(drawn.first.groups("staff")) == 1
    assert len(drawn.first.groups("dynam")) == 1
    assert drawn.first.words("tempo") == ["Lento"]
    assert drawn.first.groups("slur") == []


def test_the_other_staff_can_be_the_edited_one(tmp_path: Path) -> None:
    two = small(tmp_path, mei((LINE, "c4/1")))
    assert len(part(two.layered, staff=2).first.groups("notehead")) == 1


def test_the_layers_look_different_in_black_and_white(tmp_path: Path) -> None:
    drawn = part(edition(tmp_path, FINGERED).layered).first
    above = [said(g) for g in drawn.groups("layer-editor") if "fing" in g.get("class", "")]
    below = [said(g) for g in drawn.groups("layer-tradition") if "fing" in g.get("class", "")]
    assert above == ["[1]", "[2]", "[3]", "[4]"]
    assert below == ["(2)", "(3)", "(4)"]


def test_strings_are_named_as_players_read_them(tmp_path: Path) -> None:
    drawn = part(edition(tmp_path, FINGERED).layered).first
    assert {said(g) for g in drawn.groups("string")} == {"[sul A]", "(sul D)"}


def test_one_string_for_two_notes_has_a_number(tmp_path: Path) -> None:
    short = FINGERED | {
        "alternatives": [{"name": "a", "fingers": "1 on A, 2, 1 on E, 2"}],
        "printed": ["a"],
    }
    drawn = part(edition(tmp_path, short).layered).first
    assert [said(g) for g in drawn.groups("string")] == ["[II]", "[I]"]


def test_alternatives_stand_above_and_below(tmp_path: Path) -> None:
    drawn = part(edition(tmp_path, FINGERED).layered).first
    staff = min(box.top for box in drawn.boxes("staff") if box.top == box.bottom)
    first = [p.box for p in drawn.ink if {"fing", "alternative-1"} <= p.classes]
    second = [p.box for p in drawn.ink if {"fing", "alternative-2"} <= p.classes]
    assert all(box.bottom <= staff for box in first)
    assert all(box.top > staff for box in second)


def test_a_layer_that_is_not_wanted_is_left_out(tmp_path: Path) -> None:
    drawn = part(edition(tmp_path, FINGERED).layered, layers=frozenset({Layer.EDITOR})).first
    assert drawn.groups("layer-tradition") == []
    assert drawn.groups("layer-editor") != []


def test_a_record_of_which_nothing_is_shown_is_left_out(tmp_path: Path) -> None:
    drawn = part(edition(tmp_path, FINGERED).layered, {"hand": 7}, alternatives={"hand": ()})
    assert drawn.first.groups("fing") == []
    assert drawn.first.keys() == {}
    assert drawn.first.line.marks == ()


def test_a_reading_shows_the_text_and_names_its_record(tmp_path: Path) -> None:
    differing = edition(
        tmp_path,
        reading("r1", place(1), "W"),
        witnesses={"W": mei("c5/4 d5/4 e5/2", LINE)},
    )
    drawn = part(differing.layered, {"r1": 3}).first
    assert len(drawn.groups("notehead")) == 8
    assert "record-r1" in {c for g in drawn.groups("note") for c in g.get("class", "").split()}
    assert drawn.groups("layer-witness") == []
    assert drawn.keys() == {"r1": "3)"}


def test_an_emended_accidental_stands_in_the_editors_brackets(tmp_path: Path) -> None:
    emended = edition(
        tmp_path,
        {
            "id": "e1",
            "kind": "emendation",
            "place": place(1, 1),
            "readings": [{"witnesses": ["W"]}],
        },
        bars=("c#5/4 d#5/4 e5/4 f5/4",),
        witnesses={"W": mei("c5/4 d#5/4 e5/4 f5/4")},
    )
    drawn = part(emended.layered).first
    assert [len(list(g)) for g in drawn.groups("accid")] == [3, 1]


def test_a_divided_slur_is_drawn_with_the_bow_signs_above_it(tmp_path: Path) -> None:
    divided = edition(
        tmp_path,
        {
            "id": "bow",
            "kind": "bowing",
            "place": place(1),
            "alternatives": [{"name": "two", "divide_after": [2], "signs": {1: "down", 3: "up"}}],
        },
        bars=("q=c6/4 d6/4 e6/4 f6/4",),
        signs={1: '<slur xml:id="arc" startid="#q" tstamp2="0m+4" curvedir="above"/>'},
    )
    drawn = part(divided.layered).first
    arc = next(g for g in drawn.groups("slur") if g.get("id") == "arc")
    assert "stroke-dasharray" not in arc[0].attrib
    assert "layer-editor" not in drawn.classes("arc")
    curve = next(p.arch for p in drawn.ink if "slur" in p.classes)
    assert curve is not None
    signs = [p.box for p in drawn.ink if {"artic", "layer-editor"} <= p.classes]
    assert len(signs) == 6
    for box in signs:
        span = curve.span(box.left, box.right)
        assert span is None or box.bottom < span[1]


def test_a_dashed_slur_joins_what_the_text_does_not(tmp_path: Path) -> None:
    joined = edition(
        tmp_path,
        {
            "id": "bow",
            "kind": "bowing",
            "place": place(1),
            "alternatives": [{"name": "one", "join": True}],
        },
    )
    drawn = part(joined.layered).first
    assert [g[0].get("stroke-dasharray") is not None for g in drawn.groups("slur")] == [True]


def test_bars_of_rest_are_joined_and_counted(tmp_path: Path) -> None:
    rests = edition(tmp_path, bars=(LINE, "r/1", "r/1", "r/1", "c5/2 r/2"))
    drawn = part(rests.layered).first
    assert len(drawn.groups("measure")) == 3
    assert len(drawn.groups("multiRest")) == 1
    assert (drawn.line.first_bar, drawn.line.last_bar) == ("1", "5")
    assert (drawn.line.silence_before, drawn.line.silence_after) == (0, 2)


@pytest.mark.parametrize(
    "written",
    [
        '<fermata xml:id="f" tstamp="1" staff="1"/>',
        '<hairpin xml:id="f" form="cres" tstamp="1" tstamp2="1m+1" staff="1"/>',
        '<dir xml:id="f" tstamp="1" staff="1">pizz.</dir>',
    ],
)
def test_a_bar_of_rest_with_something_written_in_it_stands_by_itself(
    tmp_path: Path, written: str
) -> None:
    rests = edition(tmp_path, bars=(LINE, "r/1", "r/1", "r/1", LINE), signs={3: written})
    assert sum(len(line.groups("measure")) for line in part(rests.layered).lines) == 5


def test_a_tempo_begins_a_new_row_of_rests(tmp_path: Path) -> None:
    tempo = {3: '<tempo tstamp="1" staff="1">Adagio</tempo>'}
    rests = edition(tmp_path, bars=("r/1", "r/1", "r/1", "r/1", LINE), signs=tempo)
    assert len(part(rests.layered).first.groups("multiRest")) == 2


def test_silence_at_the_ends_of_a_line_is_told_in_quarters(tmp_path: Path) -> None:
    rests = edition(tmp_path, bars=("r/1", "r/2 c5/2", "d5/2 r/2", "r/1"))
    line = part(rests.layered).first.line
    assert (line.silence_before, line.silence_after) == (Fraction(6), Fraction(6))


@pytest.mark.parametrize(
    ("written", "seconds"),
    [
        ('mm="46" mm.unit="4" mm.dots="1"', 60 / 69),
        ('mm="60" mm.unit="2"', 0.5),
        ("", 1.0),
        ('mm="fast" mm.unit="4"', 1.0),
    ],
)
def test_a_metronome_mark_tells_how_long_a_quarter_lasts(
    tmp_path: Path, written: str, seconds: float
) -> None:
    marked = edition(tmp_path, signs={1: f'<tempo tstamp="1" {written}>Andante</tempo>'})
    made = engrave_part(marked.layered, ORDER, STYLE, {}, {}, "serif").value
    assert made is not None
    assert made.movements[0].seconds_per_quarter == pytest.approx(seconds)


def test_lines_are_broken_at_the_width_and_tell_their_bars(tmp_path: Path) -> None:
    many = edition(tmp_path, bars=(LINE,) * 24)
    lines = [picture.line for picture in part(many.layered).lines]
    assert len(lines) > 2
    assert [line.first_bar for line in lines[1:]] == [
        str(int(line.last_bar) + 1) for line in lines[:-1]
    ]
    assert all(line.width_mm == pytest.approx(170, abs=0.1) for line in lines)


def test_a_bar_number_stands_at_each_line_but_the_first(tmp_path: Path) -> None:
    drawn = part(edition(tmp_path, bars=(LINE,) * 24).layered)
    numbers = [picture.words("mNum") for picture in drawn.lines]
    assert numbers == [[], *([p.line.first_bar] for p in drawn.lines[1:])]
    assert all(box.left >= 0 for p in drawn.lines for box in p.boxes("mNum"))


def test_nothing_is_cut_off_at_top_or_bottom(example: tuple[bytes, Part]) -> None:
    for picture in example[1].lines:
        _, top, width, height = (float(n) for n in picture.root.get("viewBox", "").split())
        for piece in picture.ink:
            assert top <= piece.box.top, piece.groups
            assert piece.box.bottom <= top + height, piece.groups
            assert piece.box.right <= width + 60, piece.groups


def test_no_svg_stands_inside_the_svg(example: tuple[bytes, Part]) -> None:
    for picture in example[1].lines:
        assert picture.line.svg.count("<svg") == 1
        assert picture.line.svg.count("serif") >= 1


def test_the_marks_of_each_layer_are_all_drawn(example: tuple[bytes, Part]) -> None:
    layered, drawn = example
    for number, solo in enumerate(solo_movements(layered, 1, set(Layer), {})):
        dress(solo.score, STYLE, {}, None)
        join_rests(solo.score)
        roots = [picture.root for picture in drawn.movements[number]]
        written = layers_counted([solo.score], "type")
        assert layers_counted(roots, "class") == written
        assert written["layer-editor"] > 30


def test_every_mark_is_told_with_its_line_and_is_in_it(example: tuple[bytes, Part]) -> None:
    for picture in example[1].lines:
        assert picture.line.marks
        for mark in picture.line.marks:
            for xml_id in mark.xml_ids:
                assert f"record-{mark.record}" in picture.classes(xml_id)


def test_the_example_is_engraved_without_complaint(example: tuple[bytes, Part]) -> None:
    assert example[1].problems == ()


def test_the_same_edition_gives_the_same_part(example: tuple[bytes, Part], tmp_path: Path) -> None:
    layered = edition(tmp_path, FINGERED).layered
    again = [p.line.svg for p in part(layered).lines]
    assert [p.line.svg for p in part(layered).lines] == again


def test_a_slur_of_the_score_with_one_end_is_told_and_does_not_stop_the_part(
    tmp_path: Path,
) -> None:
    loose = edition(
        tmp_path,
        bars=("q=c5/4 d5/4 e5/2",),
        signs={1: '<slur xml:id="loose" startid="#q"/>'},
        strict=False,
    )
    drawn = part(loose.layered)
    assert [(p.code, p.severity.value, p.message) for p in drawn.problems] == [
        (
            "curve-without-end",
            "warning",
            "the slur loose of bar 1 has one end only and is not drawn",
        )
    ]


def test_digits_in_brackets_over_quick_notes_are_smaller_and_stay_level(tmp_path: Path) -> None:
    quick = "c5/16 d5/16 e5/16 f5/16 c5/4 d5/4 e5/4"
    hand: Row = {
        "id": "hand",
        "kind": "fingering",
        "place": place(1),
        "alternatives": [{"name": "low", "fingers": "1 on A, 2, 3, 4, 1, 2, 3"}],
    }
    drawn = part(edition(tmp_path, hand, bars=(quick, LINE)).layered).first
    digits = sorted(drawn.boxes("fing"), key=lambda box: box.left)
    heights = [round(box.bottom - box.top) for box in digits]
    assert max(heights[:4]) < min(heights[4:])
