"""Where notes lie on a string: semitones above the open string in, millimetres from the nut out.

A string that sounds s semitones above its open pitch is 2^(-s/12) of its length long (equal
temperament), so the finger stands L (1 - 2^(-s/12)) from the nut. All distances are along the
string.
"""

from __future__ import annotations

from math import log2

from pipeline.strings.instruments import Instrument


def distance_mm(instrument: Instrument, semitones: float) -> float:
    """Return how far from the nut a note lies that many semitones above the open string."""
    return instrument.vibrating_length_mm * (1 - 2 ** (-semitones / 12))


def semitones_at(instrument: Instrument, from_nut_mm: float) -> float:
    """Return the semitones above the open string of a place on it: `distance_mm` turned round."""
    return -12 * log2(1 - from_nut_mm / instrument.vibrating_length_mm)


def span_mm(instrument: Instrument, lower: float, upper: float) -> float:
    """Return the distance along the string between two stops, in semitones above open strings.

    The two may be on different strings; the width of the fingerboard is left out.
    """
    return abs(distance_mm(instrument, upper) - distance_mm(instrument, lower))


def node_semitones(k: int, n: int) -> float:
    """Return where k/n of a string lies, in semitones above the pitch that sounds if it is stopped.

    Raises ValueError unless 0 < k < n.
    """
    if not 0 < k < n:
        raise ValueError(f"{k}/{n} is not on the string")
    return 12 * log2(n / (n - k))
