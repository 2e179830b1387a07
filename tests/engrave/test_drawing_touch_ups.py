"""What is mended in Verovio's drawing: cut slurs, corners under slurs, room between staves."""

from __future__ import annotations

from dataclasses import replace

import pytest

from pipeline.engrave.boxes import points
from pipeline.engrave.clear_of_slurs import clear_of_slurs
from pipeline.engrave.drawing_extent import extent
from pipeline.engrave.open_slurs import open_slurs_raised
from pipeline.engrave.room_above import staff_distance_needed
from pipeline.engrave.verovio_svg import Drawing, Glyph, Run, Shape, Words

AREA = "M0,1000 C300,400 700,400 1000,1000 C700,430 300,430 0,1000"


def drawing(
    *shapes: Shape, words: tuple[Words, ...] = (), glyphs: tuple[Glyph, ...] = ()
) -> Drawing:
    return Drawing(1000, 2000, shapes, glyphs, words)


def slur(path: str, *classes: str) -> Shape:
    return Shape("path", (("d", path),), frozenset({"slur", *classes}))


def middle(shape: Shape) -> float:
    """Height of the outer curve half way (cubic curve, t = 1/2)."""
    y = [height for _, height in points(shape)[:4]]
    return (y[0] + 3 * y[1] + 3 * y[2] + y[3]) / 8


def test_the_open_end_of_a_slur_is_raised_and_its_middle_stays() -> None:
    cut = slur(AREA, "open-left")
    raised = open_slurs_raised(drawing(cut)).shapes[0]
    assert points(raised)[0][1] < 1000
    assert points(raised)[0] == points(raised)[-1]
    assert points(raised)[3] == (1000, 1000)
    assert middle(raised) == pytest.approx(middle(cut))


def test_a_slur_that_goes_on_at_both_ends_is_raised_at_both() -> None:
    raised = open_slurs_raised(drawing(slur(AREA, "open-left", "open-right"))).shapes[0]
    assert points(raised)[0][1] == pytest.approx(points(raised)[3][1])
    assert points(raised)[3][1] < 1000


def test_a_whole_slur_stays_as_it_was_drawn() -> None:
    whole = drawing(slur(AREA))
    assert open_slurs_raised(whole) == whole


def corner(path: str) -> Shape:
    return Shape("polyline", (("points", path),), frozenset({"difference", "bracketSpan"}))


STRUCK = (corner("400,640 400,560 450,560"), corner("600,640 600,560 550,560"))
"""Corners that the slur, whose top is at y = 550, runs through."""


def test_corners_that_a_slur_runs_through_are_lifted_together() -> None:
    lifted = clear_of_slurs(drawing(slur(AREA), *STRUCK)).shapes[1:]
    bottoms = [max(y for _, y in points(one)) for one in lifted]
    assert bottoms[0] == bottoms[1] < middle(slur(AREA))


def test_corners_well_under_a_slur_stay() -> None:
    under = (corner("400,900 400,820 450,820"), corner("600,900 600,820 550,820"))
    before = drawing(slur(AREA), *under)
    assert clear_of_slurs(before) == before


def staff_lines(top: float) -> list[Shape]:
    lines = (f"M0 {top + 180 * n:g} L1000 {top + 180 * n:g}" for n in range(5))
    return [Shape("path", (("d", line),), frozenset({"system", "staff"})) for line in lines]


def digit(y: float) -> Words:
    run = Run("[3]", 300.0, italic=False, bold=False, music_face=False)
    return Words(500, y, "middle", (run,), frozenset({"fing"}))


LOW_NOTE = Glyph("\ue0a4", 450, 1300, 720)
TWO_STAVES = drawing(*staff_lines(0), *staff_lines(1620), words=(digit(1500),), glyphs=(LOW_NOTE,))
"""Two staves 900 apart (10 MEI units), a low note of the upper one at y = 1300."""


def test_more_room_is_asked_for_where_a_lifted_digit_meets_the_staff_above() -> None:
    lifted = replace(TWO_STAVES, words=(digit(1450),))
    needed = staff_distance_needed(TWO_STAVES, lifted)
    assert needed is not None
    assert 10 < needed < 15


def test_no_room_is_asked_for_where_it_meets_nothing() -> None:
    clear = replace(TWO_STAVES, glyphs=())
    assert staff_distance_needed(clear, replace(clear, words=(digit(1450),))) is None


def test_no_room_is_asked_for_where_nothing_was_lifted() -> None:
    assert staff_distance_needed(TWO_STAVES, TWO_STAVES) is None


def test_the_crop_follows_what_was_moved_up() -> None:
    above = drawing(corner("400,-90 400,-170 450,-170"))
    assert extent(above)[1] < -170
