"""On which side of the notes a slur lies, so that a slur cut at the edge stays where it was.

Common practice, no source: the notehead side where all stems go one way, above where they differ;
a stem goes down from the middle line upwards.
"""

from __future__ import annotations

from typing import Literal

from pipeline.engrave.openings import Opening
from pipeline.score.model import Marking, Passage, Pitch

_STEPS = "CDEFGAB"
_PITCH_ON_CLEF_LINE = {"G": 7 * 4 + 4, "F": 7 * 3 + 3, "C": 7 * 4}
"""Diatonic number (seven to the octave) of the note that a clef of that shape names."""


def slur_side(
    passage: Passage, slur: Marking, opening: Opening
) -> Literal["above", "below"] | None:
    """Return the side of a slur; None where the clef or its notes are not known."""
    middle = _middle_line(opening)
    if middle is None or slur.end is None:
        return None
    heights = [
        _diatonic(pitch) - middle
        for event in passage.events
        if event.staff == slur.staff and slur.start <= event.start <= slur.end
        for pitch in _outermost(event.pitches, middle)
    ]
    if not heights:
        return None
    return "below" if all(height < 0 for height in heights) else "above"


def _middle_line(opening: Opening) -> int | None:
    """The diatonic number of the note on the third line."""
    if opening.clef is None:
        return None
    named = _PITCH_ON_CLEF_LINE.get(opening.clef.get("shape", ""))
    line = opening.clef.get("line", "")
    return None if named is None or not line.isdigit() else named + 2 * (3 - int(line))


def _outermost(pitches: tuple[Pitch, ...], middle: int) -> tuple[Pitch, ...]:
    """The note of a chord that lies farthest from the middle line: it sets the stem."""
    return (max(pitches, key=lambda pitch: abs(_diatonic(pitch) - middle)),) if pitches else ()


def _diatonic(pitch: Pitch) -> int:
    return 7 * pitch.octave + _STEPS.index(pitch.step)
