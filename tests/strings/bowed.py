"""Strokes written in a line: D( down, U( up where a sign says so; d( u( where it follows; ?( else.

D(C5 D5) u(E5)   a down bow by its sign over two notes, then an up bow that follows from it
"""

from __future__ import annotations

from collections.abc import Iterable

from pipeline.edition.records import BowingAlternative
from pipeline.score.model import Event, Passage
from pipeline.strings.bow import BowLine, Stroke, bow_line
from pipeline.strings.bowing import Bowed, bowed

_NAMES = {0: "", 1: "#", -1: "b", -2: "bb", 2: "x"}


def line(passage: Passage) -> BowLine:
    """What the bow has to do on the staff."""
    return bow_line(passage, 1)


def drawn(strokes: Iterable[Stroke]) -> str:
    """The strokes as in the heading of this module."""
    return " ".join(f"{_way(one)}({' '.join(map(_note, one.notes))})" for one in strokes)


def carried_out(
    passage: Passage, first: int = 1, last: int | None = None, **alternative: object
) -> Bowed:
    """The alternative on the notes from `first` to `last` of the passage, counted from 1."""
    notes = [event for event in passage.events if event.heads][first - 1 : last]
    written = BowingAlternative.model_validate({"name": "x", **alternative})
    return bowed(line(passage), notes, written)


def troubles(done: Bowed) -> list[str]:
    """What is amiss: `note 3 (1): a sign stands within a stroke`."""
    return [f"note {one.note} ({one.other}): {one.amiss}" for one in done.troubles]


def _way(stroke: Stroke) -> str:
    if stroke.direction is None:
        return "?"
    letter = stroke.direction.value[0]
    return letter.upper() if stroke.written else letter


def _note(event: Event) -> str:
    names = [f"{p.step}{_NAMES[p.alter]}{p.octave}" for p in event.pitches]
    return ("g" if event.grace else "") + "+".join(names)
