"""A run of events in words: its pitches, or its note values."""

from __future__ import annotations

from collections.abc import Sequence

from markupsafe import Markup

from pipeline.score.model import Event
from pipeline.typeset.note_values import note_value
from pipeline.typeset.pitches import chord_name
from pipeline.typeset.signs import in_signs_face
from pipeline.typeset.wording import Wording

_THIN = "\u2009"
_NARROW = "\u202f"


def pitches_of_run(events: Sequence[Event], wording: Wording) -> Markup:
    """Return the pitches from note to note, rests as signs: "f♯″–a″"."""
    named = [chord_name(e, wording) if e.heads else note_value(e) for e in events]
    return in_signs_face(Markup("–").join(named))


def rhythm_of_run(events: Sequence[Event], wording: Wording, with_pitches: bool) -> Markup:
    """Return the note values of a run, each tuplet with its ratio."""
    groups: list[tuple[str, list[str]]] = []
    for event in events:
        value = note_value(event)
        if with_pitches and event.heads:
            value += _NARROW + chord_name(event, wording)
        if not groups or groups[-1][0] != event.tuplet:
            groups.append((event.tuplet, []))
        groups[-1][1].append(value)
    return Markup(" ").join(
        wording.say("differences.tuplet", values=_THIN.join(values), ratio=ratio)
        if ratio
        else in_signs_face(Markup.escape(_THIN.join(values)))
        for ratio, values in groups
    )
