"""Every stopped harmonic against music21's own intervals and its own partials.

Outside reference: music21 (M. S. Cuthbert and others), `interval.Interval` and
`pitch.Pitch.getHarmonic`, which know nothing of strings.
"""

from __future__ import annotations

import pytest
from music21 import interval as m21_interval
from music21 import pitch as m21_pitch

from pipeline.score.model import Pitch
from pipeline.score.pitch_names import from_scientific
from pipeline.strings.harmonic_ways import Way, ways
from pipeline.strings.instruments import INSTRUMENTS

SOUNDING = ("A5", "C#6", "D6", "E6", "F#6", "B6", "G5", "Eb6")
NAMES = {
    "m3": "minor third",
    "M3": "major third",
    "P4": "fourth",
    "P5": "fifth",
    "M6": "major sixth",
    "P8": "octave",
}


def as_music21(pitch: Pitch) -> m21_pitch.Pitch:
    accidental = "#" * pitch.alter if pitch.alter > 0 else "-" * -pitch.alter
    return m21_pitch.Pitch(f"{pitch.step}{accidental}{pitch.octave}")


def stopped_ways(sounding: str, instrument: str) -> list[Way]:
    found = from_scientific(sounding)
    assert found is not None
    return [way for way in ways(found, INSTRUMENTS[instrument]) if way.stopped is not None]


@pytest.mark.parametrize("instrument", sorted(INSTRUMENTS))
@pytest.mark.parametrize("sounding", SOUNDING)
def test_intervals_and_partials_are_music21_s(sounding: str, instrument: str) -> None:
    for way in stopped_ways(sounding, instrument):
        assert way.stopped is not None
        stopped, touched = as_music21(way.stopped), as_music21(way.touched)
        assert NAMES[m21_interval.Interval(stopped, touched).name] == way.interval
        partial = stopped.getHarmonic(way.partial)
        sounds = from_scientific(sounding)
        assert sounds is not None
        assert round(partial.ps) == sounds.midi


def test_the_violin_has_such_harmonics() -> None:
    assert all(stopped_ways(sounding, "violin") for sounding in SOUNDING)
