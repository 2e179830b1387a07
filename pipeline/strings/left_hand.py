"""The left hand in a run of notes: which finger on which string, where the hand is, what it does.

In come the notes of a place with the fingers written for them, out go grips for all notes, the way
of the hand and its facts. What is not written is inferred and counted as such: a string that is
named holds until the run leaves it, a note without a digit leaves the hand where it is, and where
several grips remain the cheapest fingering of the whole run is taken (see `fingering_search`).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from itertools import pairwise

from pipeline.edition.fingers import Finger, Fingering
from pipeline.score.model import Event, Marking, MarkingKind
from pipeline.strings.fingering_search import Layer, Weights, best_fingerings
from pipeline.strings.frames import Hand, Places
from pipeline.strings.grips import Grip, grips_of, tones_of
from pipeline.strings.hand_faults import (
    HandFault,
    faults_of_grip,
    feasible,
    why_there_is_no_grip,
)
from pipeline.strings.hand_places import (
    Travelled,
    least_moves,
    places_of,
    slide_mm,
    way_of_least_moves,
)

_AS_READ = Weights(move=60.0, height=0.5)
"""Where nothing is named a player looks for a note low on the string first (practice)."""


@dataclass(frozen=True)
class PlacedNote:
    """A note or chord with the grip it is taken with; `grip` is None where none agrees.

    `inferred` tells that what is written leaves several grips, of which one was chosen.
    """

    event: Event
    written: tuple[Finger, ...]
    grip: Grip | None
    inferred: bool


@dataclass(frozen=True)
class HandFacts:
    """What the left hand does in a run.

    `moves` is the least number of moves that these fingers need, `travel_mm` the least travel for
    that many moves, `moves_under_slurs` how many of them no change of bow covers.
    `widest_in_place_mm` is the widest distance between two fingers while the hand stays in one
    place, `widest_double_stop_mm` that between fingers that are down together (0 where there are
    none). `string_changes` counts the steps to other strings, `inferred` the notes of which finger
    or string had to be inferred.
    """

    moves: int
    travel_mm: float
    moves_under_slurs: int
    widest_in_place_mm: float
    widest_double_stop_mm: float
    string_changes: int
    notes: int
    inferred: int

    @property
    def share_under_slurs(self) -> float:
        """The fraction of the moves that fall under a slur, 0 where the hand never moves."""
        return self.moves_under_slurs / self.moves if self.moves else 0.0


@dataclass(frozen=True)
class LeftHand:
    """A run of notes as one fingering takes it.

    `places` has the place of the hand for each note, in semitones above the open strings: where the
    hand was last where only open strings sound, None before it has come to any place. `moved` tells
    for each note whether the hand has moved to come there, `slurred` whether under a slur.
    """

    notes: tuple[PlacedNote, ...]
    places: tuple[int | None, ...]
    moved: tuple[bool, ...]
    slurred: tuple[bool, ...]
    facts: HandFacts
    faults: tuple[HandFault, ...]


def place_run(
    events: Sequence[Event], fingering: Sequence[Fingering], hand: Hand
) -> tuple[PlacedNote, ...]:
    """Return each note with its grip; entries beyond the notes, or notes beyond, are left out."""
    run = list(zip(events, fingering, strict=False))
    read = _read(run, hand)
    grips = iter(_chosen([layer for layer, _ in read if layer.grips], hand))
    return tuple(
        PlacedNote(event, entry.fingers, next(grips) if layer.grips else None, inferred)
        for (event, entry), (layer, inferred) in zip(run, read, strict=True)
    )


def _chosen(layers: list[Layer], hand: Hand) -> tuple[Grip, ...]:
    best = best_fingerings(layers, hand, _AS_READ)
    return best[0].grips if best else ()


def _read(run: list[tuple[Event, Fingering]], hand: Hand) -> list[tuple[Layer, bool]]:
    """Return for each note the grips that agree, and whether one of them is to be inferred."""
    held = _Held(hand)
    found: list[tuple[Layer, bool]] = []
    before: Event | None = None
    inferred = False
    for event, entry in run:
        grips = held.grips(event, entry.fingers)
        possible = tuple(grip for grip in grips if feasible(grip, hand)) or grips
        goes_on = not entry.fingers and before is not None and _notes(event) == _notes(before)
        inferred = inferred if goes_on else len(possible) > 1
        found.append((Layer(possible, goes_on, stays=not entry.fingers), inferred))
        before = event
    return found


def _notes(event: Event) -> list[tuple[int, str]]:
    return sorted((head.pitch.midi, head.shape) for head in event.heads)


class _Held:
    """What holds from note to note: the strings named last, and the fingers of a harmonic."""

    def __init__(self, hand: Hand) -> None:
        self._hand = hand
        self._strings: frozenset[int] = frozenset()
        self._harmonic: tuple[Finger, ...] = ()

    def grips(self, event: Event, written: tuple[Finger, ...]) -> tuple[Grip, ...]:
        """Return the grips for the next note and keep what holds on."""
        tones = tones_of(event)
        fingers = written
        stopped_harmonic = len(tones) == 1 and tones[0].touched is not None
        if stopped_harmonic and not written:
            fingers = self._harmonic
        if stopped_harmonic and fingers:
            self._harmonic = tuple(f.model_copy(update={"string": ""}) for f in fingers)
        named = any(finger.string for finger in fingers)
        if not named and len(self._strings) == len(tones):
            on_held = grips_of(event, fingers, self._hand, self._strings)
            on_held = tuple(grip for grip in on_held if feasible(grip, self._hand))
            if on_held:
                return on_held
        grips = grips_of(event, fingers, self._hand)
        strings = {grip.strings for grip in grips}
        self._strings = next(iter(strings)) if named and len(strings) == 1 else frozenset()
        return grips


def left_hand(
    events: Sequence[Event],
    fingering: Sequence[Fingering],
    slurs: Sequence[Marking],
    hand: Hand,
) -> LeftHand:
    """Return what the left hand does in a run under one fingering. Linear in the notes.

    `slurs` are markings of the passage; those of other kinds are passed over.
    """
    return _through(place_run(events, fingering, hand), slurs, hand)


def hand_through(
    events: Sequence[Event], grips: Sequence[Grip], slurs: Sequence[Marking], hand: Hand
) -> LeftHand:
    """Return what the left hand does where the grips of all notes are known."""
    pairs = zip(events, grips, strict=True)
    placed = tuple(PlacedNote(event, (), grip, inferred=False) for event, grip in pairs)
    return _through(placed, slurs, hand)


def _through(placed: tuple[PlacedNote, ...], slurs: Sequence[Marking], hand: Hand) -> LeftHand:
    faults = tuple(_faults(placed, hand))
    run = _Run(placed, hand, _Legato(slurs))
    facts = HandFacts(
        moves=least_moves(run.intervals, [slide > 0 for slide in run.slides]),
        travel_mm=sum(run.way.steps_mm),
        moves_under_slurs=sum(
            moved and tied for moved, tied in zip(run.way.moved, run.legato, strict=True)
        ),
        widest_in_place_mm=run.widest_in_place(),
        widest_double_stop_mm=max((_spread(grip, hand) for grip in run.grips), default=0.0),
        string_changes=sum(one.strings != other.strings for one, other in pairwise(run.grips)),
        notes=len(placed),
        inferred=sum(note.inferred for note in placed),
    )
    slurred = [moved and tied for moved, tied in zip(run.way.moved, run.legato, strict=True)]
    return LeftHand(
        placed, run.places(), run.at_notes(run.way.moved), run.at_notes(slurred), facts, faults
    )


def _faults(placed: tuple[PlacedNote, ...], hand: Hand) -> list[HandFault]:
    found: list[HandFault] = []
    for index, note in enumerate(placed):
        if note.grip is None:
            found.append(why_there_is_no_grip(index, note.event, note.written, hand))
        else:
            found += faults_of_grip(index, note.grip, hand)
    return found


class _Legato:
    """The slurs over the notes: which of them lead from one note to a later one."""

    def __init__(self, markings: Sequence[Marking]) -> None:
        self._slurs = sorted(
            (marking.start, marking.end)
            for marking in markings
            if marking.kind is MarkingKind.SLUR and marking.end is not None
        )

    def between(self, notes: Sequence[Event]) -> list[bool]:
        """Return for each step from note to note whether a slur covers both. Notes in order."""
        covered: list[bool] = []
        started = 0
        furthest = None
        for one, other in pairwise(notes):
            while started < len(self._slurs) and self._slurs[started][0] <= one.start:
                end = self._slurs[started][1]
                furthest = end if furthest is None else max(furthest, end)
                started += 1
            covered.append(furthest is not None and furthest >= other.start)
        return covered


class _Run:
    """The grips of a run that lie on strings, and the way of the hand through them."""

    def __init__(self, placed: tuple[PlacedNote, ...], hand: Hand, legato: _Legato) -> None:
        self._placed, self._hand = placed, hand
        taken = [(note.event, note.grip) for note in placed if note.grip is not None]
        self.grips = [grip for _, grip in taken]
        down: list[tuple[int, Event, Grip, Places]] = []
        for number, (event, grip) in enumerate(taken):
            places = places_of(grip, hand)
            if places is not None:
                down.append((number, event, grip, places))
        self.intervals = [places for *_, places in down]
        self._down = [grip for _, _, grip, _ in down]
        self.slides = [
            slide_mm(one[2], other[2], hand) if other[0] == one[0] + 1 else 0.0
            for one, other in pairwise(down)
        ]
        self.legato = legato.between([event for _, event, _, _ in down])

    @cached_property
    def way(self) -> Travelled:
        """The way of least moves through the places."""
        return way_of_least_moves(self.intervals, self.slides, self.legato, self._hand)

    def widest_in_place(self) -> float:
        """Return the widest distance (mm) between two fingers while the hand stays."""
        widest = 0.0
        least: dict[str, float] = {}
        most: dict[str, float] = {}
        for index, grip in enumerate(self._down):
            if index and self.way.moved[index - 1]:
                least, most = {}, {}
            for stop in grip.fingered:
                at = self._hand.mm(stop.semitones)
                least[stop.finger] = min(at, least.get(stop.finger, at))
                most[stop.finger] = max(at, most.get(stop.finger, at))
            widest = max(
                widest,
                *(most[a] - least[b] for a in most for b in least if a != b),
                0.0,
            )
        return widest

    def places(self) -> tuple[int | None, ...]:
        """Return the place of the hand at each note of the run."""
        way = iter(self.way.places)
        found: list[int | None] = []
        at: int | None = None
        for note in self._placed:
            if note.grip is not None and note.grip.fingered:
                at = next(way)
            found.append(at)
        return tuple(found)

    def at_notes(self, steps: Sequence[bool]) -> tuple[bool, ...]:
        """Return for each note of the run what holds of the step of the hand that leads there."""
        of_step = iter((False, *steps))
        return tuple(
            next(of_step) if note.grip is not None and note.grip.fingered else False
            for note in self._placed
        )


def _spread(grip: Grip, hand: Hand) -> float:
    at = [hand.mm(stop.semitones) for stop in grip.fingered]
    return max(at) - min(at) if at else 0.0
