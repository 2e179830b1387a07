"""What harmonics ask of the hand as they are written: a passage in, the way through it out.

Where no string is named, the hand is taken to move as seldom as it can.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from pipeline.score.model import Event, Pitch
from pipeline.strings.harmonic_passage import sounding_notes, ways_as_written
from pipeline.strings.harmonic_path import Aim, Through, way_through
from pipeline.strings.instruments import Instrument


@dataclass(frozen=True)
class HarmonicFacts:
    """What the harmonics of the text, if it has any, and of an ossia ask of the hand.

    `length_mm` is the vibrating length that is reckoned with.
    """

    text: Through | None
    ossia: Through
    length_mm: float


def way_as_written(
    events: Iterable[Event], named: Mapping[str, Pitch], instrument: Instrument
) -> Through | None:
    """Return the way through the harmonics of a passage, each as it is written.

    `named` are the open strings that are asked for, by the xml:id of the event.
    Ordinary notes between them are passed over. None where there is no harmonic, and where one
    does not exist, is out of reach, or two sound together.
    """
    notes = sounding_notes(events, instrument)
    offered = []
    for note in notes:
        if not any(tone.is_harmonic for tone in note.tones):
            continue
        if len(note.tones) > 1:
            return None
        string = named.get(note.event.xml_id)
        found = ways_as_written(note.tones[0], instrument)
        offered.append([way for way in found if way.string == string] or found)
    return way_through(offered, instrument, Aim.FEWEST_MOVES) if offered else None
