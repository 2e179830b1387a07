"""Suggested fingerings of a passage, and where the fingerings that are written stand among them.

In come notes and wishes, out go the cheapest complete fingerings with what the hand does in each,
and the cost of those that are written. They are proposals for a player to try: the search knows
distances, not sound, and nothing of it enters an edition.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

from pipeline.edition.fingers import THUMB
from pipeline.score.model import Event, Marking
from pipeline.strings.fingering_search import Layer, Weights, best_fingerings, cost_of_grips
from pipeline.strings.frames import Hand
from pipeline.strings.grips import Grip, Stop, grips_of
from pipeline.strings.hand_faults import feasible, why_there_is_no_grip
from pipeline.strings.instruments import Instrument
from pipeline.strings.left_hand import LeftHand, hand_through

_TIED = frozenset({"m", "t"})


@dataclass(frozen=True)
class Wishes:
    """What a suggestion is to heed.

    The weights, whether open strings may sound, and the strings (indexes, 0 the highest) to stay
    on, None for all of them.
    """

    weights: Weights = field(default_factory=Weights)
    open_strings: bool = True
    strings: frozenset[int] | None = None


@dataclass(frozen=True)
class Suggested:
    """A suggestion: its cost, what the hand does, and its fingers in the notation of records."""

    cost: float
    hand: LeftHand
    fingers: str


@dataclass(frozen=True)
class Suggestions:
    """The cheapest fingerings, or the notes (indexes) that none could be found for, and why."""

    best: tuple[Suggested, ...]
    without_any: tuple[tuple[int, str], ...] = ()


def suggest(
    events: Sequence[Event], slurs: Sequence[Marking], hand: Hand, wishes: Wishes, count: int
) -> Suggestions:
    """Return up to `count` fingerings, the cheapest first. Time is linear in the notes."""
    layers = [_layer(event, hand, wishes) for event in events]
    missing = tuple(
        (index, _why_none(event, hand))
        for index, (event, layer) in enumerate(zip(events, layers, strict=True))
        if not layer.grips
    )
    found = best_fingerings(layers, hand, wishes.weights, count)
    return Suggestions(
        tuple(
            Suggested(
                one.cost,
                hand_through(events, one.grips, slurs, hand),
                written_out(one.grips, hand.instrument),
            )
            for one in found
        ),
        missing,
    )


def cost_of(run: LeftHand, hand: Hand, weights: Weights) -> float | None:
    """Return what a fingering costs under the weights, None where a note of it has no grip."""
    grips = [note.grip for note in run.notes if note.grip is not None]
    return cost_of_grips(grips, hand, weights) if len(grips) == len(run.notes) else None


def rank_of(cost: float, best: Sequence[Suggested]) -> int | None:
    """Return the rank from 1 of a cost among the suggestions, None where it is beyond the last."""
    if not best or cost > best[-1].cost:
        return None
    return 1 + sum(one.cost < cost for one in best)


def _layer(event: Event, hand: Hand, wishes: Wishes) -> Layer:
    grips = tuple(
        grip
        for grip in grips_of(event, (), hand, wishes.strings)
        if feasible(grip, hand) and (wishes.open_strings or not _sounds_open(grip))
    )
    tied = bool(event.heads) and all(head.tie in _TIED for head in event.heads)
    return Layer(grips, holds=tied)


def _why_none(event: Event, hand: Hand) -> str:
    if any(feasible(grip, hand) for grip in grips_of(event, (), hand)):
        return "every way to take it needs an open string or another string"
    if grips_of(event, (), hand):
        return "it lies too wide for a hand"
    return why_there_is_no_grip(0, event, (), hand).message


def _sounds_open(grip: Grip) -> bool:
    return any(stop.open for stop in grip.stops)


def written_out(grips: Sequence[Grip], instrument: Instrument) -> str:
    """Return the grips in the short notation of records, strings named where they change."""
    entries: list[str] = []
    before: frozenset[int] = frozenset()
    for grip in grips:
        named = grip.strings != before
        fingers = _fingers(grip, named, instrument)
        entries.append(fingers[0] if len(fingers) == 1 else f"[{', '.join(fingers)}]")
        before = grip.strings
    return ", ".join(entries)


def _fingers(grip: Grip, named: bool, instrument: Instrument) -> list[str]:
    fingers: list[str] = []
    by_string: dict[int, list[Stop]] = {}
    for stop in grip.stops:
        by_string.setdefault(stop.string, []).append(stop)
    for string, (stop, *above) in by_string.items():
        said = _digit(stop.finger)
        if above:
            said += f" touch {_digit(above[0].finger)}"
        elif stop.touched:
            said = f"touch {said}"
        fingers.append(f"{said} on {instrument.strings[string].step}" if named else said)
    return fingers


def _digit(finger: str) -> str:
    return {"0": "open", THUMB: "thumb"}.get(finger, finger)
