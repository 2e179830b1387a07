"""What a score is once it is read: bars, events with exact times, markings; all frozen.

Times are exact fractions of a quarter note counted from the start of the bar. Pitches are written
pitches at sounding octave (scientific octave numbers, C4 = middle C, as in MEI `oct`, ISO 16).
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from fractions import Fraction
from functools import cached_property
from typing import Literal

SEMITONES_OF_STEP = {"C": 0, "D": 2, "E": 4, "F": 5, "G": 7, "A": 9, "B": 11}


@dataclass(frozen=True, order=True)
class Moment:
    """A point in a movement: bar index from 0 and quarter notes from the start of that bar."""

    bar: int
    offset: Fraction


@dataclass(frozen=True)
class Pitch:
    """A pitch as it sounds under its key and accidentals: step C to B, semitones of alteration."""

    step: str
    alter: int
    octave: int

    @property
    def midi(self) -> int:
        """MIDI semitones, 60 = middle C."""
        return 12 * (self.octave + 1) + SEMITONES_OF_STEP[self.step] + self.alter


class EventKind(StrEnum):
    """What stands on the staff at a moment."""

    NOTE = "note"
    CHORD = "chord"
    REST = "rest"
    SPACE = "space"


@dataclass(frozen=True)
class NoteHead:
    """One note of an event: its own xml:id, pitch, printed accidental, head shape and tie.

    `accidental` is the sign that is printed before the note (MEI data.ACCIDENTAL.WRITTEN, such as
    "s", "f", "n") or empty; `shape` is "" for an ordinary head, "diamond" for a touched note;
    `tie` is "i", "m", "t" or empty (MEI data.TIE), whether written as attribute or as element.
    """

    xml_id: str
    pitch: Pitch
    accidental: str = ""
    shape: str = ""
    tie: str = ""


@dataclass(frozen=True)
class Event:
    """A note, chord or rest of one voice.

    `number` counts the notes and chords (grace notes included, rests not) of this staff in this
    bar from 1, in the order of onset, then voice; it is None for rests. `duration` is the time it
    occupies (quarter notes, 0 for a grace note), `written` the note value as MEI `dur` plus dots,
    such as "4." or "16"; `tuplet` is "3:2" or empty. Articulations are MEI data.ARTICULATION
    values in document order ("dnbow" and "upbow" among them).
    """

    xml_id: str
    kind: EventKind
    bar: int
    staff: int
    voice: int
    onset: Fraction
    duration: Fraction
    written: str
    heads: tuple[NoteHead, ...] = ()
    articulations: tuple[str, ...] = ()
    tuplet: str = ""
    grace: bool = False
    number: int | None = None

    @property
    def start(self) -> Moment:
        """The moment at which the event begins."""
        return Moment(self.bar, self.onset)

    @property
    def end(self) -> Moment:
        """The moment at which the event ends (exclusive)."""
        return Moment(self.bar, self.onset + self.duration)

    @property
    def pitches(self) -> tuple[Pitch, ...]:
        """The pitches from low to high as written in the file."""
        return tuple(head.pitch for head in self.heads)


class MarkingKind(StrEnum):
    """A sign that is attached to events or to a moment; values are MEI element names.

    The last three are of a bar (see `Bar`): markings only where two sources differ in them.
    """

    SLUR = "slur"
    DYNAMIC = "dynam"
    HAIRPIN = "hairpin"
    TEMPO = "tempo"
    WORDS = "dir"
    FINGERING = "fing"
    TRILL = "trill"
    MORDENT = "mordent"
    TURN = "turn"
    FERMATA = "fermata"
    OCTAVE = "octave"
    ARPEGGIO = "arpeg"
    PEDAL = "pedal"
    GLISSANDO = "gliss"
    BREATH = "breath"
    TIE = "tie"
    OTHER = "other"
    METER = "meter"
    REPEAT = "repeat"
    ENDING = "ending"


OF_BARS = frozenset({MarkingKind.METER, MarkingKind.REPEAT, MarkingKind.ENDING})
"""What belongs to a bar and not to a staff: never among the markings of a passage."""


@dataclass(frozen=True)
class Marking:
    """A sign with its extent: `end` is None where the sign has no extent of its own.

    `content` is the text or, for a hairpin, "cres" or "dim"; `start_id` and `end_id` are the
    xml:ids of the events or notes it is attached to, empty where it is attached to a time.
    """

    xml_id: str
    kind: MarkingKind
    staff: int
    start: Moment
    end: Moment | None = None
    start_id: str = ""
    end_id: str = ""
    content: str = ""
    side: Literal["above", "below", "within", "between", ""] = ""


@dataclass(frozen=True)
class Bar:
    """One measure: `n` as printed (never assumed to be a number), `index` from 0.

    `length` is what the meter asks for in quarter notes; `filled` the longest layer found, which
    for an upbeat or a cut bar is less. `beat` is the length of one counted beat in quarter notes.
    `meter` is the meter in force in figures, "6/8", however it is printed; empty where none is
    known. `repeat_start` and `repeat_end` say that a repeat sign stands at that end of the bar, on
    whichever side of the bar line it is encoded. `ending` is the ending that the bar belongs to,
    "1" or "1, 2"; empty outside of endings.
    """

    index: int
    n: str
    xml_id: str
    length: Fraction
    filled: Fraction
    beat: Fraction
    meter: str = ""
    repeat_start: bool = False
    repeat_end: bool = False
    ending: str = ""


@dataclass(frozen=True)
class Staff:
    """A staff as the score names it; `label` may be empty."""

    n: int
    label: str


@dataclass(frozen=True)
class Passage:
    """Any piece of music that was read: a movement, a witness's encoding, an ossia of two bars.

    `mei` is the whole document in MEI 5.1, UTF-8, every addressable element with an xml:id: what
    the later stages parse their own copy of. `file` is relative to the edition folder.
    """

    file: str
    staves: tuple[Staff, ...]
    bars: tuple[Bar, ...]
    events: tuple[Event, ...]
    markings: tuple[Marking, ...]
    mei: bytes

    @cached_property
    def by_id(self) -> dict[str, Event]:
        """Events by their own xml:id and by the xml:id of each of their notes."""
        found = {event.xml_id: event for event in self.events}
        found.update({head.xml_id: event for event in self.events for head in event.heads})
        return found

    @cached_property
    def bar_index(self) -> dict[str, int]:
        """The first bar index of each printed bar number."""
        found: dict[str, int] = {}
        for bar in self.bars:
            found.setdefault(bar.n, bar.index)
        return found

    @cached_property
    def events_in(self) -> dict[tuple[int, int], tuple[Event, ...]]:
        """The events of each staff and bar index, by onset, then voice."""
        found: dict[tuple[int, int], list[Event]] = {}
        for event in self.events:
            found.setdefault((event.staff, event.bar), []).append(event)
        return {key: tuple(events) for key, events in found.items()}

    @cached_property
    def markings_in(self) -> dict[tuple[int, int], tuple[Marking, ...]]:
        """The markings of each staff and bar index, in every bar that their extent touches."""
        found: dict[tuple[int, int], list[Marking]] = {}
        for marking in self.markings:
            last = marking.end.bar if marking.end else marking.start.bar
            for bar in range(marking.start.bar, max(last, marking.start.bar) + 1):
                found.setdefault((marking.staff, bar), []).append(marking)
        return {key: tuple(markings) for key, markings in found.items()}


@dataclass(frozen=True)
class Movement:
    """A movement of the edition: its number as the editor counts, title, and base text."""

    n: int
    title: str
    passage: Passage


@dataclass(frozen=True)
class Score:
    """The base text: every movement of the edition."""

    movements: tuple[Movement, ...]


@dataclass(frozen=True)
class Span:
    """A place once it is resolved: what stands there, on one staff of one movement.

    `start` is inclusive, `end` exclusive. `events` are those that begin inside, rests included.
    """

    movement: int
    staff: int
    start: Moment
    end: Moment
    events: tuple[Event, ...]
    whole_bars: bool

    @property
    def notes(self) -> tuple[Event, ...]:
        """The notes and chords, without rests and spaces."""
        return tuple(e for e in self.events if e.heads)
