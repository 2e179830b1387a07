"""Words, digits and small staves of the part stand clear of the staff beside them."""

from __future__ import annotations

from pathlib import Path

import pytest
from lxml import etree

from pipeline.build import examine
from pipeline.engrave.boxes import Box, words_box
from pipeline.engrave.part_ink import Ink
from pipeline.engrave.part_room import off_the_bottom_line, small_staves_clear
from pipeline.engrave.verovio_svg import SVG, Run, Words
from pipeline.layers.write import write_layers
from tests.engrave.engraved_part import Part, Picture, part

EXAMPLE = Path(__file__).parents[2] / "example_edition"
STAFF = {"": Box(0, 1000, 9000, 1720)}


@pytest.fixture(scope="module")
def example() -> Part:
    material = examine(EXAMPLE).value
    assert material is not None
    return part(
        write_layers(material.edition, material.score, material.decisions, material.collations)
    )


def written(text: str, x: float, y: float, name: str = "dir") -> Ink:
    element = etree.Element(f"{SVG}text", x=f"{x:g}", y=f"{y:g}")
    run = Run(text, 400, italic=False, bold=False, music_face=False)
    words = Words(x, y, "start", (run,), frozenset({name}))
    return Ink(element, words_box(words), words.classes, (), words=words)


def drawn(box: Box, name: str) -> Ink:
    return Ink(etree.Element(f"{SVG}path"), box, frozenset({name}), ())


def test_words_that_touch_the_bottom_line_are_moved_down() -> None:
    words = written("morendo", 100, 1960)
    off_the_bottom_line([words], (), STAFF)
    assert words.box.top == pytest.approx(1770)
    assert words.words is not None
    assert float(words.element.get("y", "0")) == words.words.y


def test_words_well_below_the_staff_or_above_it_stay() -> None:
    low, high = written("dolce", 100, 2200), written("pizz.", 100, 900)
    off_the_bottom_line([low, high], (), STAFF)
    assert low.words is not None
    assert high.words is not None
    assert (low.words.y, high.words.y) == (2200, 900)


def test_the_digits_of_a_double_stop_move_down_together() -> None:
    upper, lower = written("(3)", 100, 1960, "fing"), written("(1)", 100, 2330, "fing")
    apart = lower.box.top - upper.box.top
    off_the_bottom_line([upper, lower], (), STAFF)
    assert upper.box.top == pytest.approx(1770)
    assert lower.box.top - upper.box.top == pytest.approx(apart)


def test_a_digit_keeps_off_the_note_above_it() -> None:
    digit, head = written("3", 100, 2060, "fing"), drawn(Box(80, 1640, 290, 1810), "notehead")
    off_the_bottom_line([digit, head], (), STAFF)
    assert digit.box.top == pytest.approx(1850)


def test_nothing_is_moved_onto_a_hairpin() -> None:
    words, hairpin = written("dim.", 100, 1960), drawn(Box(0, 2060, 900, 2200), "hairpin")
    off_the_bottom_line([words, hairpin], (), STAFF)
    assert words.box.bottom <= hairpin.box.top


def test_a_small_staff_makes_room_for_words_and_takes_along_what_is_above_it() -> None:
    small, words = drawn(Box(0, 200, 2000, 700), "oStaff"), written("sul D", 100, 950)
    tempo, beside = written("Lento", 0, 150, "tempo"), written("arco", 4000, 600)
    small_staves_clear([small, words, tempo, beside], {id(small)}, 1000)
    assert words.box.top - small.box.bottom == pytest.approx(130)
    assert small.box.top - tempo.box.bottom == pytest.approx(200 - 222)
    assert beside.words is not None
    assert beside.words.y == 600


def lines_of(picture: Picture) -> Box:
    paths = picture.groups("staff")[0].findall(f"{SVG}path")
    heights = [float(path.get("d", "").split()[1]) for path in paths]
    return Box(0, min(heights), 0, max(heights))


def test_in_the_example_nothing_touches_a_bottom_line(example: Part) -> None:
    seen = 0
    for picture in example.lines:
        bottom = lines_of(picture).bottom
        for piece in picture.ink:
            under = piece.words is not None and piece.words.y > bottom
            if under and piece.classes & {"dir", "fing", "dynam"}:
                seen += 1
                assert piece.box.top >= bottom + 20, piece.words
    assert seen > 50


def test_in_the_example_small_staves_are_clear_of_the_staff_below(example: Part) -> None:
    small = 0
    for picture in example.lines:
        staves = [piece for piece in picture.ink if "oStaff" in piece.classes]
        below = [p for p in picture.ink if "dir" in p.classes and "label" not in p.classes]
        small += bool(staves)
        top = lines_of(picture).top
        for words in below:
            for piece in staves:
                if piece.box.bottom < words.box.bottom < top:
                    assert not words.box.meets(piece.box), words.words
    assert small > 5
