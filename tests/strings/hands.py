"""Fingered runs as a player would say them: music in letters, fingers in the short notation."""

from __future__ import annotations

from pydantic import TypeAdapter

from pipeline.edition.fingers import Fingering, Run
from pipeline.score.model import Marking
from pipeline.strings.frames import Hand
from pipeline.strings.instruments import INSTRUMENTS
from pipeline.strings.left_hand import LeftHand, left_hand
from tests.collation.letters import music

HANDS = {name: Hand(instrument) for name, instrument in INSTRUMENTS.items()}
VIOLIN = HANDS["violin"]
CELLO = HANDS["cello"]


def fingers(written: str) -> tuple[Fingering, ...]:
    """Return the entries of `1 on D, 2, none, [1, 4]`."""
    return TypeAdapter(Run).validate_python(written)  # type: ignore[no-any-return]


def played(drawn: str, written: str, *slurs: Marking, hand: Hand = VIOLIN) -> LeftHand:
    """Return what the hand does in music drawn in letters, with these fingers."""
    events = [event for event in music(drawn).events if event.heads]
    run = fingers(written)
    assert len(run) == len(events), "one entry a note"
    return left_hand(events, run, slurs, hand)


def grips(run: LeftHand, names: str = "EADG") -> str:
    """Return the grips of a run: `1G7+4D12 0A0`, a circle before a finger that only touches."""
    return " ".join(
        "--" if note.grip is None
        else "+".join(
            f"{'°' if stop.touched else ''}{stop.finger}{names[stop.string]}{stop.semitones}"
            for stop in note.grip.stops
        )
        for note in run.notes
    )  # fmt: skip
