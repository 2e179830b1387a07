"""Meters, repeat signs and endings that differ: told once, at the bar where they stand.

They belong to whole bars, so a place of a record tells them where it holds all of the bar, on
whatever staff, and the collation tells them once and not on every staff.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from fractions import Fraction
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pipeline.collation.bar_signs import element_of
from pipeline.collation.beside import BarPair, Beside
from pipeline.collation.collate import collate
from pipeline.collation.differences import differences
from pipeline.collation.laying import lay_beside
from pipeline.collation.model import DifferenceKind, Version
from pipeline.score.model import Moment, Passage
from tests.collation.letters import music, told, whole, with_bar_signs, within

BARS = (
    "4:C5 4:D5 2:E5", "4:F5 4:E5 2:D5", "2:C5 2:G4", "4:A4 8:B4 8:C5 2:D5",
    "8:E5 8:F5 4:G5 2:A5", "2:B5 4:G5 4:E5", "4.:F5 8:D5 2:B4", "1:C5",
)  # fmt: skip


def signed(*bars: str, **signs: Any) -> Passage:
    """Return bars, or eight of them, with signs as in `with_bar_signs`."""
    return with_bar_signs(music(" | ".join(bars or BARS)), **signs)


def lines(text: Passage, witness: Passage) -> list[str]:
    """Return bars that one side lacks as `bars missing 3`, then the differences."""
    found = collate(text, lay_beside(text, witness), "E", 1)
    whole_bars = [
        f"{bar.change} {' '.join(map(str, bar.text or bar.reading))}" for bar in found.bars
    ]
    return whole_bars + [told(difference) for difference in found.differences]


METERS = (
    ({0: "3/4"}, {0: "6/8"}, ["meter 0:0-0:4 3/4@0:0 | 6/8@0:0"]),
    ({0: "4/4"}, {0: "2/2"}, ["meter 0:0-0:4 4/4@0:0 | 2/2@0:0"]),
    ({0: "4/4"}, {0: "4/4"}, []),
    ({0: "4/4"}, {}, []),
    ({0: "4/4", 3: "2/2"}, {0: "4/4"}, ["meter 3:0-3:4 2/2@3:0 | 4/4@3:0"]),
    ({0: "4/4", 3: "2/2"}, {0: "4/4", 4: "2/2"}, ["meter 3:0-3:4 2/2@3:0 | 4/4@3:0"]),
    (
        {0: "4/4", 5: "2/2"},
        {0: "2/2", 5: "8/8"},
        ["meter 0:0-0:4 4/4@0:0 | 2/2@0:0", "meter 5:0-5:4 2/2@5:0 | 8/8@5:0"],
    ),
)


@pytest.mark.parametrize(("of_text", "of_witness", "expected"), METERS)
def test_another_meter_is_told_once_for_each_change(
    of_text: Mapping[int, str], of_witness: Mapping[int, str], expected: list[str]
) -> None:
    assert lines(signed(meters=of_text), signed(meters=of_witness)) == expected


def test_repeat_signs_that_one_side_has() -> None:
    text = signed(starts={2}, ends={5})
    assert lines(text, signed()) == [
        "repeat sign missing 2:0-2:4 start@2:0 | .",
        "repeat sign missing 5:0-5:4 end@5:4 | .",
    ]
    assert lines(signed(), text) == [
        "repeat sign added 2:0-2:4 . | start@2:0",
        "repeat sign added 5:0-5:4 . | end@5:4",
    ]
    assert lines(text, text) == []


def test_at_the_beginning_of_a_movement_one_goes_back_without_a_sign() -> None:
    assert lines(signed(starts={0}, ends={7}), signed(ends={7})) == []


def test_a_first_ending_that_one_side_has() -> None:
    text = signed(ends={4}, endings={3: "1", 4: "1", 5: "2"})
    assert lines(text, signed(ends={4})) == [
        "ending missing 3:0-3:4 1@3:0 | .",
        "ending missing 5:0-5:4 2@5:0 | .",
    ]
    shorter = signed(ends={4}, endings={4: "1", 5: "2"})
    assert lines(text, shorter) == ["ending missing 3:0-3:4 1@3:0 | ."]


def test_a_repeat_written_out_is_added_bars_and_a_sign_that_is_missing() -> None:
    text = signed(ends={3})
    witness = signed(*BARS[:4], *BARS[:4], *BARS[4:])
    assert lines(text, witness) == [
        "bars added 4 5 6 7",
        "repeat sign missing 3:0-3:4 end@3:4 | .",
    ]


def test_signs_of_a_bar_that_one_side_lacks_go_with_it() -> None:
    text = signed(starts={3}, ends={3}, endings={3: "1"})
    assert lines(text, signed(*BARS[:3], *BARS[4:])) == ["bars missing 3"]


def test_a_sign_within_a_bar_stands_in_the_bar_that_it_divides() -> None:
    divided = signed(*BARS[:3], "4:A4 8:B4 8:C5", "2:D5", *BARS[4:], ends={3}, starts={4})
    assert lines(signed(), divided) == [
        "repeat sign added 3:0-3:4 . | end inside@3:2",
        "repeat sign added 3:0-3:4 . | start inside@4:0",
    ]
    assert lines(divided, signed()) == [
        "repeat sign missing 3:0-3:2 end@3:2 | .",
        "repeat sign missing 4:0-4:2 start@4:0 | .",
    ]
    assert lines(divided, divided) == []


def test_a_sign_at_the_edge_of_what_is_encoded_is_not_missing() -> None:
    text = signed(starts={2}, ends={5})
    assert lines(text, signed(*BARS[2:6])) == []
    assert lines(signed(), signed(*BARS[2:6], ends={3})) == [
        "repeat sign added 5:0-5:4 . | end@3:4"
    ]


def places(text: Passage, witness: Passage, staff: int = 1) -> Version:
    beside = lay_beside(text, witness)
    return Version(beside.passage, (), staff, "encoding", ("E",), None, beside)


def test_a_place_tells_it_where_it_holds_all_of_the_bar() -> None:
    text = signed(meters={0: "4/4", 3: "3/4"})
    version = places(text, signed(meters={0: "4/4", 3: "6/8"}))

    def kinds(start: Moment, end: Moment) -> list[str]:
        return [str(d.kind) for d in differences(text, within(text, start, end), version)]

    bar = Moment(3, Fraction(0)), Moment(3, Fraction(4))
    assert kinds(*bar) == ["meter"]
    assert kinds(Moment(2, Fraction(2)), Moment(5, Fraction(1))) == ["meter"]
    assert kinds(bar[0], Moment(3, Fraction(3))) == []
    assert kinds(Moment(3, Fraction(1)), Moment(5, Fraction(0))) == []


def two_staves(passage: Passage) -> Passage:
    events = tuple(replace(e, staff=2, xml_id=f"{e.xml_id}-low") for e in passage.events)
    staves = (passage.staves[0], replace(passage.staves[0], n=2, label="Piano"))
    return replace(passage, staves=staves, events=passage.events + events)


def test_it_is_told_once_though_a_place_on_any_staff_tells_it() -> None:
    text, witness = two_staves(signed(ends={3})), two_staves(signed())
    expected = ["repeat sign missing 3:0-3:4 end@3:4 | ."]
    assert lines(text, witness) == expected
    for staff in (1, 2):
        span = whole(text, 3, 3, staff)
        assert [told(d) for d in differences(text, span, places(text, witness, staff))] == expected


def test_a_sign_of_a_bar_leads_to_its_measure() -> None:
    (difference,) = collate(
        signed(ends={3}), lay_beside(signed(ends={3}), signed()), "E", 1
    ).differences
    assert difference.text.marking is not None
    assert element_of(difference.text.marking) == "m3"


SIGNS = st.fixed_dictionaries(
    {
        "meters": st.dictionaries(st.integers(0, 7), st.sampled_from(["4/4", "2/2", "8/8"])),
        "starts": st.frozensets(st.integers(0, 7)),
        "ends": st.frozensets(st.integers(0, 7)),
        "endings": st.dictionaries(st.integers(0, 7), st.sampled_from(["1", "2"])),
    }
)
OF_BARS = {DifferenceKind.METER, DifferenceKind.REPEAT, DifferenceKind.ENDING}
EXCHANGED = {"missing": "added", "added": "missing"}


def bar_by_bar(text: Passage, witness: Passage) -> Beside:
    return Beside(witness, {1: 1}, tuple(BarPair(n, n) for n in range(len(text.bars))))


@given(SIGNS)
def test_a_passage_has_the_signs_that_it_has(signs: dict[str, Any]) -> None:
    text = signed(**signs)
    assert lines(text, text) == []


@given(SIGNS, SIGNS)
def test_exchanged_sides_exchange_what_is_missing_and_added(
    one: dict[str, Any], other: dict[str, Any]
) -> None:
    a, b = signed(**one), signed(**other)
    forth = collate(a, bar_by_bar(a, b), "E", 1).differences
    back = collate(b, bar_by_bar(b, a), "E", 1).differences
    assert {d.kind for d in forth} <= OF_BARS
    assert [(d.kind, d.start, EXCHANGED.get(d.change, d.change)) for d in forth] == [
        (d.kind, d.start, d.change) for d in back
    ]


@given(SIGNS, SIGNS)
def test_every_repeat_sign_that_only_one_side_has_is_told_and_no_other(
    one: dict[str, Any], other: dict[str, Any]
) -> None:
    a, b = signed(**one), signed(**other)
    found = collate(a, bar_by_bar(a, b), "E", 1).differences
    repeats = [d for d in found if d.kind is DifferenceKind.REPEAT]
    differing = sum(
        (x.repeat_start != y.repeat_start and x.index > 0) + (x.repeat_end != y.repeat_end)
        for x, y in zip(a.bars, b.bars, strict=True)
    )
    assert len(repeats) == differing


@given(SIGNS, SIGNS)
def test_bars_and_the_whole_tell_the_same(one: dict[str, Any], other: dict[str, Any]) -> None:
    a, b = signed(**one), signed(**other)
    beside = bar_by_bar(a, b)
    version = Version(b, (), 1, "encoding", ("E",), None, beside)
    of_bars = [told(d) for n in range(8) for d in differences(a, whole(a, n, n), version)]
    assert of_bars == [told(d) for d in collate(a, beside, "E", 1).differences]
