"""Pitch names with their octave, as the language's wording file asks for.

Helmholtz's octaves (H. Helmholtz, Die Lehre von den Tonempfindungen, 1863): C₁ contra, C great,
c small, c′ (or c¹) one-line, which holds middle C, and so on upwards.
"""

from __future__ import annotations

from pipeline.score.model import Event, Pitch
from pipeline.typeset.wording import Wording

_STROKES = ("", "′", "″", "‴", "″″", "″‴", "‴‴")
_RAISED = str.maketrans("0123456789", "⁰¹²³⁴⁵⁶⁷⁸⁹")
_LOWERED = str.maketrans("0123456789", "₀₁₂₃₄₅₆₇₈₉")
_GREAT_OCTAVE = 2


def pitch_class_name(pitch: Pitch, wording: Wording) -> str:
    """Return the name without octave, in small letters: f♯, fis, b."""
    names, alterations = wording.names("pitch.names"), wording.names("pitch.alterations")
    sign = "b" * -pitch.alter if pitch.alter < 0 else "#" * pitch.alter
    exceptional = wording.names("pitch.exceptions").get(f"{pitch.step}{sign}")
    if exceptional:
        return exceptional
    return alterations[str(pitch.alter)].format(step=names[pitch.step])


def pitch_name(pitch: Pitch, wording: Wording) -> str:
    """Return the name with its octave: f♯″, fis², C₁."""
    name = pitch_class_name(pitch, wording)
    if pitch.octave <= _GREAT_OCTAVE:
        name = name[:1].upper() + name[1:]
        below = _GREAT_OCTAVE - pitch.octave
        return name + (str(below).translate(_LOWERED) if below else "")
    lines = pitch.octave - _GREAT_OCTAVE - 1
    if wording.texts["pitch.octave_marks"] == "strokes":
        return name + _STROKES[lines]
    return name + (str(lines).translate(_RAISED) if lines else "")


def chord_name(event: Event, wording: Wording) -> str:
    """Return the pitches of a note or chord from low to high, set apart by a slash."""
    ordered = sorted(event.pitches, key=lambda pitch: pitch.midi)
    return "/".join(pitch_name(pitch, wording) for pitch in ordered)
