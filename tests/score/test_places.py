"""A place as an editor writes it, and the notes it means; or what stands there instead."""

from __future__ import annotations

import tempfile
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pipeline.edition.places import Place
from pipeline.problems import Outcome
from pipeline.score.model import Score, Span
from pipeline.score.resolve import resolve
from tests.score.drawn import filed_at, mei, one_movement, pitches, read

#     bar 0: upbeat     1                                2                 3 (two voices)
_VIOLIN = ("c5/4", "d5/4 r/4 e5/8 f#5/8", "~a5/8 g5/2 f5/4", "c5/2. | e4/4 f4/4 g4/4", "b4/2.")
_PIANO = ("c4/4", "c4/4 d4/4 e4/4", "R", "R", "R")


@pytest.fixture
def score(tmp_path: Path) -> Score:
    bars = zip(_VIOLIN, _PIANO, _PIANO, strict=True)
    return one_movement(
        read(
            tmp_path,
            mei(
                *bars,
                meter="3/4",
                labels=("Violin", "Piano", "Piano"),
                numbers=("0", "1", "2", "3", "4a"),
            ),
        )
    )


def _resolved(score: Score, written: dict[str, object]) -> Outcome[Span]:
    return resolve(Place.model_validate({"movement": 1, **written}), score, 1, filed_at())


FOUND = [
    ({"bar": 1}, "D5 E5 F♯5", "1+0..1+3", True),
    ({"bar": "4a"}, "B4", "4+0..4+3", True),
    ({"bar": 0}, "C5", "0+0..0+1", True),
    ({"bar": 1, "staff": 2}, "C4 D4 E4", "1+0..1+3", True),
    ({"bar": 1, "staff": "violin"}, "D5 E5 F♯5", "1+0..1+3", True),
    ({"bar": 1, "staff": "VIOLIN"}, "D5 E5 F♯5", "1+0..1+3", True),
    ({"bar": 1, "to": {"bar": 2}}, "D5 E5 F♯5 A5 G5 F5", "1+0..2+3", True),
    ({"bar": 1, "beat": 3}, "E5 F♯5", "1+2..1+3", False),
    ({"bar": 1, "beat": 3.5}, "F♯5", "1+5/2..1+3", False),
    ({"bar": 1, "beat": "3 1/4"}, "E5", "1+2..1+5/2", False),
    ({"bar": 1, "beat": 2}, "", "1+1..1+2", False),
    ({"bar": 1, "note": 2}, "E5", "1+2..1+5/2", False),
    ({"bar": 1, "note": 1, "to": {"note": 2}}, "D5 E5", "1+0..1+5/2", False),
    ({"bar": 1, "note": 2, "to": {"bar": 2}}, "E5 F♯5 A5 G5 F5", "1+2..2+3", False),
    ({"bar": 1, "to": {"bar": 2, "note": 2}}, "D5 E5 F♯5 A5 G5", "1+0..2+2", False),
    ({"bar": 1, "beat": 3, "to": {"bar": 2, "beat": 1}}, "E5 F♯5 A5 G5", "1+2..2+1", False),
    ({"bar": 1, "beat": 1, "to": {"beat": 2}}, "D5", "1+0..1+2", False),
    # The beat lies inside a long note: that note belongs, its grace note does too.
    ({"bar": 2, "beat": 2}, "A5 G5", "2+0..2+2", False),
    ({"bar": 2, "note": 1}, "A5", "2+0..2+0", False),
    ({"bar": 2, "note": 2, "to": {"note": 3}}, "G5 F5", "2+0..2+3", False),
    ({"bar": 3, "voice": 2}, "E4 F4 G4", "3+0..3+3", True),
    ({"bar": 3, "voice": 1, "beat": 2}, "C5", "3+0..3+2", False),
    ({"bar": 3, "beat": 2}, "F4", "3+1..3+2", False),
    ({"bar": 3}, "C5 E4 F4 G4", "3+0..3+3", True),
]


@pytest.mark.parametrize(("written", "notes", "extent", "whole"), FOUND)
def test_what_a_place_means(
    score: Score, written: dict[str, object], notes: str, extent: str, whole: bool
) -> None:
    outcome = _resolved(score, written)
    assert outcome.problems == ()
    span = outcome.value
    assert span is not None
    assert pitches(span.events) == notes
    shown = f"{span.start.bar}+{span.start.offset}..{span.end.bar}+{span.end.offset}"
    assert shown == extent
    assert span.whole_bars is whole


_LIST = "bar 1 of the violin has 3 notes: 1 d″, 2 e″, 3 f♯″"

NOT_FOUND = [
    (
        {"movement": 2, "bar": 1},
        "no-such-movement",
        "movement 2, bar 1: there is no movement 2; the score has movement 1",
    ),
    (
        {"bar": 64},
        "no-such-bar",
        "movement 1, bar 64: there is no bar 64; movement 1 has bars 0 to 4a",
    ),
    (
        {"bar": 1, "to": {"bar": 12}},
        "no-such-bar",
        "movement 1, bar 1, violin: there is no bar 12; movement 1 has bars 0 to 4a",
    ),
    (
        {"bar": 1, "staff": 4},
        "no-such-staff",
        "movement 1, bar 1: there is no staff 4; staves here: 1 Violin, 2 Piano, 3 Piano",
    ),
    (
        {"bar": 1, "staff": "viola"},
        "no-such-staff",
        'movement 1, bar 1: there is no staff "viola"; staves here: 1 Violin, 2 Piano, 3 Piano',
    ),
    (
        {"bar": 1, "staff": "Piano"},
        "ambiguous-staff",
        'movement 1, bar 1: "Piano" is the name of 2 staves here: 1 Violin, 2 Piano, 3 Piano',
    ),
    (
        {"bar": 1, "beat": 4},
        "no-such-beat",
        "movement 1, bar 1, violin: there is no beat 4; bar 1 has 3 beats",
    ),
    (
        {"bar": 0, "beat": 3},
        "no-such-beat",
        "movement 1, bar 0, violin: there is no beat 3; bar 0 has 1 beat",
    ),
    (
        {"bar": 1, "to": {"bar": 2, "beat": 5.5}},
        "no-such-beat",
        "movement 1, bar 1, violin: there is no beat 5.5; bar 2 has 3 beats",
    ),
    (
        {"bar": 1, "note": 4},
        "no-such-note",
        f"movement 1, bar 1, violin: there is no note 4; {_LIST}",
    ),
    (
        {"bar": 2, "staff": 2, "note": 1},
        "no-such-note",
        "movement 1, bar 2, piano (staff 2): there is no note 1; bar 2 of the piano (staff 2) has "
        "no notes",
    ),
    (
        {"bar": 3, "voice": 2, "note": 1},
        "no-such-note",
        "movement 1, bar 3, violin: there is no note 1; bar 3 of the violin, voice 2, has 3 notes: "
        "2 e′, 3 f′, 4 g′",
    ),
    (
        {"bar": 1, "voice": 2},
        "no-such-voice",
        "movement 1, bar 1, violin: there is no voice 2 here; the staff has voice 1",
    ),
    (
        {"bar": 2, "to": {"bar": 1}},
        "place-ends-before-it-begins",
        "movement 1, bar 2, violin: the place begins in bar 2 and ends in bar 1, which is before "
        "it",
    ),
    (
        {"bar": 1, "note": 3, "to": {"note": 1}},
        "place-ends-before-it-begins",
        "movement 1, bar 1, violin: the end of the place comes before its beginning",
    ),
    (
        {"bar": 1, "beat": 3, "to": {"beat": 1}},
        "place-ends-before-it-begins",
        "movement 1, bar 1, violin: the end of the place comes before its beginning",
    ),
]


@pytest.mark.parametrize(("written", "code", "expected"), NOT_FOUND)
def test_a_place_that_is_not_there_is_answered_by_what_is(
    score: Score, written: dict[str, object], code: str, expected: str
) -> None:
    outcome = _resolved(score, written)
    assert outcome.value is None
    assert [(p.code, f"{p.place}: {p.message}") for p in outcome.problems] == [(code, expected)]
    assert outcome.problems[0].origin.line == 3
    assert outcome.problems[0].remedy


@pytest.mark.parametrize(
    ("beat", "notes"), [(1, "C5 D5 E5"), (2, "F5 G5 A5"), ("2 1/3", "G5"), (2.5, "G5")]
)
def test_beats_of_six_eight_are_dotted_quarters(tmp_path: Path, beat: object, notes: str) -> None:
    bar = mei("c5/8 d5/8 e5/8 f5/8 g5/8 a5/8", meter="6/8")
    outcome = _resolved(one_movement(read(tmp_path, bar)), {"bar": 1, "beat": beat})
    assert outcome.value is not None
    assert pitches(outcome.value.events) == notes


@settings(max_examples=40, deadline=None)
@given(
    st.lists(
        st.lists(
            st.sampled_from(["c5/4", "~d5/8", "e5+g5/2", "r/8", "(3:2 c5/8 d5/8 e5/8)"]),
            min_size=1,
            max_size=5,
        ),
        min_size=1,
        max_size=4,
    )
)
def test_every_note_is_found_by_its_number_and_every_bar_by_its(bars: list[list[str]]) -> None:
    with tempfile.TemporaryDirectory() as folder:
        passage = read(Path(folder), mei(*(" ".join(bar) for bar in bars)))
    score = one_movement(passage)
    for event in passage.events:
        bar = passage.bars[event.bar].n
        if event.number is not None:
            found = _resolved(score, {"bar": bar, "note": event.number}).value
            assert found is not None
            assert found.events == (event,)
            assert found.start == event.start
        whole = _resolved(score, {"bar": bar}).value
        assert whole is not None
        assert event in whole.events
    all_bars = _resolved(score, {"bar": 1, "to": {"bar": len(bars)}}).value
    assert all_bars is not None
    assert all_bars.events == passage.events
