"""The frame of the hand: where each finger falls while the hand stays in its place.

The place of the hand is where the first finger naturally lies, in semitones above the open string;
strings lie side by side, so it is one number for all of them. Frames are common practice, no
source: on violin and viola a perfect fourth from first to fourth finger, on the cello a minor
third (a major third with the hand extended), on the double bass a whole tone; the thumb lies about
a whole tone behind the first finger. Millimetres come from the geometry of the string.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property

from pipeline.strings.geometry import distance_mm
from pipeline.strings.instruments import Instrument

OPEN = "0"
"""The digit of an open string: no finger at all."""


@dataclass(frozen=True)
class Fall:
    """Where a finger falls, in semitones above the place of the hand.

    From `low` to `high` it falls by itself, and down to `drawn_back` it is drawn back. A semitone
    above `high` it is stretched where the ordinary reach (mm) from the lowest place of the first
    finger allows that: up the string, where distances shrink.
    """

    low: int
    high: int
    drawn_back: int


@dataclass(frozen=True)
class Places:
    """The places (semitones, inclusive) where the hand may be for some notes."""

    low: int
    high: int

    def __bool__(self) -> bool:
        """Return whether there is any such place."""
        return self.low <= self.high

    def __and__(self, other: Places) -> Places:
        """Return the places that both have."""
        return Places(max(self.low, other.low), min(self.high, other.high))


_SHORT = {"1": Fall(0, 0, -1), "2": Fall(1, 2, 1), "3": Fall(3, 4, 3), "4": Fall(4, 5, 4)}
_LONG = {
    "T": Fall(-2, -2, -3), "1": Fall(0, 0, 0), "2": Fall(1, 1, 1), "3": Fall(2, 2, 2),
    "4": Fall(3, 3, 3),
}  # fmt: skip
_LONGEST = {
    "T": Fall(-2, -2, -3), "1": Fall(0, 0, 0), "2": Fall(1, 1, 1), "3": Fall(2, 2, 1),
    "4": Fall(2, 2, 2),
}  # fmt: skip
_SHORT_UP_TO_MM, _LONG_UP_TO_MM = 500.0, 850.0


@dataclass(frozen=True)
class Hand:
    """The left hand on an instrument."""

    instrument: Instrument

    @cached_property
    def frame(self) -> Mapping[str, Fall]:
        """Where each finger falls, by the length of the string: short, long (cello), longest."""
        length = self.instrument.vibrating_length_mm
        if length <= _SHORT_UP_TO_MM:
            return _SHORT
        return _LONG if length <= _LONG_UP_TO_MM else _LONGEST

    @cached_property
    def _mm(self) -> tuple[float, ...]:
        last = self.instrument.fingerboard_semitones + 24
        return tuple(distance_mm(self.instrument, semitones) for semitones in range(last + 1))

    def mm(self, semitones: int) -> float:
        """Return the distance of a place from the nut in millimetres."""
        return self._mm[semitones] if 0 <= semitones < len(self._mm) else self._beyond(semitones)

    def _beyond(self, semitones: int) -> float:
        return distance_mm(self.instrument, semitones)

    def between(self, one: int, other: int) -> float:
        """Return the distance in millimetres along the string between two places."""
        return abs(self.mm(one) - self.mm(other))

    def places(self, finger: str, semitones: int, held: bool = False) -> Places:
        """Return where the hand may be when that finger is so many semitones above open.

        `held` tells that another finger is down as well and holds the hand, so that the first may
        be drawn up to it by a semitone: what lets octaves alternate between 1-4 and 1-3.
        """
        fall = self.frame[finger]
        high = fall.high + 1 if held and finger == "1" else fall.high
        low_place = semitones - high
        if finger not in {"1", "T"} and self._reaches(finger, low_place - 1, semitones):
            low_place -= 1
        return Places(max(low_place, 0), max(semitones - fall.drawn_back, 0))

    def _reaches(self, finger: str, place: int, semitones: int) -> bool:
        stretch = self.instrument.stretch("1", finger)
        lowest = place + self.frame["1"].drawn_back
        if stretch is None or lowest < 0:
            return False
        return self.between(lowest, semitones) <= stretch.ordinary_mm

    def strain(self, finger: str, semitones: int, place: int) -> float:
        """Return how far (mm) a finger is from where it falls by itself with the hand there."""
        fall = self.frame[finger]
        if semitones < place + fall.low:
            return self.between(semitones, place + fall.low)
        if semitones > place + fall.high:
            return self.between(semitones, place + fall.high)
        return 0.0
