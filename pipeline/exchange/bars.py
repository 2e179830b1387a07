"""Bars of a staff, and of the alternatives above it, as `measure` elements.

MusicXML 4.0 `measure`: voices one after the other with `backup`, signs at their time, attributes
where they change, bar lines with repeats and endings. An ossia is a staff of the part of
`staff-type` ossia, small, and hidden (`print-object`) in the bars that have none.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from itertools import groupby
from math import lcm

from pipeline.exchange.barlines import left_barline, right_barline
from pipeline.exchange.directions import Direction
from pipeline.exchange.notes import Pen, elements_of
from pipeline.exchange.signatures import Change, Signatures
from pipeline.exchange.signatures import elements_of as signature_elements
from pipeline.exchange.source import StaffMusic
from pipeline.exchange.xml import make, put
from pipeline.score.mei_names import Element
from pipeline.score.model import Bar, Event, EventKind, Marking


@dataclass(frozen=True)
class WrittenStaff:
    """A staff ready to be written: its pen, its directions and its changes of signatures by bar.

    `sizes` are the size, as a part of the ordinary one, of the bars of an ossia that are printed.
    """

    pen: Pen
    directions: Mapping[int, Sequence[Direction]]
    changes: Mapping[int, Sequence[Change]]
    sizes: Mapping[int, float] | None = None


@dataclass(frozen=True)
class Opening:
    """How the bars of a movement begin: whether a page does, and the words at its head."""

    new_page: bool = False
    title: str = ""


MOST_DIVISIONS = 16383
"""The largest number that MusicXML 4.0 promises other formats can hold (`divisions`)."""


def divisions_of(events: Iterable[Event], markings: Iterable[Marking]) -> int:
    """Return in how many parts a quarter note is divided so that events are whole numbers of them.

    Signs between the notes are whole numbers too, or next to one where that takes too many parts.
    """
    times = [time for e in events for time in (e.onset, e.duration)]
    plain = lcm(*(time.denominator for time in times), 1)
    moments = {m.offset for one in markings for m in (one.start, one.end) if m is not None}
    finer = lcm(plain, *(moment.denominator for moment in moments))
    if finer <= MOST_DIVISIONS:
        return finer
    # Times that another program rounded: parts so small that none of its decimals is lost.
    return plain * max(MOST_DIVISIONS // plain, 1)


def voices_of(music: StaffMusic) -> list[list[Event]]:
    """Return the events in the order in which they are written: bar by bar, voice by voice."""
    ordered = sorted(music.events, key=lambda e: (e.bar, e.voice))
    return [list(group) for _, group in groupby(ordered, key=lambda e: (e.bar, e.voice))]


def write_bars(main: WrittenStaff, ossia: WrittenStaff | None, opening: Opening) -> list[Element]:
    """Return the measures of a movement."""
    bars = main.pen.music.passage.bars
    now = Signatures()
    made = []
    for bar in bars:
        measure = make("measure", id=bar.xml_id)
        measure.set("number", bar.n)
        if (bar.index == 0 and bar.filled < bar.length) or not bar.n:
            measure.set("implicit", "yes")
        if bar.index == 0 and opening.new_page:
            put(measure, "print", new_page="yes")
        before = [c for c in main.changes.get(bar.index, ()) if c.offset == 0]
        attributes = _attributes(bar, before, main, ossia)
        if len(attributes):
            measure.append(attributes)
        now = before[-1].after if before else now
        line = left_barline(bars, bar.index, main.pen.music)
        if line is not None:
            measure.append(line)
        if bar.index == 0 and opening.title:
            measure.append(_title(opening.title, main.pen.staff))
        if ossia is not None:
            _back(measure, _ossia(measure, bar, ossia, now), main.pen)
        _staff(measure, bar, main, now)
        changes = main.changes.get(bar.index, ())
        now = changes[-1].after if changes else now
        line = right_barline(bars, bar.index, main.pen.music)
        if line is not None:
            measure.append(line)
        made.append(measure)
    return made


def _title(words: str, staff: str) -> Element:
    made = make("direction", placement="above")
    put(put(made, "direction-type"), "words", words, font_weight="bold", font_size="large")
    if staff:
        put(made, "staff", staff)
    return made


def _attributes(
    bar: Bar, changes: Sequence[Change], main: WrittenStaff, ossia: WrittenStaff | None
) -> Element:
    """Return the attributes at the beginning of a bar; empty where nothing changes."""
    made = make("attributes")
    first = bar.index == 0
    if first:
        put(made, "divisions", str(main.pen.divisions))
    found: dict[str, list[Element]] = {}
    if changes:
        whole = Change(Fraction(0), changes[0].before, changes[-1].after)
        found = dict(signature_elements(whole, main.pen.staff))
        if ossia is not None and "clef" in found:
            upper = signature_elements(whole, ossia.pen.staff)["clef"]
            found["clef"] = [*upper, *found["clef"]]
    made.extend(found.get("key", []))
    made.extend(found.get("time", []))
    if first and ossia is not None:
        put(made, "staves", "2")
        put(made, "part-symbol", "none")
    made.extend(found.get("clef", []))
    if ossia is not None:
        made.extend(_staff_details(bar.index, ossia))
    made.extend(found.get("transpose", []))
    return made


def _staff_details(bar: int, ossia: WrittenStaff) -> list[Element]:
    """Return what shows or hides the ossia's staff from this bar on, nothing where it stays."""
    sizes = ossia.sizes or {}
    now, before = sizes.get(bar), sizes.get(bar - 1)
    if bar > 0 and now == before:
        return []
    made = make("staff-details", number=ossia.pen.staff)
    made.set("print-object", "no" if now is None else "yes")
    put(made, "staff-type", "ossia")
    if now is not None:
        put(made, "staff-size", f"{now * 100:g}")
    return [made]


def _staff(measure: Element, bar: Bar, staff: WrittenStaff, now: Signatures) -> Fraction:
    """Write the voices of a staff in one bar; return the moment at which the last one ends."""
    pen = staff.pen
    here = pen.music.passage.events_in.get((pen.music.staff, bar.index), ())
    voices = [
        list(group)
        for _, group in groupby(sorted(here, key=lambda e: e.voice), key=lambda e: e.voice)
    ]
    placed = _placed(staff.directions.get(bar.index, ()), voices)
    inside = [c for c in staff.changes.get(bar.index, ()) if c.offset > 0]
    at = Fraction(0)
    if not voices:
        for direction in placed.get((0, 0), ()):
            measure.append(direction.element(round(direction.at.offset * pen.divisions), pen.staff))
        put(put(measure, "forward"), "duration", pen.length(bar.filled or bar.length))
        return bar.filled or bar.length
    for number, events in enumerate(voices):
        _back(measure, at, pen)
        at = Fraction(0)
        for index, event in enumerate(events):
            if number == 0:
                while inside and inside[0].offset <= event.onset:
                    now = inside[0].after
                    _change(measure, inside.pop(0), pen)
            _directions(measure, placed.get((number, index), ()), at, pen)
            if event.onset > at:
                put(put(measure, "forward"), "duration", pen.length(event.onset - at))
                at = event.onset
            measure.extend(elements_of(event, pen, int(now.transposition[1] / 12)))
            at = max(at, event.onset + event.duration)
        _directions(measure, placed.get((number, len(events)), ()), at, pen)
        if number == 0:
            for change in inside:
                _change(measure, change, pen)
    return at


def _ossia(measure: Element, bar: Bar, ossia: WrittenStaff, now: Signatures) -> Fraction:
    """Write the upper staff before the main one: programs take the first for the upper."""
    if bar.index in (ossia.sizes or {}):
        return _staff(measure, bar, ossia, now)
    measure.append(_unseen_rest(bar.filled or bar.length, ossia.pen))
    return bar.filled or bar.length


def _unseen_rest(quarters: Fraction, pen: Pen) -> Element:
    """Return what fills a staff that is hidden: programs take an empty one for a slip."""
    made = make("note", print_object="no")
    put(made, "rest", measure="yes")
    put(made, "duration", pen.length(quarters))
    put(made, "voice", str(pen.first_voice + 1))
    put(made, "staff", pen.staff)
    return made


def _back(measure: Element, quarters: Fraction, pen: Pen) -> None:
    if quarters:
        put(put(measure, "backup"), "duration", pen.length(quarters))


def _change(measure: Element, change: Change, pen: Pen) -> None:
    found = signature_elements(change, pen.staff)
    attributes = make("attributes")
    for name in ("key", "time", "clef", "transpose"):
        attributes.extend(found.get(name, []))
    if len(attributes):
        measure.append(attributes)


def _directions(measure: Element, directions: Sequence[Direction], at: Fraction, pen: Pen) -> None:
    for direction in directions:
        after = Fraction(0) if direction.last else direction.at.offset - at
        measure.append(direction.element(round(after * pen.divisions), pen.staff))


def _placed(
    directions: Sequence[Direction], voices: Sequence[Sequence[Event]]
) -> dict[tuple[int, int], list[Direction]]:
    """Return which directions stand before which event, by index of voice and event.

    Where no voice has an event at their time, they stand before the last that begins earlier.
    """
    placed: dict[tuple[int, int], list[Direction]] = {}
    ordered = sorted(directions, key=lambda d: (d.at.offset, not d.ends))
    for direction in ordered:
        placed.setdefault(_place_of(direction, voices), []).append(direction)
    return placed


def _place_of(direction: Direction, voices: Sequence[Sequence[Event]]) -> tuple[int, int]:
    offset = direction.at.offset
    for number, events in enumerate(voices):
        for index, event in enumerate(events):
            if event.onset == offset and (not event.grace or not direction.last):
                return (number, index + 1) if direction.last else (number, index)
    events = voices[0] if voices else ()
    if events and offset >= events[-1].onset + events[-1].duration:
        return 0, len(events)
    before = [index for index, event in enumerate(events) if event.onset <= offset]
    return 0, before[-1] if before else 0


def has_music(music: StaffMusic) -> frozenset[int]:
    """Return the bars in which a staff has more than silence."""
    return frozenset(e.bar for e in music.events if e.kind is not EventKind.SPACE)
