"""The command `fingerings`: a record and wishes in, the lines that answer it out.

Nothing is printed here, and nothing is written into the edition.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

from pipeline.desk.columns import columns
from pipeline.desk.record_place import RecordPlace, record_place
from pipeline.edition.quoting import quoted
from pipeline.edition.records import FingeringRecord
from pipeline.problems import Origin, Outcome, error
from pipeline.score.model import Marking
from pipeline.score.resolve import note_name
from pipeline.strings.fingering_ranking import (
    Suggested,
    Suggestions,
    Wishes,
    cost_of,
    rank_of,
    suggest,
)
from pipeline.strings.frames import Hand
from pipeline.strings.hand_faults import CAUTION, FaultKind
from pipeline.strings.instruments import find_instrument
from pipeline.strings.left_hand import LeftHand, left_hand

_HEADINGS = (
    "moves", "travel mm", "under slurs", "widest in one place mm", "widest double stop mm",
    "changes of string", "inferred",
)  # fmt: skip

_ONLY_DISTANCES = (
    "Suggestions weigh distances, not sound; try them slowly. They never enter the edition."
)


@dataclass(frozen=True)
class _Passage:
    """The place with the hand that plays there, and the fingerings that are written for it."""

    place: RecordPlace
    hand: Hand
    slurs: tuple[Marking, ...]
    written: tuple[tuple[str, LeftHand], ...]


def fingering_lines(
    folder: Path, record: str, wishes: Wishes, on: str | None, count: int
) -> Outcome[tuple[str, ...]]:
    """Return what the hand does in each fingering of a record, and `count` suggestions beside it.

    `on` names a string to stay on. A record of another kind has no fingering of its own: then only
    suggestions are made.
    """
    found = record_place(folder, record)
    if found.value is None:
        return Outcome(None, found.problems)
    head = found.value.edition.head
    origin = found.value.edition.head_origins.at("edited_staff", "instrument")
    instrument = find_instrument(head.edited_staff.instrument, origin)
    if instrument.value is None:
        return Outcome(None, instrument.problems)
    if on is not None:
        pitch = instrument.value.string(on)
        if pitch is None:
            names = ", ".join(instrument.value.string_names)
            message = f"the {instrument.value.name} has no string {quoted(on)}"
            remedy = f"Its strings are {names}."
            return Outcome(None, (error("unknown-string", Origin("--on"), message, remedy),))
        wishes = replace(wishes, strings=frozenset({instrument.value.strings.index(pitch)}))
    passage = _passage(found.value, Hand(instrument.value))
    lines = [*_head(passage), "", *_written(passage)]
    if count:
        made = suggest(found.value.span.notes, passage.slurs, passage.hand, wishes, count)
        lines += ["", *_suggested(passage, made, wishes)]
    return Outcome(tuple(lines), found.problems)


def _passage(place: RecordPlace, hand: Hand) -> _Passage:
    slurs = tuple(m for m in place.movement.passage.markings if m.staff == place.span.staff)
    record = place.filed.record
    alternatives = record.alternatives if isinstance(record, FingeringRecord) else ()
    return _Passage(
        place,
        hand,
        slurs,
        tuple(
            (one.name, left_hand(place.span.notes, one.fingers, slurs, hand))
            for one in alternatives
        ),
    )


def _head(passage: _Passage) -> Iterator[str]:
    count = len(passage.place.span.notes)
    notes = "1 note or chord" if count == 1 else f"{count} notes or chords"
    yield f"{passage.place.filed.record.id}: {notes} on the {passage.hand.instrument.name}"


def _written(passage: _Passage) -> Iterator[str]:
    if not passage.written:
        yield "The record has no fingering of its own."
        return
    rows = [(name, *_row(run)) for name, run in passage.written]
    yield from columns(("fingering", *_HEADINGS), rows)
    for name, run in passage.written:
        for fault in run.faults:
            yield f"  {name}, {_where(passage, fault.index)}: {fault.message}"
    kinds = {fault.kind for _, run in passage.written for fault in run.faults}
    if FaultKind.WIDE_STRETCH in kinds:
        yield f"  {CAUTION}"


def _suggested(passage: _Passage, made: Suggestions, wishes: Wishes) -> Iterator[str]:
    if not made.best:
        yield "No complete fingering could be found under these wishes."
        for index, why in made.without_any:
            yield f"  {_where(passage, index)}: {why}"
        return
    weights = wishes.weights
    yield (
        f"Suggestions; a move weighs {weights.move:g}, a mm of travel {weights.travel:g}, of "
        f"stretch {weights.stretch:g}, of height {weights.height:g}, a change of string "
        f"{weights.string:g}"
    )
    rows = [
        (str(rank), f"{one.cost:.0f}", *_row(one.hand)) for rank, one in enumerate(made.best, 1)
    ]
    yield from columns(("rank", "cost", *_HEADINGS), rows)
    for rank, one in enumerate(made.best, 1):
        yield f"  {rank}: {one.fingers}"
    for name, run in passage.written:
        yield f"  {name}: {_standing(run, made.best, passage.hand, wishes)}"
    stretched = any(one.hand.faults for one in made.best)
    yield f"  {CAUTION}" if stretched else f"  {_ONLY_DISTANCES}"
    if stretched:
        yield f"  {_ONLY_DISTANCES}"


def _standing(run: LeftHand, best: Sequence[Suggested], hand: Hand, wishes: Wishes) -> str:
    """Return where a written fingering stands in the ranking."""
    cost = cost_of(run, hand, wishes.weights)
    if cost is None:
        return "has notes that cannot be taken as they are written"
    rank = rank_of(cost, best)
    if rank is not None:
        return f"would have rank {rank}, at a cost of {cost:.0f}"
    return (
        f"costs {cost:.0f}, {cost - best[0].cost:.0f} more than the first and beyond the "
        f"{len(best)} shown"
    )


def _row(run: LeftHand) -> tuple[str, ...]:
    facts = run.facts
    return (
        str(facts.moves),
        f"{facts.travel_mm:.0f}",
        str(facts.moves_under_slurs),
        f"{facts.widest_in_place_mm:.0f}",
        f"{facts.widest_double_stop_mm:.0f}" if facts.widest_double_stop_mm else "",
        str(facts.string_changes),
        str(facts.inferred) if facts.inferred else "",
    )


def _where(passage: _Passage, index: int) -> str:
    event = passage.place.span.notes[index]
    bar = passage.place.movement.passage.bars[event.bar]
    return f"bar {bar.n}, note {event.number}, {note_name(event)}"
