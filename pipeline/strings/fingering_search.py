"""The best fingerings of a run of notes: a shortest path over (string, finger, hand place).

In come for each note the grips that are allowed, out go the N cheapest complete fingerings under
stated weights. A layered graph has one layer a note; the N best paths are kept at each state, a
standard extension of dynamic programming (textbooks: k shortest paths in an acyclic graph). Time is
linear in the notes: the states of a layer do not grow with their number.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from heapq import nsmallest
from operator import add

from pipeline.strings.frames import Hand
from pipeline.strings.grips import Grip
from pipeline.strings.hand_places import places_of, slide_mm

_UNIT = 100
"""Costs are counted in hundredths, as whole numbers, so that equal is equal."""

_NEVER = 10**15
"""The cost of what cannot be."""

_TABLES_KEPT = 400
"""So many tables of steps are kept; music comes back to the same notes."""


@dataclass(frozen=True)
class Weights:
    """What a fingering costs, all in millimetres of hand travel that it is held worth.

    `move` each move of the hand, `travel` each mm of it, or of a finger that goes on to the next
    note while the hand stays, `stretch` each mm that a finger is away from where it falls by
    itself, `string` each change of string, `height` each mm that the hand is away from the first
    position, note by note.
    """

    move: float = 30.0
    travel: float = 0.5
    stretch: float = 1.0
    string: float = 6.0
    height: float = 0.2


@dataclass(frozen=True)
class Suggestion:
    """A complete fingering: a grip for each note, and what it costs under the weights."""

    grips: tuple[Grip, ...]
    cost: float


@dataclass(frozen=True)
class Layer:
    """The grips allowed at a note.

    `holds` tells that the same notes as before go on without new digits, so that the grip stays,
    and `stays` that no digit is written here, so that the hand stays where that can be.
    """

    grips: tuple[Grip, ...]
    holds: bool = False
    stays: bool = False


_NEW_GRIP_ON_HELD = 1000.0
"""What it costs to take a note otherwise that goes on without a new digit."""

_MOVE_WITHOUT_DIGIT = 200.0
"""What it costs more to move the hand for a note without a digit."""

_FIRST_POSITION = 2
"""Place of the hand in the first position, in semitones."""


def best_fingerings(
    layers: Sequence[Layer], hand: Hand, weights: Weights = Weights(), count: int = 1
) -> tuple[Suggestion, ...]:
    """Return up to `count` different fingerings, the cheapest first.

    None at all where some layer has no grip. Ties are broken by the order of the grips.
    """
    if not layers or not all(layer.grips for layer in layers):
        return ()
    return _Search(hand, weights, count).run(layers)


def cost_of_grips(grips: Sequence[Grip], hand: Hand, weights: Weights) -> float:
    """Return what one complete fingering costs, the hand going the cheapest way."""
    found = best_fingerings([Layer((grip,)) for grip in grips], hand, weights)
    return found[0].cost if found else 0.0


@dataclass(frozen=True, eq=False)
class _States:
    """The states of a layer: number of the grip and place of the hand, with what each costs.

    With an open string the hand is wherever it was: at any place, or None, not yet anywhere.
    """

    grips: tuple[Grip, ...]
    states: tuple[tuple[int, int | None], ...]
    costs: tuple[int, ...]


Path = tuple[int, int]
"""Cost of a path and the number of its fingering."""


@dataclass
class _Fingerings:
    """Fingerings up to a note, each known by a number, so that equal ones are one."""

    parent: list[tuple[int, int]] = field(default_factory=lambda: [(-1, -1)])
    number: dict[tuple[int, int], int] = field(default_factory=dict)

    def extend(self, fingering: int, grip: int) -> int:
        key = fingering, grip
        found = self.number.get(key)
        if found is None:
            found = self.number[key] = len(self.parent)
            self.parent.append(key)
        return found

    def forget_keys(self) -> None:
        """Let go of what is only needed within one layer."""
        self.number.clear()

    def unfold(self, fingering: int) -> list[int]:
        grips = []
        while fingering:
            fingering, grip = self.parent[fingering]
            grips.append(grip)
        return grips[::-1]


class _Search:
    """One search, with tables of what has been computed for grips and for pairs of layers."""

    def __init__(self, hand: Hand, weights: Weights, count: int) -> None:
        self._hand, self._weights, self._count = hand, weights, count
        self._fingerings = _Fingerings()
        self._states: dict[tuple[Grip, ...], _States] = {}
        self._tables: dict[tuple[int, int, bool, bool], list[list[int]]] = {}

    def run(self, layers: Sequence[Layer]) -> tuple[Suggestion, ...]:
        """Return the cheapest fingerings through the layers."""
        before = self._states_of(layers[0].grips)
        heads: list[list[Path]] = [
            [(cost, self._fingerings.extend(0, grip))] if self._may_begin(before, n) else []
            for n, ((grip, _), cost) in enumerate(zip(before.states, before.costs, strict=True))
        ]
        for layer in layers[1:]:
            here = self._states_of(layer.grips)
            self._fingerings.forget_keys()
            heads = self._step(heads, here, self._table(before, here, layer))
            before = here
        cheapest: dict[int, int] = {}
        for paths in heads:
            for cost, fingering in paths:
                cheapest[fingering] = min(cost, cheapest.get(fingering, cost))
        best = nsmallest(self._count, ((cost, number) for number, cost in cheapest.items()))
        return tuple(self._suggestion(layers, cost, number) for cost, number in best)

    def _suggestion(self, layers: Sequence[Layer], cost: int, fingering: int) -> Suggestion:
        chosen = zip(layers, self._fingerings.unfold(fingering), strict=True)
        return Suggestion(tuple(layer.grips[number] for layer, number in chosen), cost / _UNIT)

    @staticmethod
    def _may_begin(states: _States, number: int) -> bool:
        grip, place = states.states[number]
        return place is None or bool(states.grips[grip].fingered)

    def _step(
        self, heads: list[list[Path]], here: _States, table: list[list[int]]
    ) -> list[list[Path]]:
        extend = self._fingerings.extend
        cheapest = [paths[0][0] if paths else _NEVER for paths in heads]
        reached: list[list[Path]] = []
        for (grip, _), own, row in zip(here.states, here.costs, table, strict=True):
            totals = list(map(add, cheapest, row))
            least = min(totals)
            if least >= _NEVER:
                reached.append([])
            elif self._count == 1:
                _, fingering = heads[totals.index(least)][0]
                reached.append([(least + own, extend(fingering, grip))])
            else:
                best = self._several(heads, totals, row)
                reached.append([(cost + own, extend(number, grip)) for cost, number in best])
        return reached

    def _several(self, heads: list[list[Path]], totals: list[int], row: list[int]) -> list[Path]:
        """Return the cheapest paths that come to a state, each fingering once.

        The states before are looked at from the cheapest on, until none can add anything.
        """
        found: dict[int, int] = {}
        best: list[Path] = []
        for state in sorted(range(len(totals)), key=totals.__getitem__):
            if totals[state] >= _NEVER or (
                len(best) == self._count and totals[state] > best[-1][0]
            ):
                break
            for cost, number in heads[state]:
                if cost + row[state] < found.get(number, _NEVER):
                    found[number] = cost + row[state]
            best = nsmallest(self._count, ((cost, number) for number, cost in found.items()))
        return best

    def _states_of(self, grips: tuple[Grip, ...]) -> _States:
        found = self._states.get(grips)
        if found is None:
            states: list[tuple[int, int | None]] = []
            costs: list[int] = []
            for number, grip in enumerate(grips):
                for place, cost in self._places(grip):
                    states.append((number, place))
                    costs.append(cost)
            found = self._states[grips] = _States(grips, tuple(states), tuple(costs))
        return found

    def _places(self, grip: Grip) -> list[tuple[int | None, int]]:
        places = places_of(grip, self._hand)
        if places is None:
            anywhere = range(self._hand.instrument.fingerboard_semitones + 5)
            return [(None, 0), *((place, 0) for place in anywhere)]
        return [
            (place, round(_UNIT * self._own(grip, place)))
            for place in range(places.low, places.high + 1)
        ]

    def _own(self, grip: Grip, place: int) -> float:
        height = self._hand.mm(place) - self._hand.mm(_FIRST_POSITION)
        strain = strain_mm(grip, place, self._hand)
        return self._weights.stretch * strain + self._weights.height * abs(height)

    def _table(self, before: _States, here: _States, layer: Layer) -> list[list[int]]:
        """Return for each state of `here` what it costs to come from each state of `before`."""
        key = id(before), id(here), layer.holds, layer.stays
        found = self._tables.get(key)
        if found is None:
            if len(self._tables) >= _TABLES_KEPT:
                self._tables.clear()
            pairs = {
                (old, new): self._pair(before.grips[old], here.grips[new], layer.holds)
                for old in range(len(before.grips))
                for new in range(len(here.grips))
            }
            move = self._weights.move + (_MOVE_WITHOUT_DIGIT if layer.stays else 0.0)
            found = self._tables[key] = [
                [self._cost(pairs[old, number], at, place, fingered, move)
                 for old, at in before.states]
                for number, place in here.states
                for fingered in [bool(here.grips[number].fingered)]
            ]  # fmt: skip
        return found

    def _pair(self, old: Grip, new: Grip, holds: bool) -> tuple[float, float, float]:
        """Return the cost of going from grip to grip, how far (mm) the hand slides, and what a
        finger costs that goes on while the hand stays."""
        cost = self._weights.string if old.strings != new.strings else 0.0
        if holds and old != new:
            cost += _NEW_GRIP_ON_HELD
        finger = self._weights.travel * finger_travel_mm(old, new, self._hand)
        return cost, slide_mm(old, new, self._hand), finger

    def _cost(
        self,
        pair: tuple[float, float, float],
        old: int | None,
        new: int | None,
        fingered: bool,
        move: float,
    ) -> int:
        cost, slide, finger = pair
        if not fingered:
            return round(_UNIT * cost) if old == new else _NEVER
        if old is None or new is None:
            return round(_UNIT * cost)
        if old == new and not slide:
            return round(_UNIT * (cost + finger))
        travel = max(self._hand.between(old, new), slide)
        return round(_UNIT * (cost + move + self._weights.travel * travel))


def finger_travel_mm(old: Grip, new: Grip, hand: Hand) -> float:
    """Return how far (mm) the finger that goes furthest goes on to another place for its next
    note, on whichever string: a low first finger that becomes a high one."""
    ways = (
        hand.between(one.semitones, other.semitones)
        for one in old.fingered
        for other in new.fingered
        if one.finger == other.finger
    )
    return max(ways, default=0.0)


def strain_mm(grip: Grip, place: int, hand: Hand) -> float:
    """Return how far (mm) the finger that is worst off is from where it falls by itself."""
    return max(
        (hand.strain(stop.finger, stop.semitones, place) for stop in grip.fingered), default=0.0
    )
