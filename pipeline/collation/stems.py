"""Which way stems go where the file leaves it to the engraver.

Common practice, no source: in one voice the note that is farthest from the middle line decides for
its whole beam, down where both sides are as far; of two voices the first has stems up, the other
down; grace notes have stems up.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass

from pipeline.collation.written_layers import WrittenEvent
from pipeline.score.mei_names import whole_number

_WITHOUT_STEM = frozenset({"1", "breve", "long", "maxima"})
_STEPS = "cdefgab"


@dataclass(frozen=True)
class StemGroup:
    """Events under one beam, or one alone; `middle` is the middle line in steps from C0."""

    events: tuple[WrittenEvent, ...]
    middle: int | None


def steps_of(note: WrittenEvent) -> list[int]:
    """Return where the notes of an event are written, in steps from C0, in the file's order."""
    found = []
    for one in note.notes:
        step, octave = one.get("pname", ""), whole_number(one.get("oct", ""))
        if step and step in _STEPS and octave is not None:
            found.append(7 * octave + _STEPS.index(step))
    return found


def stems_of_staff(voices: Sequence[Sequence[StemGroup]]) -> Iterator[tuple[str, str]]:
    """Yield the xml:id of each event and its stem, "up" or "down", where that can be said."""
    sounding = [voice for voice in voices if any(e.notes for group in voice for e in group.events)]
    for position, voice in enumerate(sounding):
        fixed = "" if len(sounding) == 1 else ("up" if position == 0 else "down")
        for group in voice:
            usual = fixed or _usual(group)
            stated = next((s for e in group.events if (s := e.stated("stem.dir"))), "")
            for event in group.events:
                if event.notes and event.stated("dur") not in _WITHOUT_STEM:
                    direction = event.stated("stem.dir") or stated or usual
                    if direction:
                        yield event.xml_id, direction


def _usual(group: StemGroup) -> str:
    if all(event.grace for event in group.events):
        return "up"
    steps = [step for event in group.events for step in steps_of(event)]
    if group.middle is None or not steps:
        return ""
    return "down" if max(steps) + min(steps) >= 2 * group.middle else "up"


def grouped(events: Iterable[tuple[WrittenEvent, int | None, int | None]]) -> list[StemGroup]:
    """Gather events, each with its beam and middle line, into groups; no beam is a group alone."""
    found: list[StemGroup] = []
    last: int | None = None
    for event, beam, middle in events:
        if beam is not None and beam == last and found:
            found[-1] = StemGroup((*found[-1].events, event), found[-1].middle)
        else:
            found.append(StemGroup((event,), middle))
        last = beam
    return found
