"""One `layer` of one bar in; its notes, chords, rests and spaces with exact onsets out.

MEI Guidelines 5.1, chapter 4.2 (notes, chords, rests, beams, tuplets, tremolos, grace notes).
Pitches are still as written here; `pitches` finds out how they sound.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from fractions import Fraction

from pipeline.score.durations import dots_of, quarters_of, ratio_of, unreadable_figure
from pipeline.score.mei_names import XML_ID, Element, chosen_children, local, whole_number
from pipeline.score.model import EventKind
from pipeline.score.signatures import Key, StaffDefinition, key_element, redefined
from pipeline.score.trouble import Trouble

_NONE = Fraction(0)
_WHOLE = Fraction(1)


@dataclass
class WrittenNote:
    """A note as the file has it: pitch as written, accidentals printed and implied by the file."""

    element: Element
    xml_id: str
    step: str
    octave: int
    sounding_octave: int | None
    printed: str
    implied: str
    tie: str
    shape: str
    staff: int


@dataclass
class WrittenEvent:
    """An event of a layer; `duration` is None for what fills the bar, however long that is.

    `hidden` are the identifiers of its notes where none of them is printed.
    """

    element: Element
    xml_id: str
    kind: EventKind
    onset: Fraction
    duration: Fraction | None
    written: str
    notes: list[WrittenNote] = field(default_factory=list)
    articulations: tuple[str, ...] = ()
    tuplet: str = ""
    grace: bool = False
    hidden: tuple[str, ...] = ()


@dataclass(frozen=True)
class TupletSpans:
    """`tupletSpan` elements of the file: the ratio by the xml:id where it begins and where it ends.

    `members` holds those that list their events by `plist`.
    """

    starts: Mapping[str, tuple[int, int]]
    ends: frozenset[str]
    members: Mapping[str, tuple[int, int]]


@dataclass(frozen=True)
class _Around:
    """What encloses an event: the time ratio so far, the tuplet, grace group, tremolo halves."""

    ratio: Fraction = _WHOLE
    tuplet: str = ""
    grace: bool = False


class Voice:
    """Reads one layer from left to right; afterwards holds its events and signature changes."""

    def __init__(
        self,
        staff: int,
        definition: StaffDefinition,
        spans: TupletSpans,
        place: str,
        trouble: Trouble,
    ) -> None:
        self.events: list[WrittenEvent] = []
        self.keys: list[tuple[Fraction, Key]] = []
        self.length = Fraction(0)
        self.definition = definition
        self._staff = staff
        self._spans = spans
        self._open_span: tuple[int, int] | None = None
        self._place = place
        self._trouble = trouble

    def read(self, layer: Element) -> None:
        """Read the whole layer."""
        self._children(layer, _Around())

    def _children(self, parent: Element, around: _Around) -> None:
        for child in chosen_children(parent):
            self._child(child, around)

    def _child(self, element: Element, around: _Around) -> None:
        name = local(element)
        match name:
            case "note" | "chord" | "rest" | "space":
                self._timed(element, name, around)
            case "beam" | "bTrem":
                self._children(element, around)
            case "tuplet":
                self._tell_unreadable(element)
                ratio = ratio_of(element)
                self._children(element, around if ratio is None else _inside(around, ratio))
            case "fTrem":
                # Two notes alternate: each is written with the value that both fill together.
                self._children(element, replace(around, ratio=around.ratio / 2))
            case "graceGrp":
                self._children(element, replace(around, grace=True))
            case "mRest":
                self._fill(element, EventKind.REST)
            case "multiRest":
                self._several_bars(element)
            case "mSpace":
                self._fill(element, EventKind.SPACE)
            case "mRpt" | "mRpt2" | "multiRpt" | "beatRpt" | "halfmRpt":
                self._repeat_sign(element, name)
            case "keySig":
                key = key_element(element)
                if key is not None:
                    self.keys.append((self.length, key))
                    self.definition = replace(self.definition, key=key)
            case "staffDef":
                before = self.definition
                self.definition = redefined(before, element)
                if self.definition.key != before.key:
                    self.keys.append((self.length, self.definition.key))

    def _timed(self, element: Element, name: str, around: _Around) -> None:
        self._tell_unreadable(element)
        xml_id = element.get(XML_ID, "")
        notes = [element]
        if name != "note":
            notes = [e for e in chosen_children(element) if local(e) == "note"]
        ids = [xml_id, *(note.get(XML_ID, "") for note in notes)]
        ratio = self._ratio(element, ids)
        if ratio is not None:
            around = _inside(around, ratio)
        hidden = _hidden(element, notes)
        written, quarters = self._value(element, notes)
        grace = around.grace or any(e.get("grace") is not None for e in (element, *notes))
        if quarters is None and not grace:
            self._trouble.error(
                "no-note-value",
                element,
                f"this {name} has no note value",
                'Give it a `dur`, such as dur="4".',
                self._place,
            )
        duration = _NONE if grace or quarters is None else quarters
        if around.ratio is not _WHOLE:
            duration *= around.ratio
        heads = [] if hidden else [h for h in map(self._note, notes) if h is not None]
        if name == "chord" and element.get("tie") is not None:
            for head in heads:
                head.tie = head.tie or element.get("tie", "")
        self.events.append(
            WrittenEvent(
                element,
                xml_id,
                EventKind.SPACE if hidden else EventKind(name),
                self.length,
                duration,
                written,
                heads,
                _articulations(element, notes),
                around.tuplet,
                grace,
                tuple(ids[1:]) if hidden else (),
            )
        )
        self.length += duration
        if self._open_span is not None and not self._spans.ends.isdisjoint(ids):
            self._open_span = None

    def _tell_unreadable(self, element: Element) -> None:
        wrong = unreadable_figure(element)
        if wrong:
            self._trouble.error(
                "unreadable-rhythm",
                element,
                f"{wrong} is no number of dots or notes",
                'Write figures, such as dots="1", or num="3" numbase="2".',
                self._place,
            )

    def _ratio(self, element: Element, ids: list[str]) -> tuple[int, int] | None:
        own = ratio_of(element)
        if not (self._spans.starts or self._spans.members):
            return own
        for one in ids:
            if one in self._spans.starts:
                self._open_span = self._spans.starts[one]
            if one in self._spans.members:
                return own or self._spans.members[one]
        return own or self._open_span

    def _value(self, element: Element, notes: list[Element]) -> tuple[str, Fraction | None]:
        bearer = element
        if element.get("dur") is None and notes and notes[0].get("dur") is not None:
            bearer = notes[0]
        dur = bearer.get("dur", self.definition.dur)
        dots = dots_of(bearer)
        quarters = quarters_of(dur, dots)
        pulses = whole_number(bearer.get("dur.ppq", ""))
        if quarters is None and pulses is not None and self.definition.ppq:
            quarters = Fraction(pulses, self.definition.ppq)
        return dur + "." * dots, quarters

    def _note(self, element: Element) -> WrittenNote | None:
        step, octave = element.get("pname", ""), element.get("oct", self.definition.oct)
        if step not in "abcdefg" or not step or not _is_octave(octave):
            if "loc" not in element.attrib and "tab.fret" not in element.attrib:
                self._trouble.error(
                    "no-pitch",
                    element,
                    "this note has no pitch",
                    'Give it a `pname` and an `oct`, such as pname="c" oct="4".',
                    self._place,
                )
            else:
                self._trouble.warn(
                    "no-pitch",
                    element,
                    "this note has a place on the staff or string but no pitch; "
                    "what depends on pitch passes it over",
                    "Write `pname` and `oct` if it has a pitch.",
                    self._place,
                )
            return None
        printed, implied = element.get("accid", ""), element.get("accid.ges", "")
        if len(element):
            for child in chosen_children(element):
                if local(child) == "accid":
                    printed = child.get("accid", printed)
                    implied = child.get("accid.ges", implied)
        gestural = element.get("oct.ges", "")
        shown_on = whole_number(element.get("staff", ""))
        shape = element.get("head.shape", "")
        return WrittenNote(
            element,
            element.get(XML_ID, ""),
            step.upper(),
            int(octave),
            int(gestural) if _is_octave(gestural) else None,
            printed,
            implied,
            element.get("tie", "")[:1],
            shape,
            self._staff if shown_on is None else shown_on,
        )

    def _fill(self, element: Element, kind: EventKind) -> None:
        self.events.append(
            WrittenEvent(element, element.get(XML_ID, ""), kind, self.length, None, "")
        )

    def _several_bars(self, element: Element) -> None:
        count = element.get("num", "1")
        if count != "1":
            self._trouble.warn(
                "rest-of-several-bars",
                element,
                f"one rest stands for {count} bars here; only its first bar can be spoken of",
                "Write each bar with a rest of its own (mRest).",
                self._place,
            )
        self._fill(element, EventKind.REST)

    def _repeat_sign(self, element: Element, name: str) -> None:
        self._trouble.warn(
            "repeat-sign-not-read",
            element,
            f"a repeat sign ({name}) stands for notes here; the notes are not read from before it",
            "Write the notes out, so that remarks can speak of them.",
            self._place,
        )
        self._fill(element, EventKind.SPACE)


def _inside(around: _Around, ratio: tuple[int, int]) -> _Around:
    num, base = ratio
    return replace(around, ratio=around.ratio * Fraction(base, num), tuplet=f"{num}:{base}")


def _hidden(element: Element, notes: list[Element]) -> bool:
    """Return whether nothing is printed: notes that only sound in playback are no text."""
    if element.get("visible") == "false":
        return True
    return bool(notes) and all(note.get("visible") == "false" for note in notes)


def _articulations(element: Element, notes: list[Element]) -> tuple[str, ...]:
    found: list[str] = []
    for bearer in (element, *(note for note in notes if note is not element)):
        found += bearer.get("artic", "").split()
        if not len(bearer):
            continue
        for child in chosen_children(bearer):
            if local(child) == "artic":
                found += child.get("artic", "").split()
    return tuple(found)


def _is_octave(written: str) -> bool:
    return len(written) <= 2 and whole_number(written.removeprefix("-")) is not None
