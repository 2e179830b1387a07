"""A way through harmonics: no other is better, and each aim gets what it asks for."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import product

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pipeline.strings.harmonic_path import Aim, Through, way_through
from pipeline.strings.harmonic_ways import Ease, Way, ways
from pipeline.strings.instruments import INSTRUMENTS
from tests.strings.test_harmonic_ways import by_midi

VIOLIN = INSTRUMENTS["violin"]

WAYS = {midi: ways(by_midi(midi), VIOLIN) for midi in range(76, 97)}

melodies = st.lists(st.sampled_from(sorted(WAYS)), min_size=1, max_size=6)


def through(melody: list[int], aim: Aim) -> Through:
    return _through([WAYS[midi] for midi in melody], aim)


def _through(notes: Sequence[Sequence[Way]], aim: Aim) -> Through:
    found = way_through(notes, VIOLIN, aim)
    assert found is not None
    return found


@given(melodies, st.sampled_from(Aim))
def test_every_note_sounds_and_no_hand_is_asked_for_what_it_cannot(
    melody: list[int], aim: Aim
) -> None:
    found = through(melody, aim)
    assert [step.way.sounds.midi for step in found.steps] == melody
    assert all(step.way.ease.possible for step in found.steps)


@given(melodies)
def test_no_aim_finds_fewer_moves_than_fewest_moves(melody: list[int]) -> None:
    fewest = through(melody, Aim.FEWEST_MOVES).moves
    assert all(fewest <= through(melody, aim).moves for aim in Aim)


@given(melodies)
def test_no_aim_finds_a_smaller_stretch_than_smallest_stretch(melody: list[int]) -> None:
    """Within a millimetre, which is none to a hand."""
    smallest = through(melody, Aim.SMALLEST_STRETCH).widest_mm
    assert all(smallest <= through(melody, aim).widest_mm + 1 for aim in Aim)


@given(melodies)
def test_natural_where_possible(melody: list[int]) -> None:
    for step in through(melody, Aim.NATURAL).steps:
        natural = [
            way
            for way in WAYS[step.way.sounds.midi]
            if way.natural and way.ease.possible and way.in_tune and way.partial <= 6
        ]
        assert step.way.natural == bool(natural)


@given(st.lists(st.integers(86, 92), min_size=2, max_size=2))
@settings(max_examples=20)
def test_fewest_moves_are_the_fewest_of_all(melody: list[int]) -> None:
    """Against trying everything: every way of every note, the hand where its fingers put it."""
    tried = min(
        _through([[way] for way in choice], Aim.FEWEST_MOVES).moves
        for choice in product(*(_suggested(midi) for midi in melody))
    )
    assert through(melody, Aim.FEWEST_MOVES).moves == tried


def _suggested(midi: int) -> list[Way]:
    possible = [w for w in WAYS[midi] if w.interval != "octave"]
    usable = [w for w in possible if w.ease is Ease.ORDINARY]
    return [w for w in usable if w.in_tune and w.partial <= 6] or usable


def test_a_tone_repeated_moves_nothing() -> None:
    assert through([88] * 5, Aim.BRILLIANCE).travel_mm == 0


def test_brilliance_asks_for_low_partials() -> None:
    """A touched fifth sounds more brilliant than a touched fourth (common practice, no source)."""
    (step,) = through([89], Aim.BRILLIANCE).steps
    assert (step.way.interval, step.way.partial) == ("fifth", 3)


def test_a_pitch_without_harmonic_has_no_way_through() -> None:
    assert way_through([WAYS[81], ()], VIOLIN, Aim.NATURAL) is None


def test_the_seventh_partial_is_suggested_only_where_nothing_else_sounds() -> None:
    """It is 31 cents flat (arithmetic)."""
    assert all(step.way.partial != 7 for step in through([89, 96], Aim.NATURAL).steps)


def test_a_wide_hand_is_asked_for_only_where_there_is_no_other_way() -> None:
    found = through([85], Aim.BRILLIANCE)
    assert [step.way.ease for step in found.steps] == [Ease.ORDINARY]


@pytest.mark.parametrize("aim", Aim)
def test_an_empty_passage_has_an_empty_way(aim: Aim) -> None:
    assert through([], aim).steps == ()
