"""A `score` in MEI 5.1 in; staves, bars and events out, in the order they are printed.

Sections, endings and definitions between bars are walked in document order (MEI Guidelines 5.1,
chapters 3 and 4.1): what stands in the file once is read once, repeats are not unfolded.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction

from pipeline.score.bar_lines import ending_of, with_repeats
from pipeline.score.durations import ratio_of
from pipeline.score.identifiers import referred
from pipeline.score.mei_names import (
    XML_ID,
    Element,
    chosen_children,
    local,
    whole_number,
    written_text,
)
from pipeline.score.model import Bar, Event, EventKind, NoteHead, Staff
from pipeline.score.pitches import Accidentals, key_at, tie_of
from pipeline.score.signatures import (
    Key,
    StaffDefinition,
    redefined,
    unreadable_signatures,
)
from pipeline.score.trouble import Trouble
from pipeline.score.voices import TupletSpans, Voice, WrittenEvent, WrittenNote

QUARTER = Fraction(1)
_NESTED = frozenset({"section", "lem", "rdg", "part", "parts"})


@dataclass(frozen=True)
class _Ties:
    """The `tie` elements of the file by the notes or chords they join."""

    starts: dict[str, str]
    ends: frozenset[str]


@dataclass
class Printed:
    """What was read of a score; `measures` are the elements of `bars`, in the same order.

    `units` are the lengths of the meter's unit by bar (what `tstamp` counts, in quarter notes);
    `stated` the notes whose sounding octave the file states itself (`oct.ges`); `hidden` gives the
    event of each note that is not printed.
    """

    staves: tuple[Staff, ...]
    bars: list[Bar]
    events: list[Event]
    measures: list[Element]
    units: list[Fraction]
    stated: set[str]
    hidden: dict[str, Event]


@dataclass(frozen=True)
class _Filed:
    """An event of the bar being read, with its place in the staff."""

    staff: int
    voice: int
    order: int
    event: WrittenEvent


class ScoreReader:
    """Reads a score from its first definition to its last bar."""

    def __init__(self, score: Element, trouble: Trouble) -> None:
        self._score = score
        self._trouble = trouble
        self._common = StaffDefinition()
        self._by_staff: dict[int, StaffDefinition] = {}
        self._staves: dict[int, Staff] = {}
        self._spans = _tuplet_spans(score)
        self._ties = _ties(score)
        self._accidentals = Accidentals(trouble)
        self._ending = ""
        self.printed = Printed((), [], [], [], [], set(), {})

    def read(self) -> Printed:
        """Read everything; what cannot be read is told to the trouble that was passed in."""
        self._walk(self._score)
        self.printed.bars = with_repeats(self.printed.bars, self.printed.measures)
        self.printed.staves = tuple(self._staves[n] for n in sorted(self._staves))
        return self.printed

    def _walk(self, parent: Element) -> None:
        for child in chosen_children(parent):
            name = local(child)
            if name == "measure":
                self._measure(child)
            elif name == "scoreDef":
                self._score_definition(child)
            elif name == "staffDef":
                self._staff_definition(child, "")
            elif name == "ending":
                around, self._ending = self._ending, ending_of(child)
                self._walk(child)
                self._ending = around
            elif name in _NESTED:
                self._walk(child)
            elif name in {"staff", "layer"}:
                self._trouble.error(
                    "unmeasured-music",
                    child,
                    "this staff stands in a section, not in a measure",
                    "Put the music into measures; places are found by bar.",
                )

    def _score_definition(self, element: Element) -> None:
        self._tell_unreadable(element)
        self._common = redefined(self._common, element)
        for n in self._by_staff:
            self._by_staff[n] = redefined(self._by_staff[n], element)
        for staff_def, label in _staff_definitions(element, ""):
            self._staff_definition(staff_def, label)

    def _staff_definition(self, element: Element, group_label: str) -> None:
        n = whole_number(element.get("n", ""))
        if n is None:
            self._trouble.error(
                "staff-without-number", element, "this staffDef has no number", 'Write n="1".'
            )
            return
        self._tell_unreadable(element)
        label = _label(element) or group_label
        before = self._staves.get(n)
        self._staves[n] = Staff(n, label or (before.label if before else ""))
        self._by_staff[n] = redefined(self._by_staff.get(n, self._common), element)

    def _tell_unreadable(self, element: Element) -> None:
        for written in unreadable_signatures(element):
            self._trouble.error(
                "unreadable-signature",
                element,
                f"{written} cannot be read",
                'A key is written as "0", "3s" or "2f", a meter as a count and a unit such as 6/8.',
            )

    def _measure(self, measure: Element) -> None:
        index, n = len(self.printed.bars), " ".join(measure.get("n", "").split())
        place = f"bar {n}" if n else f"measure {index + 1} of the file"
        start_keys: dict[int, Key] = {}
        changes: dict[int, list[tuple[Fraction, Key]]] = {}
        filed: list[_Filed] = []
        filled = Fraction(0)
        for position, staff in enumerate(_of_kind(measure, "staff"), 1):
            number = _number(staff, position)
            if number not in self._staves:
                self._undefined(staff, number, place)
            definition = self._by_staff.get(number, self._common)
            start_keys[number] = definition.key
            after = definition
            for child in _of_kind(staff, "staffDef"):
                definition = after = redefined(definition, child)
                start_keys[number] = definition.key
            for layer_position, layer in enumerate(_of_kind(staff, "layer"), 1):
                voice = _number(layer, layer_position)
                reader = Voice(number, definition, self._spans, place, self._trouble)
                reader.read(layer)
                filed += [
                    _Filed(number, voice, len(filed) + i, e) for i, e in enumerate(reader.events)
                ]
                changes.setdefault(number, []).extend(reader.keys)
                filled = max(filled, reader.length)
                if reader.definition != definition:
                    after = reader.definition
            self._by_staff[number] = after
        bar = self._bar(measure, index, n, filled, place)
        self.printed.bars.append(bar)
        self.printed.measures.append(measure)
        filed.sort(key=lambda f: (f.staff, f.event.onset, f.voice, f.order))
        self._accidentals.barline()
        self._place_events(filed, bar, start_keys, changes, place)

    def _undefined(self, staff: Element, number: int, place: str) -> None:
        self._staves[number] = Staff(number, "")
        self._trouble.error(
            "staff-not-defined",
            staff,
            f"staff {number} has no staffDef, so its key is not known",
            "Define it in the scoreDef before the first bar.",
            place,
        )

    def _bar(self, measure: Element, index: int, n: str, filled: Fraction, place: str) -> Bar:
        meters = [d.meter for d in (*self._by_staff.values(), self._common) if d.meter]
        if not meters:
            if index == 0:
                self._trouble.warn(
                    "no-meter",
                    measure,
                    "no meter is in force; bars are taken to be as long as what they hold, "
                    "and beats to be quarter notes",
                    "Write the meter in the scoreDef if the music has one.",
                    place,
                )
            self.printed.units.append(QUARTER)
            return Bar(
                index, n, measure.get(XML_ID, ""), filled, filled, QUARTER, ending=self._ending
            )
        meter = meters[0]
        self.printed.units.append(meter.unit)
        return Bar(
            index,
            n,
            measure.get(XML_ID, ""),
            meter.length,
            filled or meter.length,
            meter.beat,
            meter.figures,
            ending=self._ending,
        )

    def _place_events(
        self,
        filed: list[_Filed],
        bar: Bar,
        start_keys: dict[int, Key],
        changes: dict[int, list[tuple[Fraction, Key]]],
        place: str,
    ) -> None:
        heads: dict[int, NoteHead] = {}
        # Voices that meet on a line share the accidental that one of them has.
        notes = sorted(
            (
                (f.event.onset, *_turn(f.event, note), f.order, i, note, f)
                for f in filed
                for i, note in enumerate(f.event.notes)
            ),
            key=lambda row: row[:5],
        )
        for onset, _, _, _, _, note, one in notes:
            key = self._key(note, onset, start_keys, changes)
            tie = self._tie(note, one.event.xml_id)
            if note.sounding_octave is not None:
                self.printed.stated.add(note.xml_id)
            octaves = self._by_staff.get(note.staff, self._common).octaves
            heads[id(note)] = self._accidentals.head(note, tie, key, octaves, place)
        numbers: dict[int, int] = {}
        for one in filed:
            event = one.event
            number = None
            if event.kind in {EventKind.NOTE, EventKind.CHORD}:
                number = numbers[one.staff] = numbers.get(one.staff, 0) + 1
            placed = self._event(one, bar, number, heads)
            self.printed.events.append(placed)
            self.printed.hidden.update(dict.fromkeys(event.hidden, placed))

    def _event(
        self, filed: _Filed, bar: Bar, number: int | None, heads: dict[int, NoteHead]
    ) -> Event:
        event = filed.event
        duration = bar.filled - event.onset if event.duration is None else event.duration
        low_to_high = sorted((heads[id(n)] for n in event.notes), key=lambda h: h.pitch.midi)
        return Event(
            event.xml_id,
            event.kind,
            bar.index,
            filed.staff,
            filed.voice,
            event.onset,
            duration,
            event.written,
            tuple(low_to_high),
            event.articulations,
            event.tuplet,
            event.grace,
            number,
        )

    def _key(
        self,
        note: WrittenNote,
        onset: Fraction,
        start_keys: dict[int, Key],
        changes: dict[int, list[tuple[Fraction, Key]]],
    ) -> Key:
        start = start_keys.get(note.staff)
        if start is None:
            return self._by_staff.get(note.staff, self._common).key
        changed = changes.get(note.staff)
        return key_at(sorted(changed, key=lambda c: c[0]), start, onset) if changed else start

    def _tie(self, note: WrittenNote, event_id: str) -> str:
        starts, ends = self._ties.starts, self._ties.ends
        if not starts and not ends:
            return note.tie
        for name in (note.xml_id, event_id):
            if name in starts or name in ends:
                return tie_of(note.tie, name, starts, ends)
        return note.tie


def _turn(event: WrittenEvent, note: WrittenNote) -> tuple[bool, bool]:
    """Return which note of one onset is heard of first: grace notes, then printed accidentals."""
    return not event.grace, not (event.grace or note.printed)


def _of_kind(parent: Element, name: str) -> Iterator[Element]:
    return (child for child in chosen_children(parent) if local(child) == name)


def _number(element: Element, position: int) -> int:
    """Return `n`, or the position among its like where the file writes none."""
    written = whole_number(element.get("n", ""))
    return position if written is None else written


def _staff_definitions(parent: Element, label: str) -> Iterator[tuple[Element, str]]:
    """Yield every staffDef with the label of the group it stands in (a piano's two staves)."""
    for child in chosen_children(parent):
        name = local(child)
        if name == "staffGrp":
            yield from _staff_definitions(child, _label(child) or label)
        elif name == "staffDef":
            yield child, label


def _label(element: Element) -> str:
    for child in chosen_children(element):
        if local(child) == "label":
            return written_text(child)
    return element.get("label", "")


def _tuplet_spans(score: Element) -> TupletSpans:
    starts: dict[str, tuple[int, int]] = {}
    ends: set[str] = set()
    members: dict[str, tuple[int, int]] = {}
    for element in score.iter("{*}tupletSpan"):
        ratio = ratio_of(element)
        if ratio is None:
            continue
        listed = referred(element.get("plist", ""))
        start, end = referred(element.get("startid", "")), referred(element.get("endid", ""))
        if start and end:
            starts[start[0]] = ratio
            ends.add(end[0])
        else:
            members.update(dict.fromkeys(listed, ratio))
    return TupletSpans(starts, frozenset(ends), members)


def _ties(score: Element) -> _Ties:
    starts: dict[str, str] = {}
    ends: set[str] = set()
    for element in score.iter("{*}tie"):
        start, end = referred(element.get("startid", "")), referred(element.get("endid", ""))
        if start:
            starts[start[0]] = end[0] if end else ""
        if end:
            ends.add(end[0])
    return _Ties(starts, frozenset(ends))
