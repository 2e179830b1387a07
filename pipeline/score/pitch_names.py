"""Pitches in, their names out: scientific and Helmholtz, English and German.

Scientific pitch notation counts octaves from C, C4 = middle C (ISO 16:1975 names its 440 Hz A by
it as A4; MEI `oct`, MusicXML `octave`). Helmholtz (*Die Lehre von den Tonempfindungen*, 1863)
writes the octave below middle C small (c), the one below that great (C), higher ones with strokes
(c′ = middle C), lower ones with strokes after the great letter (C͵ as C, in older prints): C₁ in
German usage is written here as C, with a stroke below, ͵. All from memory.
"""

from __future__ import annotations

from enum import StrEnum

from pipeline.score.model import Pitch

_SIGNS = {-3: "♭♭♭", -2: "♭♭", -1: "♭", 0: "", 1: "♯", 2: "𝄪", 3: "♯𝄪"}
_STROKES = {1: "′", 2: "″", 3: "‴", 4: "⁗"}
_GERMAN_VOWELS = {"E": "Es", "A": "As"}


class Letters(StrEnum):
    """Which letters name the steps: English (B flat, B) or German (B, H)."""

    ENGLISH = "english"
    GERMAN = "german"


def scientific(pitch: Pitch) -> str:
    """Return the name with its octave number, such as "F♯5"; a minus sign for octaves below 0."""
    return f"{pitch.step}{_sign(pitch.alter)}{pitch.octave}".replace("-", "−")


def helmholtz(pitch: Pitch, letters: Letters = Letters.ENGLISH) -> str:
    """Return the name with its strokes, such as "f♯″" or, with German letters, "fis″"."""
    name = german_step(pitch) if letters is Letters.GERMAN else pitch.step + _sign(pitch.alter)
    if pitch.octave >= 3:
        return name[0].lower() + name[1:] + _strokes(pitch.octave - 3, "′")
    return name + "͵" * (2 - pitch.octave)


def german_step(pitch: Pitch) -> str:
    """Return the German name without octave: Fis, Es, B (B flat), H (B natural), Heses."""
    step, alter = pitch.step, pitch.alter
    if step == "B" and alter == -1:
        return "B"
    letter = "H" if step == "B" else step
    if alter < 0 and letter in _GERMAN_VOWELS:
        return _GERMAN_VOWELS[letter] + ("es" if letter == "E" else "as") * (-alter - 1)
    return letter + ("is" * alter if alter > 0 else "es" * -alter)


def _sign(alter: int) -> str:
    return _SIGNS.get(alter, ("♯" if alter > 0 else "♭") * abs(alter))


def _strokes(count: int, stroke: str) -> str:
    return _STROKES.get(count, stroke * count) if count else ""
