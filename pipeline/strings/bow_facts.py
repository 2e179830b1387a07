"""What a bowing comes to: how many strokes, which way, how long, and whether a bow lasts so long.

In come strokes, the pace and the measures of a bow, out go figures for remarks and checks.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction

from pipeline.score.model import Event
from pipeline.strings.bow import Direction, Stroke
from pipeline.strings.instruments import Bow
from pipeline.strings.pace import Pace


@dataclass(frozen=True)
class BowFacts:
    """Figures about the strokes of a place.

    `longest` and `shortest` are seconds, None where no tempo is known. `too_long` are the strokes
    that would have to be drawn more slowly than the bow is drawn at all, with their seconds, and
    `lasts` the seconds that the bow lasts then. `shortest_takes` is the greatest part of the hair
    (up to 1) that the shortest stroke can take, drawn as fast as the bow ever is. `up_on_strong`
    are the notes on the first beat of a bar that an up bow begins: unusual, "with many exceptions"
    (K. W. Gehrkens, *Essentials in Conducting*, 1919).
    """

    strokes: int
    begins: Direction | None
    ends: Direction | None
    longest: Fraction | None
    shortest: Fraction | None
    lasts: Fraction | None
    shortest_takes: Fraction | None
    too_long: tuple[tuple[Stroke, Fraction], ...]
    up_on_strong: tuple[Event, ...]


def longest_bow(bow: Bow) -> Fraction:
    """Return how many seconds a bow lasts that is drawn as slowly as it ever is."""
    return Fraction(bow.usable_hair_mm) / Fraction(bow.slowest_mm_per_s)


def _part_of_hair(bow: Bow, seconds: Fraction) -> Fraction:
    return min(Fraction(1), seconds * Fraction(bow.fastest_mm_per_s) / Fraction(bow.usable_hair_mm))


def bow_facts(strokes: Sequence[Stroke], pace: Pace, bow: Bow | None) -> BowFacts:
    """Return the figures; `bow` is None where the instrument is not known.

    That a stroke is too short for all of the hair is nothing unusual: it takes a part of it.
    """
    told = [(stroke, pace.seconds(stroke.sounds)) for stroke in strokes]
    seconds = [length for _, length in told if length is not None]
    timed = len(seconds) == len(strokes) > 0
    shortest = min(seconds) if timed else None
    lasts = None if bow is None else longest_bow(bow)
    return BowFacts(
        strokes=len(strokes),
        begins=strokes[0].direction if strokes else None,
        ends=strokes[-1].direction if strokes else None,
        longest=max(seconds) if timed else None,
        shortest=shortest,
        lasts=lasts,
        shortest_takes=None if bow is None or shortest is None else _part_of_hair(bow, shortest),
        too_long=tuple(
            (stroke, length)
            for stroke, length in told
            if lasts is not None and length is not None and length > lasts
        ),
        up_on_strong=tuple(
            stroke.sounds[0].main
            for stroke in strokes
            if stroke.direction is Direction.UP and stroke.sounds[0].main.onset == 0
        ),
    )
