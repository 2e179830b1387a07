"""Ossias in the part: above the text, left out, or instead of it."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from tests.engrave.engraved_part import part, said
from tests.engrave.test_part import LINE, edition
from tests.layers.letters import mei
from tests.layers.small_edition import Row, Small, place

OSSIA: Row = {
    "id": "easier",
    "kind": "ossia",
    "place": place(2),
    "music": {"file": "music/other.mei"},
    "label": "ossia",
}
SIGNS = {
    2: '<slur xml:id="arc" startid="#first" endid="#second"/>'
    '<dynam xml:id="loud" staff="1" startid="#first">f</dynam>'
    '<tempo xml:id="slow" staff="1" startid="#second">Adagio</tempo>'
}
BARS = (LINE, "first=c5/4 second=d5/4 [e5/8 f5/8 g5/8 a5/8]", LINE)


def with_ossia(folder: Path, other: bytes, **place_of: Any) -> Small:
    record = OSSIA | ({"place": place_of} if place_of else {})
    return edition(folder, record, bars=BARS, signs=SIGNS, music={"other": other})


def test_an_ossia_is_a_small_staff_above_its_bars_with_its_label(tmp_path: Path) -> None:
    drawn = part(with_ossia(tmp_path, mei("g5/2 a5/2")).layered)
    assert drawn.problems == ()
    lines = [b for b in drawn.first.boxes("staff") if b.top == b.bottom]
    small = [b for b in drawn.first.boxes("oStaff") if b.top == b.bottom and b.right > b.left + 999]
    assert len(small) == 5
    assert max(line.bottom for line in small) < min(line.top for line in lines)
    assert max(line.bottom - small[0].top for line in small) == pytest.approx(720 * 0.8, rel=0.1)
    assert [said(g) for g in drawn.first.groups("label")] == ["ossia"]


def test_a_label_can_be_given_in_another_language(tmp_path: Path) -> None:
    layered = with_ossia(tmp_path, mei("g5/2 a5/2")).layered
    drawn = part(layered, labels={"easier": "leichter"}).first
    assert [said(g) for g in drawn.groups("label")] == ["leichter"]


def test_an_ossia_that_is_not_chosen_is_left_out(tmp_path: Path) -> None:
    layered = with_ossia(tmp_path, mei("g5/2 a5/2")).layered
    drawn = part(layered, {"easier": 1}, alternatives={"easier": ()}).first
    assert drawn.groups("oStaff") == []
    assert drawn.groups("label") == []
    assert drawn.keys() == {}
    assert len(drawn.groups("notehead")) == 14


def test_an_ossia_instead_of_the_text_takes_its_place(tmp_path: Path) -> None:
    layered = with_ossia(tmp_path, mei("g5/2 a5/2")).layered
    drawn = part(layered, {"easier": 1}, instead=frozenset({"easier"}))
    assert drawn.problems == ()
    assert drawn.first.groups("oStaff") == []
    assert drawn.first.groups("label") == []
    assert len(drawn.first.groups("notehead")) == 10
    assert drawn.first.keys() == {"easier": "1)"}


def test_what_hung_on_the_text_goes_but_tempo_and_dynamics_stay(tmp_path: Path) -> None:
    layered = with_ossia(tmp_path, mei("g5/2 a5/2")).layered
    drawn = part(layered, instead=frozenset({"easier"})).first
    assert drawn.groups("slur") == []
    assert drawn.words("tempo") == ["Adagio"]
    assert len(drawn.groups("dynam")) == 1


def test_dynamics_of_the_ossia_take_the_place_of_the_texts(tmp_path: Path) -> None:
    soft = mei("q=g5/2 a5/2", signs={1: '<dynam xml:id="soft" staff="1" startid="#q">p</dynam>'})
    drawn = part(with_ossia(tmp_path, soft).layered, instead=frozenset({"easier"})).first
    found = [group.get("id", "") for group in drawn.groups("dynam")]
    assert len(found) == 1
    assert found[0].endswith("soft")


def test_the_text_before_an_ossia_within_a_bar_stays(tmp_path: Path) -> None:
    late = with_ossia(tmp_path, mei("a5/2"), movement=1, bar=2, beat=3, to={"bar": 2})
    drawn = part(late.layered, instead=frozenset({"easier"}))
    assert drawn.problems == ()
    assert len(drawn.first.groups("notehead")) == 4 + 3 + 4


def test_an_ossia_that_cuts_a_beam_stays_above_and_is_told(tmp_path: Path) -> None:
    cut = with_ossia(tmp_path, mei("a5/4"), movement=1, bar=2, beat=4, to={"bar": 2})
    drawn = part(cut.layered, instead=frozenset({"easier"}))
    assert [problem.code for problem in drawn.problems] == ["ossia-not-instead"]
    assert drawn.first.groups("oStaff") != []


def test_of_two_over_one_bar_the_one_that_is_not_drawn_is_told(tmp_path: Path) -> None:
    both = edition(
        tmp_path,
        OSSIA,
        OSSIA | {"id": "other", "label": "or"},
        bars=BARS,
        music={"other": mei("g5/2 a5/2")},
    )
    drawn = part(both.layered)
    assert [problem.code for problem in drawn.problems] == ["ossia-not-drawn"]
    alone = part(both.layered, alternatives={"easier": ()})
    assert alone.problems == ()
    assert [said(g) for g in alone.first.groups("label")] == ["or"]


@pytest.mark.parametrize("chosen", [frozenset(), frozenset({"easier"})])
def test_nothing_is_lost_in_engraving(tmp_path: Path, chosen: frozenset[str]) -> None:
    slurred = mei("q=g5/2 z=a5/2", signs={1: '<slur startid="#q" endid="#z"/>'})
    assert part(with_ossia(tmp_path, slurred).layered, instead=chosen).problems == ()


def test_notes_of_an_ossia_do_not_make_a_string_s_run_longer(tmp_path: Path) -> None:
    hand: Row = {
        "id": "hand",
        "kind": "fingering",
        "place": place(2),
        "alternatives": [{"name": "a", "fingers": "1 on A, 2, 1 on E, 2, 3, 4"}],
    }
    eighths = mei("g5/8 a5/8 g5/8 a5/8 g5/2")
    both = edition(tmp_path, OSSIA, hand, bars=BARS, signs=SIGNS, music={"other": eighths})
    assert [said(g) for g in part(both.layered).first.groups("string")] == ["[II]", "[sul E]"]
