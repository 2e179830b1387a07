"""Harmonics against published tables.

- J. Wolfe (UNSW), "Strings, standing waves and harmonics": touched minor third to octave.
- F. H. Martens, *Violin Mastery: Talks with Master Violinists and Teachers* (1919): touched major
  third, fourth, fifth and octave; natural harmonics of the four strings.
- H. Helmholtz, *On the Sensations of Tone*: partial n lies 1200 log2 n cents above the string.
- T. Denk, "Calculating the exact finger positions for a string instrument": 328 mm.
- Equal temperament: L (1 - 2^(-s/12)); the numbers below are that arithmetic, done by hand.
"""

from __future__ import annotations

import pytest

from pipeline.score.model import Pitch
from pipeline.score.pitch_names import from_scientific, scientific
from pipeline.strings.geometry import distance_mm, span_mm
from pipeline.strings.harmonic_ways import Way, ways
from pipeline.strings.instruments import INSTRUMENTS
from pipeline.strings.nodes import NODES, Node

VIOLIN = INSTRUMENTS["violin"]


def pitch(name: str) -> Pitch:
    found = from_scientific(name)
    assert found is not None
    return found


def way(sounds: str, *, stopped: str, touched: str) -> Way:
    (found,) = {
        (w.stopped, w.touched, w.node): w
        for w in ways(pitch(sounds), VIOLIN)
        if w.stopped == pitch(stopped) and w.touched == pitch(touched)
    }.values()
    return found


STOPPED = [
    # stopped, touched, sounding, what is touched, partial; Wolfe, Martens
    ("A3", "D4", "A5", "fourth", 4),
    ("E4", "A4", "E6", "fourth", 4),
    ("B4", "E5", "B6", "fourth", 4),
    ("F#5", "B5", "F#7", "fourth", 4),
    ("A3", "E4", "E5", "fifth", 3),
    ("E4", "B4", "B5", "fifth", 3),
    ("A3", "C#4", "C#6", "major third", 5),
    ("E4", "G#4", "G#6", "major third", 5),
    ("A3", "C4", "E6", "minor third", 6),
    ("E4", "G4", "B6", "minor third", 6),
    ("A3", "F#4", "C#6", "major sixth", 5),  # arithmetic: node 2/5
    ("A3", "A4", "A4", "octave", 2),
]


@pytest.mark.parametrize(("stopped", "touched", "sounds", "interval", "partial"), STOPPED)
def test_stopped_harmonics(
    stopped: str, touched: str, sounds: str, interval: str, partial: int
) -> None:
    found = way(sounds, stopped=stopped, touched=touched)
    assert (found.interval, found.partial) == (interval, partial)


TOUCH_CENTS = [
    ("minor third", 15.6), ("major third", -13.7), ("fourth", -2.0), ("fifth", 2.0),
    ("major sixth", -15.6), ("octave", 0.0),
]  # fmt: skip


@pytest.mark.parametrize(("interval", "cents"), TOUCH_CENTS)
def test_where_a_stopped_harmonic_is_touched_against_equal_temperament(
    interval: str, cents: float
) -> None:
    """Arithmetic: 1200 log2 (n / (n - k)) less the tempered interval."""
    found = {w.touch_cents for w in ways(pitch("C#7"), VIOLIN) if w.interval == interval}
    assert [round(one, 1) for one in found] == [cents]


OPEN_STRING_TRIADS = [
    # Martens 1919: natural harmonics of an open string form its major triad
    ("G", {"G", "B", "D"}), ("D", {"D", "F♯", "A"}), ("A", {"A", "C♯", "E"}),
    ("E", {"E", "G♯", "B"}),
]  # fmt: skip


@pytest.mark.parametrize(("string", "triad"), OPEN_STRING_TRIADS)
def test_natural_harmonics_form_the_triad_of_their_string(string: str, triad: set[str]) -> None:
    """Partials 2 to 6; the seventh, a flat minor seventh, is no part of it."""
    low = VIOLIN.string(string)
    assert low is not None
    sounded = {
        w.touched.step
        if w.touched == w.sounds
        else scientific(Pitch(w.sounds.step, w.sounds.alter, 0))[:-1]
        for midi in range(low.midi, low.midi + 32)
        for w in ways(_by_key(midi, triad), VIOLIN)
        if w.natural and w.string == low and w.partial <= 6
    }
    assert {name.replace("0", "") for name in sounded} <= triad | {n[0] for n in triad}
    assert len(sounded) >= 3


def _by_key(midi: int, names: set[str]) -> Pitch:
    """Return the pitch of a key, named as in the triad where it is part of it."""
    for name in names:
        found = pitch(f"{name}{midi // 12 - 1}")
        if found.midi == midi:
            return found
    return Pitch("C", midi - 12 * (midi // 12), midi // 12 - 1)


G_STRING = [
    # node, touched, sounding; 1/4 seen in Martens, the others arithmetic
    ("1/2", "G4", "G4"), ("1/3", "D4", "D5"), ("2/3", "D5", "D5"), ("1/4", "C4", "G5"),
    ("3/4", "G5", "G5"), ("1/5", "B3", "B5"), ("2/5", "E4", "B5"), ("3/5", "B4", "B5"),
    ("4/5", "B5", "B5"), ("1/6", "Bb3", "D6"), ("5/6", "D6", "D6"),
]  # fmt: skip


@pytest.mark.parametrize(("node", "touched", "sounds"), G_STRING)
@pytest.mark.parametrize("fifths", [0, 1, 2, 3])
def test_natural_harmonics_of_each_string(
    node: str, touched: str, sounds: str, fifths: int
) -> None:
    """The table of the G string, 7, 14 and 21 semitones higher for D, A and E."""
    string = VIOLIN.strings[3 - fifths]
    wanted = pitch(sounds).midi + 7 * fifths
    octave, step = divmod(wanted, 12)
    found = [
        w
        for w in ways(Pitch("C", step, octave - 1), VIOLIN)
        if w.natural and w.string == string and str(w.node) == node
    ]
    assert [w.touched.midi for w in found] == [pitch(touched).midi + 7 * fifths]


def test_a_fraction_that_reduces_is_no_node_of_its_own() -> None:
    """2/4 is 1/2: it sounds the lower partial (arithmetic)."""
    assert {str(n) for n in NODES}.isdisjoint({"2/4", "2/6", "3/6", "4/6", "2/8", "4/8", "6/8"})


PARTIAL_CENTS = {2: 0, 3: 1.955, 4: 0, 5: -13.686, 6: 1.955, 7: -31.174, 8: 0}


@pytest.mark.parametrize(("partial", "cents"), PARTIAL_CENTS.items())
def test_partials_against_equal_temperament(partial: int, cents: float) -> None:
    """Helmholtz: 1200 log2 n."""
    assert Node(partial, 1).cents == pytest.approx(cents, abs=0.0006)


def test_the_touched_minor_sixth_is_not_the_major_sixth() -> None:
    """Node 3/8 sounds three octaves, node 2/5 two octaves and a third (arithmetic)."""
    assert (Node(8, 3).interval, Node(8, 3).sounds_above) == (8, 36)
    assert (Node(5, 2).interval, Node(5, 2).sounds_above) == (9, 28)


DISTANCES = [(1, 18.4), (2, 35.8), (5, 82.3), (7, 109.1), (12, 164.0)]


@pytest.mark.parametrize(("semitones", "millimetres"), DISTANCES)
def test_distance_from_the_nut_on_a_string_of_328_mm(semitones: int, millimetres: float) -> None:
    """Denk for the length; L (1 - 2^(-s/12))."""
    assert round(distance_mm(VIOLIN, semitones), 1) == millimetres


FOURTHS = [(1, 77.7), (2, 73.3), (3, 69.2), (5, 61.6), (7, 54.9), (12, 41.1)]


@pytest.mark.parametrize(("stop", "millimetres"), FOURTHS)
def test_a_fourth_narrows_towards_the_bridge(stop: int, millimetres: float) -> None:
    assert span_mm(VIOLIN, stop, stop + 5) == pytest.approx(millimetres, abs=0.051)


def test_a_whole_tone_on_the_cello_needs_about_seven_centimetres() -> None:
    """A cello teaching text: a whole tone in first position needs about 7 cm between fingers."""
    assert span_mm(INSTRUMENTS["cello"], 1, 3) == pytest.approx(70, abs=2)
