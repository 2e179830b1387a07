"""Where the hand is: the places that a grip allows, slides, and the way of least moves.

In come grips in the order of the music, out goes the place of the hand at each. Everything here is
linear in the number of grips.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import reduce
from itertools import pairwise

from pipeline.strings.frames import Hand, Places
from pipeline.strings.grips import Grip

_FRAMES = (frozenset({"1", "4"}), frozenset({"T", "3"}))
"""The fingers that span the hand: octaves are taken by them (common practice, no source)."""

_OTHER_SLIDE = 2
"""From so many semitones on, other fingers that go on along their strings take the hand along."""


def places_of(grip: Grip, hand: Hand) -> Places | None:
    """Return where the hand may be for a grip; None where no finger is down.

    Where the fingers reach beyond their frame no place suits them all: the hand is then anywhere
    between the places that suit one and the other.
    """
    stops = grip.fingered
    if not stops:
        return None
    held = len({stop.finger for stop in stops}) > 1
    each = [hand.places(stop.finger, stop.semitones, held) for stop in stops]
    common = reduce(Places.__and__, each)
    return common if common else Places(common.high, common.low)


def slide_mm(before: Grip, after: Grip, hand: Hand) -> float:
    """Return how far the fingers slide from one grip to the next, 0 where that moves no hand.

    The hand goes along where all fingers of one of the two grips go the same way: the two that span
    the frame (octaves) by any distance and on any strings, others along their strings by more than
    a semitone (a first finger that goes from B flat to B is low, then high). So octaves that are
    all taken by 1 and 4 move the hand at every step (common practice, no source).
    """
    olds, news = _by_finger(before), _by_finger(after)
    fewer, more = (olds, news) if len(olds) <= len(news) else (news, olds)
    if not fewer or not fewer.keys() <= more.keys():
        return 0.0
    spanning = any(frame <= fewer.keys() for frame in _FRAMES)
    ways = []
    for finger in fewer:
        (old, old_strings), (new, new_strings) = olds[finger], news[finger]
        if not spanning and not old_strings & new_strings:
            return 0.0
        ways.append(new - old)
    least = 1 if spanning else _OTHER_SLIDE
    if all(way >= least for way in ways) or all(-way >= least for way in ways):
        return max(hand.between(olds[finger][0], news[finger][0]) for finger in fewer)
    return 0.0


def _by_finger(grip: Grip) -> dict[str, tuple[int, frozenset[int]]]:
    found: dict[str, tuple[int, frozenset[int]]] = {}
    for stop in grip.fingered:
        _, strings = found.get(stop.finger, (0, frozenset[int]()))
        found[stop.finger] = stop.semitones, strings | {stop.string}
    return found


def least_moves(places: Sequence[Places], slides: Sequence[bool]) -> int:
    """Return the least number of hand moves; `slides[i]` is set where one leads to place i + 1.

    Stabbing intervals with the fewest points, a standard greedy result (textbooks on algorithms
    have it under interval stabbing or activity selection), here for intervals in a fixed order: the
    hand stays for as long as the intervals so far have a place in common. Least, because each
    stretch from where the hand came to rest up to the note that made it go has no common place (or
    a slide inside it), so any fingering moves at least once within it, and no move lies within two
    such stretches.
    """
    moves = 0
    common: Places | None = None
    for index, here in enumerate(places):
        slid = index > 0 and slides[index - 1]
        stays = here if common is None else common & here
        if slid or not stays:
            moves += 1
            stays = here
        common = stays
    return moves


@dataclass(frozen=True)
class Travelled:
    """The hand on its way: its place at each grip, and for each step what it travels in mm."""

    places: tuple[int, ...]
    steps_mm: tuple[float, ...]
    moved: tuple[bool, ...]


def way_of_least_moves(
    places: Sequence[Places], slides_mm: Sequence[float], legato: Sequence[bool], hand: Hand
) -> Travelled:
    """Return the way with the least moves; among these the least travel, then fewest under slurs.

    A shortest path through the intervals, place by place (dynamic programming). A slide travels
    at least what the fingers slide. `legato[i]` tells that a slur leads
    from grip i to the next.
    """
    if not places:
        return Travelled((), (), ())
    costs: dict[int, tuple[int, float, int]] = dict.fromkeys(_all(places[0]), (0, 0.0, 0))
    back: list[dict[int, int]] = []
    for index, here in enumerate(places[1:]):
        reached: dict[int, tuple[int, float, int]] = {}
        came: dict[int, int] = {}
        for place in _all(here):
            options = [
                (_add(cost, _step(old, place, slides_mm[index], hand), legato[index]), old)
                for old, cost in costs.items()
            ]
            reached[place], came[place] = min(options)
        costs = reached
        back.append(came)
    last = min(costs, key=lambda place: (costs[place], place))
    way = [last]
    for came in reversed(back):
        way.append(came[way[-1]])
    way.reverse()
    steps = [
        _step(old, new, slide, hand)
        for (old, new), slide in zip(pairwise(way), slides_mm, strict=True)
    ]
    return Travelled(
        tuple(way), tuple(step or 0.0 for step in steps), tuple(step is not None for step in steps)
    )


def _step(old: int, new: int, slide: float, hand: Hand) -> float | None:
    """Return the travel of a move in mm, None where the hand stays."""
    if old == new and slide == 0:
        return None
    return max(hand.between(old, new), slide)


def _add(cost: tuple[int, float, int], step: float | None, legato: bool) -> tuple[int, float, int]:
    if step is None:
        return cost
    moves, travel, slurred = cost
    return moves + 1, round(travel + step, 6), slurred + legato


def _all(places: Places) -> range:
    return range(places.low, places.high + 1)
