"""Verovio at its edge: what it complains of and what it loses without a word becomes a fault."""

from __future__ import annotations

import os

import pytest

from pipeline.engrave.verovio import EngravingFault, Layout, engrave, line_width
from tests.score.drawn import mei

LAYOUT = Layout(line_width(130, 5.0))
BAR = "q=c5/4 d5/4 e5/4 f5/4"


def test_music_that_is_right_engraves_without_a_fault() -> None:
    made = engrave(mei(BAR).decode(), LAYOUT, {"q"})
    assert len(made.systems) == 1
    assert made.faults == ()


def test_a_mark_that_cannot_be_placed_is_told_and_missed() -> None:
    loose = '<slur xml:id="s" startid="#q" endid="#nowhere"/>'
    made = engrave(mei(BAR, extra={0: loose}).decode(), LAYOUT, {"q", "s"})
    kinds = [fault.kind for fault in made.faults]
    assert "complaint" in kinds
    assert EngravingFault("not drawn", "s") in made.faults
    assert EngravingFault("not drawn", "q") not in made.faults


def test_what_is_not_music_is_refused_with_verovios_own_words() -> None:
    made = engrave("<nonsense/>", LAYOUT)
    assert made.systems == ()
    assert [fault.kind for fault in made.faults] == ["refused"]
    assert made.faults[0].detail


def test_standard_error_is_given_back(capfd: pytest.CaptureFixture[str]) -> None:
    engrave("<nonsense/>", LAYOUT)
    os.write(2, b"after\n")
    assert capfd.readouterr().err == "after\n"


def test_each_page_of_the_document_is_a_line_as_wide_as_asked_for() -> None:
    two_pages = mei(BAR, BAR, BAR).decode().replace('<measure n="3"', '<pb/><measure n="3"')
    made = engrave(two_pages, Layout(1000, breaks="encoded"))
    assert len(made.systems) == 2


def test_the_same_music_gives_the_same_picture() -> None:
    first, second = (engrave(mei(BAR).decode(), LAYOUT) for _ in range(2))
    assert first == second


def test_a_staff_of_5_mm_takes_72_units_of_the_line() -> None:
    assert line_width(5.0, 5.0) == 72
