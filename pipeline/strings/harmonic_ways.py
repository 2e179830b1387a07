"""Every way to sound a pitch as a harmonic: a pitch and an instrument in, ways out.

Natural harmonics at every node of the partials 2 to 8 of every string, and stopped notes with a
touched minor third, major third, fourth, fifth, major sixth or octave. Pitches sound within a
quarter tone of the one that is asked for; `deviation_cents` tells how far off.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from enum import StrEnum
from functools import lru_cache

from pipeline.score.model import Pitch
from pipeline.strings.geometry import distance_mm
from pipeline.strings.instruments import Instrument
from pipeline.strings.nodes import NODES, TOUCHED_OVER_STOPPED, Node
from pipeline.strings.positions import position_of
from pipeline.strings.spelling import spelled_above, spelled_pair

IN_TUNE_CENTS = 20
"""A harmonic farther off is not suggested while there is another (a setting; memory)."""

INTERVALS: Mapping[int, str] = {
    3: "minor third", 4: "major third", 5: "fourth", 7: "fifth", 9: "major sixth", 12: "octave",
}  # fmt: skip
"""Names of the intervals that are touched over a stopped note, by semitones."""


class Ease(StrEnum):
    """Whether a hand gets there; the values are what the table prints."""

    ORDINARY = "every hand"
    WIDE = "a wide hand"
    OUT_OF_REACH = "out of reach"
    NO_FINGERBOARD = "beyond the fingerboard"

    @property
    def possible(self) -> bool:
        """Whether it can be played at all."""
        return self in (Ease.ORDINARY, Ease.WIDE)


@dataclass(frozen=True)
class Way:
    """One way to sound a pitch. Distances are in mm from the nut, deviations in cents.

    `string` is the open string, `stopped` None on an open one. `touched` is the touched note as it
    is written; `touch_cents` is how far the node lies above that note as tempered, as
    `deviation_cents` is for what sounds. `fingers` are those that do it, the easiest first: pairs
    of a stopping and a touching one, or single ones where nothing is stopped.
    """

    string: Pitch
    stopped: Pitch | None
    touched: Pitch
    node: Node
    sounds: Pitch
    stopped_mm: float
    touched_mm: float
    fingers: tuple[tuple[str, ...], ...]
    ease: Ease

    @property
    def natural(self) -> bool:
        """Whether it is a harmonic of an open string."""
        return self.stopped is None

    @property
    def partial(self) -> int:
        """The partial that sounds."""
        return self.node.partial

    @property
    def deviation_cents(self) -> float:
        """How far it sounds above (below: negative) the tempered pitch."""
        return self.node.cents

    @property
    def in_tune(self) -> bool:
        """Whether an ear takes it for the tempered pitch; the seventh partial is too flat."""
        return abs(self.deviation_cents) <= IN_TUNE_CENTS

    @property
    def touch_cents(self) -> float:
        """How far the finger touches above (below: negative) the tempered note that is written."""
        return self.node.touch_cents

    @property
    def span_mm(self) -> float:
        """How far the two fingers are apart; 0 where one finger does it."""
        return 0.0 if self.stopped is None else self.touched_mm - self.stopped_mm

    @property
    def position(self) -> int | None:
        """The position (0: half) of the finger that stops; None where nothing is stopped."""
        return None if self.stopped is None else position_of(self.string, self.stopped)

    @property
    def interval(self) -> str:
        """What is touched over what is stopped, such as "fourth"; "natural" on an open string."""
        return "natural" if self.stopped is None else INTERVALS[self.node.interval]


@lru_cache(maxsize=2048)
def ways(sounding: Pitch, instrument: Instrument) -> tuple[Way, ...]:
    """Return every way to sound that pitch, what can be played first.

    What is in tune comes first, then natural harmonics, then low partials (they speak more surely:
    common practice), then what is nearest to the nut.
    """
    found = [
        way
        for string in instrument.strings
        for way in (
            *_natural(sounding, string, instrument),
            *_stopped(sounding, string, instrument),
        )
    ]
    return tuple(sorted(found, key=_order))


def _order(way: Way) -> tuple[object, ...]:
    return (
        list(Ease).index(way.ease), not way.in_tune, not way.natural, way.partial, way.span_mm,
        way.touched_mm,
    )  # fmt: skip


def _natural(sounding: Pitch, string: Pitch, instrument: Instrument) -> Iterator[Way]:
    for node in NODES:
        if string.midi + node.sounds_above != sounding.midi:
            continue
        over = node.semitones <= instrument.fingerboard_semitones
        yield Way(
            string=string,
            stopped=None,
            touched=spelled_above(string, node.interval),
            node=node,
            sounds=sounding,
            stopped_mm=0.0,
            touched_mm=distance_mm(instrument, node.semitones),
            fingers=tuple((finger,) for finger in instrument.fingers if finger != "T"),
            ease=Ease.ORDINARY if over else Ease.NO_FINGERBOARD,
        )


def _stopped(sounding: Pitch, string: Pitch, instrument: Instrument) -> Iterator[Way]:
    for interval, node in TOUCHED_OVER_STOPPED.items():
        stop = sounding.midi - node.sounds_above - string.midi
        if stop < 1:
            continue
        stopped, touched = spelled_pair(sounding, node.sounds_above, interval)
        stopped_mm = distance_mm(instrument, stop)
        touched_mm = distance_mm(instrument, stop + node.semitones)
        fingers, ease = _hand(touched_mm - stopped_mm, instrument)
        if stop + node.semitones > instrument.fingerboard_semitones:
            ease = Ease.NO_FINGERBOARD
        yield Way(string, stopped, touched, node, sounding, stopped_mm, touched_mm, fingers, ease)


def _hand(span_mm: float, instrument: Instrument) -> tuple[tuple[tuple[str, ...], ...], Ease]:
    """Return the pairs of fingers that reach so far, the easiest first, and how easy that is.

    The stopping finger is the first or the thumb, which hold a string while another finger touches
    it (common practice); the pair is easiest that is the least of its own reach away.
    """
    pairs = [one for one in instrument.reach if one.fingers[0] in {"T", "1"}]
    able = [one for one in pairs if span_mm <= one.limit_mm]
    able.sort(key=lambda one: (span_mm > one.ordinary_mm, abs(span_mm / one.ordinary_mm - 0.85)))
    if not able:
        return (), Ease.OUT_OF_REACH
    ordinary = any(span_mm <= one.ordinary_mm for one in able)
    return tuple(one.fingers for one in able), Ease.ORDINARY if ordinary else Ease.WIDE
