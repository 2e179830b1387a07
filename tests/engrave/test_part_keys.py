"""Figures that lead from a mark to its remark: once a line, above everything, in nobody's way."""

from __future__ import annotations

from itertools import combinations
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pipeline.edition.layer import Layer
from pipeline.engrave.boxes import Box
from pipeline.engrave.part_ink import Sky
from pipeline.engrave.part_keys import FIGURE_MM, KEY_CLASS, key_text
from tests.engrave.engraved_part import Part, Picture, part
from tests.engrave.test_part import FINGERED, LINE, edition
from tests.engrave.test_part import example as _example
from tests.layers.letters import mei
from tests.layers.small_edition import Row, place

example = _example
TRADITION: Row = {
    "id": "custom",
    "kind": "tradition",
    "by": "custom",
    "place": place(1),
    "music": {"file": "music/other.mei"},
    "origin": "as heard",
    "note": "not the composer's",
    "label": "as played",
}


def meeting(picture: Picture) -> list[tuple[str, str]]:
    """The figures that stand on other ink, with the classes of that ink."""
    figures = [piece for piece in picture.ink if KEY_CLASS in piece.classes]
    others = [piece for piece in picture.ink if KEY_CLASS not in piece.classes]
    met = [
        (figure.words.runs[0].text if figure.words else "", " ".join(sorted(other.classes)))
        for figure in figures
        for other in others
        if figure.box.meets(other.box) and other.arch is None
    ]
    return met + [
        ("figure", "figure") for one, two in combinations(figures, 2) if one.box.meets(two.box)
    ]


def test_a_figure_is_closed_by_a_bracket_and_that_of_a_tradition_is_a_footnote_too() -> None:
    assert [key_text(17, Layer.EDITOR), key_text(3, Layer.TRADITION)] == ["17)", "3*)"]


def test_a_record_has_one_figure_in_a_line(tmp_path: Path) -> None:
    drawn = part(edition(tmp_path, FINGERED).layered, {"hand": 12}).first
    assert len(drawn.groups(KEY_CLASS)) == 1


def test_a_record_that_goes_on_has_a_figure_in_each_of_its_lines(tmp_path: Path) -> None:
    everywhere = FINGERED | {
        "place": place(1, to={"bar": 24}),
        "alternatives": [{"name": "a", "fingers": ", ".join(["1, 2, 3, 4"] * 24)}],
        "printed": ["a"],
    }
    drawn = part(edition(tmp_path, everywhere, bars=(LINE,) * 24).layered, {"hand": 5})
    assert [line.keys() for line in drawn.lines] == [{"hand": "5)"}] * len(drawn.lines)
    assert len(drawn.lines) > 1


def test_a_record_without_a_number_has_no_figure(tmp_path: Path) -> None:
    drawn = part(edition(tmp_path, FINGERED).layered, {"other": 1}).first
    assert drawn.groups(KEY_CLASS) == []


@pytest.mark.parametrize("staff_height_mm", [6.0, 7.0, 8.5])
def test_figures_are_as_high_on_every_size_of_staff(tmp_path: Path, staff_height_mm: float) -> None:
    layered = edition(tmp_path, FINGERED).layered
    drawn = part(layered, {"hand": 12}, staff_height_mm=staff_height_mm).first
    text = drawn.groups(KEY_CLASS)[0][0]
    size_mm = float(text.get("font-size", "").removesuffix("px")) * staff_height_mm / 720
    assert size_mm * 0.65 == pytest.approx(FIGURE_MM, rel=0.02)


def test_the_figure_of_a_tradition_stands_before_its_label(tmp_path: Path) -> None:
    played = edition(tmp_path, TRADITION, music={"other": mei("g5/1")})
    drawn = part(played.layered, {"custom": 4}).first
    assert drawn.keys() == {"custom": "4*)"}
    label = next(piece for piece in drawn.ink if "label" in piece.classes)
    figure = next(piece for piece in drawn.ink if KEY_CLASS in piece.classes)
    assert figure.box.right <= label.box.left
    assert figure.words is not None
    assert label.words is not None
    assert figure.words.y == pytest.approx(label.words.y, abs=1)


def test_a_remark_on_a_bar_of_rest_has_its_figure_over_the_rests(tmp_path: Path) -> None:
    remark: Row = {"id": "note", "kind": "remark", "place": place(3)}
    drawn = part(edition(tmp_path, remark, bars=(LINE, "r/1", "r/1", LINE)).layered, {"note": 9})
    assert drawn.first.keys() == {"note": "9)"}
    figure = next(piece for piece in drawn.first.ink if KEY_CLASS in piece.classes)
    rest = drawn.first.boxes("multiRest")
    assert min(box.left for box in rest) - 200 < figure.box.left < max(box.right for box in rest)


def test_no_figure_of_the_example_stands_on_anything(example: tuple[bytes, Part]) -> None:
    assert [met for picture in example[1].lines for met in meeting(picture)] == []


def test_every_record_of_a_line_has_its_figure(example: tuple[bytes, Part]) -> None:
    for picture in example[1].lines:
        assert set(picture.keys()) == {mark.record for mark in picture.line.marks}


BOXES = st.builds(
    lambda left, top, width, height: Box(left, top, left + width, top + height),
    st.integers(0, 3000),
    st.integers(-2000, 1000),
    st.integers(1, 900),
    st.integers(1, 400),
)


@given(st.lists(BOXES, max_size=20), st.integers(0, 3000), st.integers(50, 400))
def test_room_is_free_and_the_lowest_there_is(boxes: list[Box], left: int, height: int) -> None:
    right, start = left + 300, 0.0
    bottom = Sky(boxes).room_above(left, right, start, height)
    near = [b for b in boxes if b.left < right and left < b.right and b.top < start]
    assert bottom <= start
    assert not any(b.top < bottom and bottom - height < b.bottom for b in near)
    if bottom < start:
        assert any(b.top == bottom for b in near)
