"""Seconds at a tempo: a metronome figure counts beats a minute (common practice, no source)."""

from __future__ import annotations

from fractions import Fraction

import pytest

from pipeline.edition.head import MovementHead
from pipeline.score.model import Passage
from pipeline.strings.pace import Pace, pace_of
from pipeline.strings.sounds import sounds_of
from tests.collation.letters import music

FOUR_BARS = music("1:C5 | 2:D5 2:r | 8/3:E5 8/3:F5 8/3:G5 2.:A5 | 1:B5", numbers="1 2 2a 3")


def pace(passage: Passage = FOUR_BARS, **written: object) -> Pace:
    head = {"n": 1, "title": "Allegro", "base": "score/movement-1.mei", **written}
    return pace_of(MovementHead.model_validate(head), passage)


def seconds(at: Pace, first: int, last: int) -> Fraction | None:
    sounds = sounds_of(FOUR_BARS, 1).all
    return at.seconds(one for one in sounds if first <= one.main.bar <= last)


@pytest.mark.parametrize(
    ("beat", "per_minute", "whole_note"),
    [
        ("4", 60, 4),
        ("4", 120, 2),
        ("2", 60, 2),
        ("4.", 40, 4),
        ("8", 120, 4),
        ("4", 0.5, 480),
    ],
)
def test_a_whole_note(beat: str, per_minute: float, whole_note: int) -> None:
    assert seconds(pace(tempo={"beat": beat, "per_minute": per_minute}), 0, 0) == whole_note


def test_rests_are_not_counted_and_triplets_are() -> None:
    at = pace(tempo={"beat": "4", "per_minute": 60})
    assert seconds(at, 1, 1) == 2
    assert seconds(at, 2, 2) == 4


def test_a_change_of_tempo_holds_from_its_bar_on() -> None:
    at = pace(
        tempo={"beat": "4", "per_minute": 60},
        tempo_changes=[{"bar": "3", "beat": "4", "per_minute": 30},
                       {"bar": "2a", "beat": "4", "per_minute": 120}],
    )  # fmt: skip
    assert [seconds(at, bar, bar) for bar in range(4)] == [4, 2, 2, 8]
    assert seconds(at, 0, 3) == 16


def test_no_tempo_no_seconds() -> None:
    assert seconds(pace(), 0, 0) is None
    later = pace(tempo_changes=[{"bar": "2", "beat": "4", "per_minute": 60}])
    assert (seconds(later, 0, 1), seconds(later, 1, 1)) == (None, 2)
