"""A movement and a bar number in, one row for each thing that stands in the bar out.

What `apparatus places` prints, so that a person can write the place of a record.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

from pipeline.score.model import Bar, Event, EventKind, Marking, Movement, Passage
from pipeline.score.pitch_names import helmholtz, scientific

_NAMES = {"1": "whole", "2": "half", "4": "quarter", "breve": "double whole"}


@dataclass(frozen=True)
class ListedEvent:
    """One row: `note` counts as `Place.note` does and is None for rests.

    `beat` counts from 1 as `Place.beat` does; `pitches` are Helmholtz names and `scientific` the
    same in scientific notation, low to high; `markings` are those that begin or lie at this event.
    """

    staff: int
    staff_label: str
    voice: int
    beat: Fraction
    note: int | None
    kind: EventKind
    pitches: tuple[str, ...]
    scientific: tuple[str, ...]
    value: str
    xml_id: str
    markings: tuple[str, ...]


def bar_listing(movement: Movement, bar: str) -> tuple[ListedEvent, ...]:
    """Return the rows of every bar of that printed number, staff by staff, by onset and voice.

    Empty where the movement has no such bar.
    """
    passage = movement.passage
    rows: list[ListedEvent] = []
    for found in passage.bars:
        if found.n == bar:
            for staff in passage.staves:
                rows += _staff_rows(passage, found, staff.n, staff.label)
    return tuple(rows)


def value_name(event: Event) -> str:
    """Return the note value in words, such as "dotted quarter", "16th" or "whole bar"."""
    if not event.written:
        return "whole bar"
    value = event.written.rstrip(".")
    dots = len(event.written) - len(value)
    name = _NAMES.get(value, f"{value}{'nd' if value.endswith('2') else 'th'}")
    dotted = {0: "", 1: "dotted ", 2: "double-dotted "}.get(dots, f"{dots}-dotted ")
    tuplet = f" ({event.tuplet})" if event.tuplet else ""
    return f"{'grace ' if event.grace else ''}{dotted}{name}{tuplet}"


def _staff_rows(passage: Passage, bar: Bar, staff: int, label: str) -> list[ListedEvent]:
    events = passage.events_in.get((staff, bar.index), ())
    markings = passage.markings_in.get((staff, bar.index), ())
    by_event: dict[str, list[str]] = {}
    for marking in markings:
        bearer = _bearer(marking, events, bar)
        if bearer is not None:
            by_event.setdefault(bearer.xml_id, []).append(_marking_words(marking))
    return [
        ListedEvent(
            staff,
            label,
            event.voice,
            event.onset / bar.beat + 1,
            event.number,
            event.kind,
            tuple(helmholtz(pitch) for pitch in event.pitches),
            tuple(scientific(pitch) for pitch in event.pitches),
            value_name(event),
            event.xml_id,
            (*event.articulations, *by_event.get(event.xml_id, ())),
        )
        for event in events
    ]


def _bearer(marking: Marking, events: tuple[Event, ...], bar: Bar) -> Event | None:
    """Return the event a marking begins at: its own, or what sounds at its moment."""
    if marking.start.bar != bar.index:
        return None
    if marking.start_id:
        for event in events:
            if marking.start_id in {event.xml_id, *(head.xml_id for head in event.heads)}:
                return event
    at = marking.start.offset
    sounding = [e for e in events if e.onset <= at and (at < e.onset + e.duration or e.onset == at)]
    return sounding[-1] if sounding else (events[-1] if events else None)


def _marking_words(marking: Marking) -> str:
    words = f"{marking.kind.value} {marking.content}".strip()
    return f"{words} ({marking.xml_id})" if marking.xml_id else words
