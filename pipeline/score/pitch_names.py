"""Pitches in, their names out: scientific and Helmholtz, with English or German letters.

Scientific names count octaves from C, C4 = middle C, A4 = 440 Hz (ISO 16:1975 for the frequency;
MEI `oct`, MusicXML `octave`). Helmholtz (*Die Lehre von den Tonempfindungen*, 1863) writes the
octave below middle C small (c), from middle C up with strokes (c′, c″), the great octave as C, and
below that C with one stroke low (C͵; German prints also C₁), then two. All from memory.
"""

from __future__ import annotations

import re
from enum import StrEnum

from pipeline.score.model import Pitch

_SIGNS = {-3: "♭♭♭", -2: "♭♭", -1: "♭", 0: "", 1: "♯", 2: "𝄪", 3: "♯𝄪"}
_SCIENTIFIC = re.compile(
    r"(?P<step>[A-Ga-g])(?P<sign>[#b♯♭♮𝄪]{0,3})(?P<octave>[-−]?[0-9])", re.ASCII
)
_STROKES = {1: "′", 2: "″", 3: "‴", 4: "⁗"}
_LOW_FIGURES = str.maketrans("0123456789", "₀₁₂₃₄₅₆₇₈₉")
_GERMAN_VOWELS = {"E": "Es", "A": "As"}


class Letters(StrEnum):
    """Which letters name the steps: English (B flat, B) or German (B, H)."""

    ENGLISH = "english"
    GERMAN = "german"


def scientific(pitch: Pitch) -> str:
    """Return the name with its octave number, such as "F♯5"; a minus sign for octaves below 0."""
    return f"{pitch.step}{_sign(pitch.alter)}{pitch.octave}".replace("-", "−")


def from_scientific(name: str) -> Pitch | None:
    """Return the pitch of a name such as "A5", "C#6", "C♯6" or "Bb4"; None where it is no name."""
    found = _SCIENTIFIC.fullmatch(name.strip())
    if found is None:
        return None
    sign = found["sign"].replace("#", "♯").replace("b", "♭")
    alter = next((alter for alter, signs in _SIGNS.items() if signs == sign), None)
    alter = {"♯♯": 2, "♯♯♯": 3, "♮": 0}.get(sign, alter)
    octave = int(found["octave"].replace("−", "-"))
    return None if alter is None else Pitch(found["step"].upper(), alter, octave)


def helmholtz(pitch: Pitch, letters: Letters = Letters.ENGLISH) -> str:
    """Return the name with its strokes, such as "f♯″" or, with German letters, "fis″"."""
    name = german_step(pitch) if letters is Letters.GERMAN else pitch.step + _sign(pitch.alter)
    if pitch.octave >= 3:
        return name[0].lower() + name[1:] + _strokes(pitch.octave - 3, "′")
    below = 2 - pitch.octave
    if letters is Letters.GERMAN:
        return name + (str(below).translate(_LOW_FIGURES) if below else "")
    return name + "͵" * below


def german_step(pitch: Pitch) -> str:
    """Return the German name without octave: Fis, Es, B (B flat), H (B natural), Heses."""
    step, alter = pitch.step, pitch.alter
    if step == "B" and alter == -1:
        return "B"
    letter = "H" if step == "B" else step
    if alter < 0 and letter in _GERMAN_VOWELS:
        return _GERMAN_VOWELS[letter] + "es" * (-alter - 1)
    return letter + ("is" * alter if alter > 0 else "es" * -alter)


def _sign(alter: int) -> str:
    return _SIGNS.get(alter, ("♯" if alter > 0 else "♭") * abs(alter))


def _strokes(count: int, stroke: str) -> str:
    return _STROKES.get(count, stroke * count) if count else ""
