"""What harmonics sound, against the literature.

Stopped harmonics: F. H. Martens, *Violin Mastery* (1919), and J. Wolfe, "Strings, standing waves
and harmonics" (UNSW): touching a minor third, major third, fourth, fifth or octave above the
stopped note; the major sixth by arithmetic. Natural harmonics of the G string: Martens 1919 for
G, B, D; the rest by arithmetic from the partials (H. Helmholtz, *On the Sensations of Tone*).
"""

from __future__ import annotations

from math import gcd, log2

import pytest

from pipeline.score.model import Event
from pipeline.strings.harmonics import SOUNDS_ABOVE_OPEN, SOUNDS_ABOVE_STOPPED, sounding
from pipeline.strings.instruments import INSTRUMENTS
from tests.collation.letters import music, pitch

VIOLIN = INSTRUMENTS["violin"]


def event(drawn: str) -> Event:
    return music(drawn).events[0]


STOPPED = [
    # stopped + touched, sounding
    ("A3+D4", "A5"), ("E4+A4", "E6"), ("B4+E5", "B6"), ("F#5+B5", "F#7"),
    ("A3+E4", "E5"), ("E4+B4", "B5"),
    ("A3+C#4", "C#6"), ("E4+G#4", "G#6"),
    ("A3+C4", "E6"), ("E4+G4", "B6"),
    ("A3+F#4", "C#6"),
    ("A3+A4", "A4"),
]  # fmt: skip


@pytest.mark.parametrize(("written", "sounds"), STOPPED)
def test_a_stopped_harmonic(written: str, sounds: str) -> None:
    stopped, touched = written.split("+")
    chord = event(f"4:{stopped}+{touched}")
    heads = (chord.heads[0], chord.heads[1].__class__("t", pitch(touched), shape="diamond"))
    harmonic = chord.__class__(**{**chord.__dict__, "heads": heads})
    assert sounding(harmonic, VIOLIN) == (frozenset({pitch(sounds).midi}),)


G_STRING = [
    ("G4", "G4"), ("D4", "D5"), ("D5", "D5"), ("C4", "G5"), ("G5", "G5"), ("B3", "B5"),
    ("E4", "B5"), ("B4", "B5"), ("B5", "B5"), ("Bb3", "D6"), ("D6", "D6"),
]  # fmt: skip


@pytest.mark.parametrize(("touched", "sounds"), G_STRING)
def test_a_natural_harmonic_of_the_g_string(touched: str, sounds: str) -> None:
    (tone,) = sounding(event(f"4:{touched}<>"), VIOLIN)
    assert pitch(sounds).midi in tone


def test_an_ordinary_double_stop_sounds_as_written() -> None:
    assert sounding(event("4:G4+E5"), VIOLIN) == (frozenset({67}), frozenset({76}))


def test_a_circle_above_a_note_sounds_as_written() -> None:
    assert sounding(event("4:D5<>'harm"), VIOLIN) == (frozenset({74}),)
    assert sounding(event("4:D5'harm"), VIOLIN) == (frozenset({74}),)


def test_a_touched_tritone_sounds_nothing() -> None:
    assert sounding(event("4:Ab3<>"), VIOLIN) == (frozenset(),)


@pytest.mark.parametrize("table", [SOUNDS_ABOVE_STOPPED, SOUNDS_ABOVE_OPEN])
def test_the_tables_are_the_arithmetic_of_partials(table: dict[int, int]) -> None:
    """Touching k/n sounds partial n: 12 log2 n above, touched at 12 log2 (n / (n - k)).

    A written minor third is the sixth partial (handbooks): 1/7 is farther from it than 1/6.
    """
    nodes = {
        round(12 * log2(n / (n - k))): round(12 * log2(n))
        for n in range(8, 1, -1)
        for k in range(1, n)
        if gcd(k, n) == 1 and (n, k) != (7, 1)
    }
    assert {touched: nodes[touched] for touched in table} == dict(table)


def test_strings_by_letter_and_by_number() -> None:
    assert VIOLIN.string("G") == pitch("G3")
    assert VIOLIN.string("IV") == pitch("G3")
    assert VIOLIN.string("e") == VIOLIN.string("I") == pitch("E5")
    assert VIOLIN.string("C") is None
    assert VIOLIN.string("V") is None
    assert INSTRUMENTS["cello"].string("C") == pitch("C2")
