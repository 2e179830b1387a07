"""Instruments as data: what is delivered holds, what is wrong is told where it stands."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pipeline.problems import Origin, as_text
from pipeline.strings.geometry import distance_mm, node_semitones, semitones_at, span_mm
from pipeline.strings.instruments import (
    INSTRUMENT_PROBLEMS,
    INSTRUMENTS,
    find_instrument,
    read_instruments,
)

RIGHT = """\
fiddle:
  strings: [A4, D4]
  thumb: no
  vibrating_length_mm: 300
  length_source: memory
  fingerboard_semitones: 24
  fingerboard_source: memory
  reach: [{fingers: 1-4, ordinary_mm: 80, limit_mm: 110, source: memory}]
  bow: {usable_hair_mm: 600, slowest_mm_per_s: 40, fastest_mm_per_s: 1500, source: memory}
"""


def told(text: str) -> list[str]:
    return [as_text(problem) for problem in read_instruments(text, "i.yaml").problems]


def test_the_instruments_delivered_are_right() -> None:
    assert INSTRUMENT_PROBLEMS == ()
    assert list(INSTRUMENTS) == ["violin", "viola", "cello", "double bass"]
    assert [one.thumb for one in INSTRUMENTS.values()] == [False, False, True, True]


def test_every_pair_of_fingers_has_its_reach() -> None:
    for instrument in INSTRUMENTS.values():
        for at, lower in enumerate(instrument.fingers):
            for higher in instrument.fingers[at + 1 :]:
                assert instrument.stretch(lower, higher) is not None


def test_another_instrument_can_be_added() -> None:
    assert told(RIGHT) == []
    (fiddle,) = (read_instruments(RIGHT, "i.yaml").value or {}).values()
    assert (fiddle.name, fiddle.string_names) == ("fiddle", ("D", "A"))


WRONG = [
    (
        "[A4, D4]",
        "[D4, A4]",
        "i.yaml:2:17: error wrong-value: string II is not lower than string I\n"
        "    Write the strings from the highest to the lowest.",
    ),
    (
        "[A4, D4]",
        "[A4, H3]",
        "i.yaml:2:17: error wrong-value: `H3` is no pitch\n"
        "    Write letter and octave, such as A4 or Bb3.",
    ),
    (
        "fingers: 1-4",
        "fingers: 4-1",
        "i.yaml:8:21: error wrong-value: `4-1` are no two fingers\n"
        "    Write the lower finger first, such as 1-4 or T-3.",
    ),
    (
        "limit_mm: 110",
        "limit_mm: 70",
        "i.yaml:8:53: error wrong-value: the limit is less than what is ordinary\n"
        "    Exchange the two numbers.",
    ),
    (
        "vibrating_length_mm: 300",
        "vibrating_length_mm: -3",
        "i.yaml:4:24: error wrong-value: `vibrating_length_mm` is `-3`; "
        "more than 0 is needed here\n"
        "    Correct the number.",
    ),
    (
        "thumb: no",
        "thums: no",
        "i.yaml:3:3: error unknown-key: `thums` is no key of an instrument\n"
        "    Did you mean `thumb`?",
    ),
]


@pytest.mark.parametrize(("right", "wrong", "message"), WRONG)
def test_what_does_not_fit_is_told(right: str, wrong: str, message: str) -> None:
    assert told(RIGHT.replace(right, wrong)) == [message]


def test_one_wrong_instrument_leaves_the_others() -> None:
    text = RIGHT + RIGHT.replace("fiddle", "other").replace("[A4, D4]", "[A4, A4]")
    outcome = read_instruments(text, "i.yaml")
    assert list(outcome.value or {}) == ["fiddle"]
    assert len(outcome.problems) == 1


@pytest.mark.parametrize("text", ["", "- a\n", "fiddle: 3\n", "a: [\n"])
def test_what_is_no_list_of_instruments_is_told(text: str) -> None:
    outcome = read_instruments(text, "i.yaml")
    assert not outcome.value
    assert len(outcome.problems) == 1


def test_an_unknown_instrument() -> None:
    found = find_instrument("voila", Origin("edition.yaml", 3, 5))
    assert [as_text(problem) for problem in found.problems] == [
        "edition.yaml:3:5: error unknown-instrument: the strings of `voila` are not known\n"
        "    Did you mean `viola`?"
    ]
    assert find_instrument("viola", Origin("edition.yaml")).value == INSTRUMENTS["viola"]


@given(st.sampled_from(sorted(INSTRUMENTS)), st.floats(0, 40))
def test_distance_and_pitch_are_each_other_turned_round(name: str, semitones: float) -> None:
    instrument = INSTRUMENTS[name]
    there = distance_mm(instrument, semitones)
    assert semitones_at(instrument, there) == pytest.approx(semitones, abs=1e-6)


@given(st.integers(0, 20), st.integers(1, 10))
def test_the_same_interval_is_narrower_higher_up(stop: int, interval: int) -> None:
    violin = INSTRUMENTS["violin"]
    assert span_mm(violin, stop + 1, stop + 1 + interval) < span_mm(violin, stop, stop + interval)


def test_a_node_is_inside_the_string() -> None:
    assert node_semitones(1, 2) == 12
    with pytest.raises(ValueError, match="2/2 is not on the string"):
        node_semitones(2, 2)
