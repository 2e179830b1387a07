"""Events of two versions that are the same in time, whatever voice and notation they stand in.

In come the text and an encoding laid beside it; out go pairs of events, in reading order, by staff.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction

from pipeline.collation.beside import Beside
from pipeline.score.model import Event, Passage, Pitch

_Key = tuple[Fraction, Fraction, bool, tuple[Pitch, ...] | bool]


@dataclass(frozen=True)
class EventPair:
    """An event of the text and one of the encoding that begin together and last as long."""

    text: Event
    reading: Event

    @property
    def same_sound(self) -> bool:
        """Whether both have the same notes; rests have."""
        return self.text.pitches == self.reading.pitches


def same_events(text: Passage, beside: Beside, staff: int) -> tuple[EventPair, ...]:
    """Return the pairs of a staff of the text, those of one sound first where several could be.

    Linear in the events.
    """
    other = beside.staves[staff]
    return tuple(
        pair
        for bars in beside.pairs
        if bars.text is not None and bars.reading is not None
        for pair in _of_bar(
            text.events_in.get((staff, bars.text), ()),
            beside.passage.events_in.get((other, bars.reading), ()),
        )
    )


def _of_bar(text: Sequence[Event], reading: Sequence[Event]) -> Iterator[EventPair]:
    partner: dict[str, Event] = {}
    left, right = list(text), list(reading)
    for key in (_with_pitches, _in_time):
        waiting: dict[_Key, list[Event]] = defaultdict(list)
        for event in reversed(right):
            waiting[key(event)].append(event)
        found = {e.xml_id: waiting[key(e)].pop() for e in left if waiting[key(e)]}
        partner |= found
        taken = {event.xml_id for event in found.values()}
        left = [event for event in left if event.xml_id not in found]
        right = [event for event in right if event.xml_id not in taken]
    for event in text:
        if event.xml_id in partner:
            yield EventPair(event, partner[event.xml_id])


def _with_pitches(event: Event) -> _Key:
    return event.onset, event.duration, event.grace, event.pitches


def _in_time(event: Event) -> _Key:
    return event.onset, event.duration, event.grace, bool(event.heads)
