"""Pitch names against tables of the trade and against music21.

Scientific pitch notation: middle C is C4, the orchestra's A is A4 (Acoustical Society of America,
*Terminology*, from memory; ISO 16:1975 gives that A 440 Hz). Helmholtz notation: table of octaves
in H. von Helmholtz, *On the Sensations of Tone* (tr. A. J. Ellis), and in any dictionary of music
("Tonsystem", "pitch notation"): from memory. German letters (H, B, Fis, Es, As, Heses): common
school theory, from memory.
"""

from __future__ import annotations

import pytest
from music21.pitch import Pitch as ReferencePitch

from pipeline.score.model import Pitch
from pipeline.score.pitch_names import Letters, german_step, helmholtz, scientific

OCTAVES = [
    # octave, English organ and piano name, scientific, Helmholtz, German
    (0, "double contra", "C0", "C͵͵", "C₂"),
    (1, "contra", "C1", "C͵", "C₁"),
    (2, "great", "C2", "C", "C"),
    (3, "small", "C3", "c", "c"),
    (4, "one-line (middle C)", "C4", "c′", "c′"),
    (5, "two-line", "C5", "c″", "c″"),
    (6, "three-line", "C6", "c‴", "c‴"),
    (7, "four-line", "C7", "c⁗", "c⁗"),
]


@pytest.mark.parametrize(
    ("octave", "in_science", "in_helmholtz", "in_german"),
    [(row[0], *row[2:]) for row in OCTAVES],
    ids=[row[1] for row in OCTAVES],
)
def test_the_octaves_of_c(octave: int, in_science: str, in_helmholtz: str, in_german: str) -> None:
    pitch = Pitch("C", 0, octave)
    assert scientific(pitch) == in_science
    assert helmholtz(pitch) == in_helmholtz
    assert helmholtz(pitch, Letters.GERMAN) == in_german


# The open strings of the violin family and the double bass (sounding), any handbook of
# orchestration; from memory.
STRINGS = [
    (Pitch("G", 0, 3), "G3", "g"),
    (Pitch("D", 0, 4), "D4", "d′"),
    (Pitch("A", 0, 4), "A4", "a′"),
    (Pitch("E", 0, 5), "E5", "e″"),
    (Pitch("C", 0, 3), "C3", "c"),
    (Pitch("C", 0, 2), "C2", "C"),
    (Pitch("G", 0, 2), "G2", "G"),
    (Pitch("E", 0, 1), "E1", "E͵"),
]


@pytest.mark.parametrize(("pitch", "in_science", "in_helmholtz"), STRINGS)
def test_open_strings(pitch: Pitch, in_science: str, in_helmholtz: str) -> None:
    assert (scientific(pitch), helmholtz(pitch)) == (in_science, in_helmholtz)


ALTERED = [
    (Pitch("F", 1, 5), "F♯5", "f♯″", "fis″"),
    (Pitch("B", -1, 4), "B♭4", "b♭′", "b′"),
    (Pitch("B", 0, 4), "B4", "b′", "h′"),
    (Pitch("B", 1, 4), "B♯4", "b♯′", "his′"),
    (Pitch("B", -2, 4), "B♭♭4", "b♭♭′", "heses′"),
    (Pitch("E", -1, 5), "E♭5", "e♭″", "es″"),
    (Pitch("E", -2, 5), "E♭♭5", "e♭♭″", "eses″"),
    (Pitch("A", -1, 3), "A♭3", "a♭", "as"),
    (Pitch("A", -2, 3), "A♭♭3", "a♭♭", "ases"),
    (Pitch("D", -1, 2), "D♭2", "D♭", "Des"),
    (Pitch("C", 2, 4), "C𝄪4", "c𝄪′", "cisis′"),
    (Pitch("G", 1, 2), "G♯2", "G♯", "Gis"),
]


@pytest.mark.parametrize(("pitch", "in_science", "in_english", "in_german"), ALTERED)
def test_altered_notes(pitch: Pitch, in_science: str, in_english: str, in_german: str) -> None:
    assert scientific(pitch) == in_science
    assert helmholtz(pitch) == in_english
    assert helmholtz(pitch, Letters.GERMAN) == in_german


_ALL = [
    Pitch(step, alter, octave)
    for step in "CDEFGAB"
    for alter in (-2, -1, 0, 1, 2)
    for octave in range(9)
]


def _reference(pitch: Pitch) -> ReferencePitch:
    signs = {-2: "--", -1: "-", 0: "", 1: "#", 2: "##"}
    return ReferencePitch(f"{pitch.step}{signs[pitch.alter]}{pitch.octave}")


def test_every_scientific_name_and_midi_number_is_music21s() -> None:
    for pitch in _ALL:
        reference = _reference(pitch)
        # music21 has the one sign 𝄫, which fewer text faces hold than two flats.
        expected = reference.unicodeNameWithOctave.replace("𝄫", "♭♭")
        assert scientific(pitch) == expected
        assert pitch.midi == reference.midi


def test_every_german_letter_is_music21s_where_it_has_one() -> None:
    for pitch in _ALL:
        assert german_step(pitch).lower() == _reference(pitch).german.lower(), pitch


def test_no_two_pitches_share_a_name() -> None:
    for name in (scientific, helmholtz, lambda p: helmholtz(p, Letters.GERMAN)):
        assert len({name(pitch) for pitch in _ALL}) == len(_ALL)
