"""Pitch names with their octave, as the language's wording file asks for.

The names are the score stage's (`pipeline.score.pitch_names`); a language may ask for Helmholtz's
octaves by strokes (c′) or by raised figures (c¹), or for scientific ones (C4).
"""

from __future__ import annotations

from pipeline.score.model import Event, Pitch
from pipeline.score.pitch_names import Letters, helmholtz, scientific
from pipeline.typeset.wording import Wording

_STROKES = {"′": 1, "″": 2, "‴": 3, "⁗": 4}
_LOW_STROKE = "͵"
_DRAWN = ("", "′", "″", "‴", "″″", "″‴", "‴‴", "‴‴′")
_RAISED = str.maketrans("0123456789", "⁰¹²³⁴⁵⁶⁷⁸⁹")
_LOWERED = str.maketrans("0123456789", "₀₁₂₃₄₅₆₇₈₉")


def pitch_name(pitch: Pitch, wording: Wording) -> str:
    """Return the name with its octave: f♯″, fis², F♯5, C₁."""
    if wording.plain("pitch.system") == "scientific":
        return scientific(pitch)
    written = helmholtz(pitch, Letters(wording.plain("pitch.letters")))
    name = written.rstrip("".join(_STROKES) + _LOW_STROKE)
    marks = written.removeprefix(name)
    below = marks.count(_LOW_STROKE)
    if below:
        return name + str(below).translate(_LOWERED)
    lines = sum(_STROKES[stroke] for stroke in marks)
    if wording.plain("pitch.octave_marks") == "figures":
        return name + (str(lines).translate(_RAISED) if lines else "")
    return name + _DRAWN[lines]


def chord_name(event: Event, wording: Wording) -> str:
    """Return the pitches of a note or chord from low to high, set apart by a slash."""
    ordered = sorted(event.pitches, key=lambda pitch: pitch.midi)
    return "/".join(pitch_name(pitch, wording) for pitch in ordered)
