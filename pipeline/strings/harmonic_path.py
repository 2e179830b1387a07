"""A way through a passage of harmonics: the ways of each note in, one for each note out.

Of the ways that serve an aim equally well those are taken between which the hand travels least.
The hand's place is that of its stopping (or first) finger, on a grid of semitones; a natural
harmonic may be touched by any finger that reaches it from there. Shortest path through layers, one
a note (R. Bellman, *Dynamic Programming*, 1957): linear in the number of notes.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from enum import StrEnum
from itertools import pairwise
from operator import add

from pipeline.strings.geometry import distance_mm
from pipeline.strings.harmonic_ways import Ease, Way
from pipeline.strings.instruments import Instrument

FINGERTIP_MM = 5
"""A finger touches so far beside the place it stands on without the hand moving (memory)."""

SUREST_PARTIAL = 6
"""Higher partials are suggested only where nothing else sounds: they speak unsurely (practice)."""

SAME_SPAN_MM = 1
"""Spans that differ by less are one to the hand; the nodes of a pitch on one string lie evenly, so
that a touched fourth and a touched fifth differ there by what tempering adds."""

_SELDOM = "octave"
"""A touched octave is "never used" (F. H. Martens, *Violin Mastery*, 1919): it is not suggested."""


class Aim(StrEnum):
    """What a way through a passage is to serve."""

    BRILLIANCE = "brilliance"
    SMALLEST_STRETCH = "smallest stretch"
    FEWEST_MOVES = "fewest moves"
    NATURAL = "natural where possible"
    LEAST_TRAVEL = "least travel"


@dataclass(frozen=True)
class Step:
    """One note of the way: how it is sounded, by which fingers, and where the hand then is.

    `place_mm` is the place of the stopping finger, or of the first finger where nothing is
    stopped, from the nut; `moved_mm` how far the hand came for it, 0 for the first note.
    """

    way: Way
    fingers: tuple[str, ...]
    place_mm: float
    moved_mm: float


@dataclass(frozen=True)
class Through:
    """A way through a passage, one step a note."""

    steps: tuple[Step, ...]

    @property
    def moves(self) -> int:
        """How often the hand moves."""
        return sum(step.moved_mm > 0 for step in self.steps)

    @property
    def travel_mm(self) -> float:
        """How far the hand moves along the string in all."""
        return sum(step.moved_mm for step in self.steps)

    @property
    def widest_mm(self) -> float:
        """The widest span between two fingers."""
        return max((step.way.span_mm for step in self.steps), default=0.0)

    @property
    def narrowest_mm(self) -> float:
        """The narrowest span of the stopped harmonics; 0 where there is none."""
        return min((s.way.span_mm for s in self.steps if not s.way.natural), default=0.0)

    @property
    def string_changes(self) -> int:
        """How often the string changes from one note to the next."""
        return sum(one.way.string != other.way.string for one, other in pairwise(self.steps))


@dataclass(frozen=True)
class _State:
    """A way with the fingers that do it and the place of the hand (tenths of a millimetre)."""

    way: Way
    fingers: tuple[str, ...]
    place: int


_Layer = tuple[_State, ...]

_DIGITS = 40
"""Bits of one number in a cost; no passage is so long that a sum would need more."""


def way_through(notes: Sequence[Iterable[Way]], instrument: Instrument, aim: Aim) -> Through | None:
    """Return the best way through the notes, or None where one of them cannot be sounded at all.

    Ways that no hand reaches are never taken, those for a wide hand only where there is no other.
    """
    known: dict[tuple[Way, ...], _Layer] = {}  # a passage comes back to its pitches
    layers: list[_Layer] = []
    for ways in map(tuple, notes):
        if ways not in known:
            known[ways] = tuple(_states(_serving(ways, aim), instrument))
        layers.append(known[ways])
    return Through(_steps(layers, aim)) if all(layers) else None


def _serving(ways: Iterable[Way], aim: Aim) -> list[Way]:
    """Return the ways of one note that serve the aim best; what is left is a matter of travel."""
    possible = [way for way in ways if way.ease.possible]
    usual = [way for way in possible if way.interval != _SELDOM] or possible
    worth = [(_worth(way, aim), way) for way in usual]
    least = min((cost for cost, _ in worth), default=())
    serving = [way for cost, way in worth if cost == least]
    if aim is not Aim.SMALLEST_STRETCH:
        return serving
    narrowest = min((way.span_mm for way in serving), default=0.0)
    return [way for way in serving if way.span_mm <= narrowest + SAME_SPAN_MM]


def _worth(way: Way, aim: Aim) -> tuple[int, ...]:
    unsure = not way.in_tune or way.partial > SUREST_PARTIAL
    common = (int(unsure), int(way.ease is Ease.WIDE))
    match aim:
        case Aim.BRILLIANCE:
            return (*common, way.partial, int(not way.natural))
        case Aim.NATURAL:
            return (*common, int(not way.natural))
        case _:
            return common


def _states(ways: Iterable[Way], instrument: Instrument) -> list[_State]:
    return [state for way in ways for state in _states_of(way, instrument)]


def _states_of(way: Way, instrument: Instrument) -> Iterable[_State]:
    if not way.natural:
        yield _State(way, way.fingers[0], round(10 * way.stopped_mm))
        return
    for semitone in range(1, instrument.fingerboard_semitones + 1):
        place_mm = distance_mm(instrument, semitone)
        finger = _touching(way.touched_mm - place_mm, instrument)
        if finger is not None:
            yield _State(way, (finger,), round(10 * place_mm))


def _touching(beyond_mm: float, instrument: Instrument) -> str | None:
    """Return the finger that touches so far beyond the first one, in an ordinary hand."""
    if abs(beyond_mm) <= FINGERTIP_MM:
        return "1"
    for finger in ("2", "3", "4"):
        stretch = instrument.stretch("1", finger)
        if stretch is not None and 0 < beyond_mm <= stretch.ordinary_mm:
            return finger
    return None


def _steps(layers: Sequence[_Layer], aim: Aim) -> tuple[Step, ...]:
    """Return the cheapest path, one state a layer. Costs between two layers are worked out once."""
    if not layers:
        return ()
    costs = [state.place for state in layers[0]]
    back: list[list[int]] = []
    tables: dict[tuple[int, int], list[list[int]]] = {}
    for before, layer in pairwise(layers):
        pair = (id(before), id(layer))
        if pair not in tables:
            tables[pair] = [[_between(one, state, aim) for one in before] for state in layer]
        arrivals = [list(map(add, costs, row)) for row in tables[pair]]
        costs = [min(arrival) for arrival in arrivals]
        back.append([arrival.index(c) for arrival, c in zip(arrivals, costs, strict=True)])
    at = costs.index(min(costs))
    path = [at]
    for arrived_from in reversed(back):
        at = arrived_from[at]
        path.append(at)
    states = [layer[at] for layer, at in zip(layers, reversed(path), strict=True)]
    places = [states[0].place, *(state.place for state in states)]
    return tuple(
        Step(state.way, state.fingers, state.place / 10, abs(state.place - came) / 10)
        for state, came in zip(states, places, strict=False)
    )


def _between(one: _State, other: _State, aim: Aim) -> int:
    """Return what it costs to go from one state to another, as one number.

    Its digits, the weightiest first: moves and travel in the order of the aim, string changes, the
    place arrived at (low positions are surer: common practice, no source).
    """
    travel = abs(other.place - one.place)
    moved, crossed = int(travel > 0), int(one.way.string != other.way.string)
    first, second = (moved, travel) if aim is Aim.FEWEST_MOVES else (travel, moved)
    return (((first << _DIGITS | second) << _DIGITS | crossed) << _DIGITS) | other.place
