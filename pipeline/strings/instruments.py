"""Bowed string instruments: their strings and whether the thumb plays.

Tunings are the usual ones (ISO 16 octave numbers, C4 = middle C): violin g d′ a′ e″, viola and
cello an octave apart from c g d′ a′, double bass E A d g as it sounds; any orchestration
handbook. That the thumb plays on cello and double bass alone is common practice, no source.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from pipeline.score.model import Pitch

ROMAN = ("I", "II", "III", "IV", "V", "VI")
"""Names of strings by number; I is the highest."""


@dataclass(frozen=True)
class Instrument:
    """An instrument by the open pitches of its strings, from the highest to the lowest."""

    name: str
    strings: tuple[Pitch, ...]
    thumb: bool

    def string(self, written: str) -> Pitch | None:
        """Return the open pitch of the string that is named by letter or Roman number."""
        if written in ROMAN[: len(self.strings)]:
            return self.strings[ROMAN.index(written)]
        return next((pitch for pitch in self.strings if pitch.step == written.upper()), None)

    @property
    def string_names(self) -> tuple[str, ...]:
        """The letters of the strings, from the lowest to the highest."""
        return tuple(pitch.step for pitch in reversed(self.strings))


INSTRUMENTS: Mapping[str, Instrument] = {
    "violin": Instrument(
        "violin", (Pitch("E", 0, 5), Pitch("A", 0, 4), Pitch("D", 0, 4), Pitch("G", 0, 3)), False
    ),
    "viola": Instrument(
        "viola", (Pitch("A", 0, 4), Pitch("D", 0, 4), Pitch("G", 0, 3), Pitch("C", 0, 3)), False
    ),
    "cello": Instrument(
        "cello", (Pitch("A", 0, 3), Pitch("D", 0, 3), Pitch("G", 0, 2), Pitch("C", 0, 2)), True
    ),
    "double bass": Instrument(
        "double bass",
        (Pitch("G", 0, 2), Pitch("D", 0, 2), Pitch("A", 0, 1), Pitch("E", 0, 1)),
        True,
    ),
}
"""The instruments that the edited staff may be for, by name."""
