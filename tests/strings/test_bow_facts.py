"""Figures about a bowing. The measures of a bow are settings, from memory (instruments.yaml)."""

from __future__ import annotations

from fractions import Fraction

import pytest

from pipeline.score.model import Passage
from pipeline.strings.bow_facts import BowFacts, bow_facts, longest_bow
from pipeline.strings.instruments import INSTRUMENTS, Bow
from pipeline.strings.pace import Pace
from tests.collation.letters import music, slur
from tests.strings.bowed import carried_out

BOW = Bow(usable_hair_mm=600, slowest_mm_per_s=50, fastest_mm_per_s=1000, source="this test")
TWO_BARS = music("4:C5 4:D5 4:E5 4:F5 | 4:G5 4:A5 2:B5", slur("0:0", "0:3"), slur("1:0", "1:1"))
SECOND_A_QUARTER = Pace(((0, Fraction(1)),))


def facts(text: Passage, at: Pace = SECOND_A_QUARTER, **alternative: object) -> BowFacts:
    return bow_facts(carried_out(text, **alternative).strokes, at, BOW)


def test_strokes_directions_and_seconds() -> None:
    told = facts(TWO_BARS, divide_after=1, signs={1: "down"})
    assert (told.strokes, told.begins, told.ends) == (4, "down", "up")
    assert (told.longest, told.shortest) == (3, 1)


def test_without_a_tempo_there_are_no_seconds() -> None:
    told = facts(TWO_BARS, Pace(()), signs={1: "down"})
    assert (told.longest, told.shortest, told.too_long) == (None, None, ())


def test_without_a_sign_there_is_no_direction() -> None:
    told = facts(TWO_BARS)
    assert (told.strokes, told.begins, told.ends) == (3, None, None)


def test_plucked_notes_have_no_strokes() -> None:
    told = facts(music("2:C5'lhpizz 2:D5'lhpizz"))
    assert (told.strokes, told.begins, told.longest) == (0, None, None)


@pytest.mark.parametrize(("quarter", "too_long"), [(2, 0), (3, 0), (Fraction(301, 100), 1)])
def test_a_bow_drawn_as_slowly_as_can_be(quarter: Fraction, too_long: int) -> None:
    """600 mm of hair at 50 mm a second last twelve seconds: three a quarter of the long slur."""
    assert longest_bow(BOW) == 12
    told = facts(TWO_BARS, Pace(((0, Fraction(quarter)),)))
    assert (told.lasts, len(told.too_long)) == (12, too_long)


@pytest.mark.parametrize(
    ("quarter", "part"), [(1, 1), (Fraction(3, 5), 1), (Fraction(3, 10), Fraction(1, 2))]
)
def test_how_much_of_the_hair_the_shortest_stroke_can_take(
    quarter: Fraction, part: Fraction
) -> None:
    """1000 mm a second: 600 mm of hair need six tenths of a second."""
    told = facts(TWO_BARS, Pace(((0, Fraction(quarter)),)), divide_after=1)
    assert told.shortest_takes == part


def test_short_strokes_take_a_part_of_the_hair_and_are_nothing_unusual() -> None:
    assert facts(TWO_BARS, Pace(((0, Fraction(1, 100)),))).too_long == ()


def test_an_up_bow_on_the_first_beat_is_told() -> None:
    up = facts(TWO_BARS, signs={1: "up"}).up_on_strong
    assert [(note.bar, note.onset) for note in up] == [(0, 0)]
    down = facts(TWO_BARS, divide_after=2, signs={1: "down"}).up_on_strong
    assert down == ()


@pytest.mark.parametrize("name", sorted(INSTRUMENTS))
def test_the_bows_of_the_instruments_last_longer_than_a_slow_bar(name: str) -> None:
    """Ten seconds and more can be drawn very softly (common practice, no source)."""
    assert 10 < longest_bow(INSTRUMENTS[name].bow) < 30
