"""Phrases for differences of markings that have a place or an extent: slurs, dynamics, words."""

from __future__ import annotations

from fractions import Fraction

from markupsafe import Markup

from pipeline.collation.bar_signs import KINDS_OF_BARS
from pipeline.collation.model import Change, Difference, Version
from pipeline.score.model import Event, Marking, MarkingKind, Moment, Passage
from pipeline.typeset.note_phrases import Said
from pipeline.typeset.places import Locator
from pipeline.typeset.signs import dynamic
from pipeline.typeset.wording import Wording


def say_marking(difference: Difference, version: Version, locator: Locator) -> Said:
    """Return what there is to say about a marking that one side has, or both have otherwise."""
    wording = locator.wording
    ours, theirs = difference.text.marking, difference.reading.marking
    if difference.kind in KINDS_OF_BARS:
        return say_bar_sign(difference, locator)
    if theirs is None and ours is not None:
        phrase = wording.say("differences.lacking", n=1, what=marking_name(ours, wording))
        grace = begins_at_grace_note(ours, locator.passage)
        return fixed(phrase, _where(ours, *_extent_in_text(ours, locator), grace, locator))
    if ours is None and theirs is not None:
        phrase = wording.say("differences.with", n=1, what=marking_name(theirs, wording))
        start, end = _extent_in_reading(theirs, version, locator)
        grace = begins_at_grace_note(theirs, version.passage)
        return fixed(phrase, _where(theirs, start or difference.start, end, grace, locator))
    if ours is None or theirs is None:
        raise ValueError("a difference of markings without a marking")
    return _changed(ours, theirs, difference, version, locator)


def marking_name(marking: Marking, wording: Wording) -> Markup:
    """Return what the marking is called: *p*, “dolce”, slur, crescendo hairpin, fingering 3."""
    match marking.kind:
        case MarkingKind.DYNAMIC:
            return dynamic(marking.content)
        case MarkingKind.WORDS | MarkingKind.TEMPO:
            return wording.quoted(Markup("<i>{}</i>").format(marking.content))
        case MarkingKind.HAIRPIN:
            return wording.say(f"markings.{marking.content or 'hairpin'}")
        case MarkingKind.FINGERING:
            return Markup("{} {}").format(wording.say("markings.fing"), marking.content)
        case MarkingKind.METER:
            return Markup.escape(marking.content)
        case MarkingKind.REPEAT:
            return wording.say("markings.repeat", where=_where_repeated(marking, wording))
        case MarkingKind.ENDING:
            return wording.say("markings.ending", None, number=marking.content)
        case MarkingKind.TURN if marking.content == "lower":
            return wording.say("markings.turn_lower")
        case MarkingKind.MORDENT if marking.content == "upper":
            return wording.say("markings.mordent_upper")
        case _:
            return wording.say(f"markings.{marking.kind.value}")


def fixed(phrase: Markup, where: Markup | None = None) -> Said:
    """Return a phrase that is the same for one and for several."""
    return Said(lambda _: phrase, where=where)


def say_bar_sign(difference: Difference, locator: Locator) -> Said:
    """Return what there is to say about a meter, a repeat sign or an ending of a bar."""
    wording = locator.wording
    ours, theirs = difference.text.marking, difference.reading.marking
    where = None
    if not locator.one_bar:
        where = wording.say("place.bar", bar=locator.passage.bars[difference.start.bar].n)
    if ours is not None and theirs is not None:
        names = {"reading": marking_name(theirs, wording), "text": marking_name(ours, wording)}
        return fixed(wording.say("differences.instead", None, **names), where)
    key = "lacking" if theirs is None else "with"
    marking = ours or theirs
    if marking is None:
        raise ValueError("a difference of signs without a sign")
    if marking.kind is MarkingKind.REPEAT:
        return fixed(wording.say(f"repeats.{key}", where=_where_repeated(marking, wording)), where)
    what = marking_name(marking, wording)
    return fixed(wording.say(f"differences.{key}", n=1, what=what), where)


def _where_repeated(marking: Marking, wording: Wording) -> Markup:
    return wording.say(f"repeats.{marking.content.replace(' ', '_')}")


def _changed(
    ours: Marking, theirs: Marking, difference: Difference, version: Version, locator: Locator
) -> Said:
    wording = locator.wording
    name, other = marking_name(ours, wording), marking_name(theirs, wording)
    start, _ = _extent_in_text(ours, locator)
    first, last = _extent_in_reading(theirs, version, locator)
    match difference.change:
        case Change.DIVIDED | Change.JOINED:
            parts = difference.reading.parts or (theirs,)
            extents = (_extent_in_reading(part, version, locator) for part in parts)
            named = [locator.extent(begin, end) for begin, end in extents if begin is not None]
            key = f"differences.{difference.change.value}"
            return fixed(wording.say(key, what=name, where=Markup("; ").join(named)))
        case Change.ENDS_ELSEWHERE if last is not None:
            return fixed(wording.say("differences.to", what=name, where=locator.moment(last)))
        case Change.STARTS_ELSEWHERE if first is not None:
            return fixed(wording.say("differences.from", what=name, where=locator.moment(first)))
        case Change.MOVED if first is not None and last is not None and first != last:
            ends = {"first": locator.moment(first), "last": locator.moment(last)}
            return fixed(wording.say("differences.from_to", None, what=name, **ends))
        case Change.MOVED if first is not None:
            return fixed(_moved(name, start, first, locator))
    where = _where(ours, start, None, begins_at_grace_note(ours, locator.passage), locator)
    if name == other:
        return fixed(wording.say("differences.different", what=name), where)
    if ours.kind is theirs.kind is MarkingKind.FINGERING:
        digits = {"reading": theirs.content, "text": ours.content}
        return fixed(wording.say("differences.fingering", None, **digits), where)
    return fixed(wording.say("differences.instead", reading=other, text=name), where)


def _moved(name: Markup, ours: Moment, theirs: Moment, locator: Locator) -> Markup:
    passage, wording = locator.passage, locator.wording
    quarters = _quarters_from_start(passage, theirs) - _quarters_from_start(passage, ours)
    beats = quarters / passage.bars[ours.bar].beat
    if beats.denominator != 1:
        return wording.say("differences.moved", what=name, where=locator.moment(theirs))
    key = "differences.later" if beats > 0 else "differences.earlier"
    return wording.say(key, n=abs(int(beats)), what=name)


def _quarters_from_start(passage: Passage, moment: Moment) -> Fraction:
    return sum((bar.filled for bar in passage.bars[: moment.bar]), start=moment.offset)


def begins_at_grace_note(marking: Marking, passage: Passage) -> bool:
    """Return whether a marking hangs on a grace note, or begins with one."""
    note = passage.by_id.get(marking.start_id) if marking.start_id else None
    return note is not None and note.grace


def _where(
    marking: Marking, start: Moment, end: Moment | None, grace: bool, locator: Locator
) -> Markup | None:
    """Return where a sign is, or None where that is plain: it begins or spans the place.

    A digit belongs to one note and is plain only where there is no other.
    """
    span = locator.span
    notes = span.notes
    if marking.kind is MarkingKind.FINGERING and len(notes) > 1:
        return locator.moment(start, grace)
    last = notes[-1].start if notes else span.start
    first = notes[0].start if notes else span.start
    if end is None or (end == start and not grace):
        return None if start in {span.start, first} else locator.moment(start, grace)
    if start in {span.start, first} and end >= last:
        return None
    return locator.extent(start, end, grace)


def _extent_in_text(marking: Marking, locator: Locator) -> tuple[Moment, Moment | None]:
    note = locator.passage.by_id.get(marking.end_id) if marking.end_id else None
    return marking.start, note.start if note is not None else marking.end


def _extent_in_reading(
    marking: Marking, version: Version, locator: Locator
) -> tuple[Moment | None, Moment | None]:
    return (
        _in_text(marking.start_id, marking.start, version, locator),
        _in_text(marking.end_id, marking.end, version, locator) if marking.end else None,
    )


def _in_text(attached: str, moment: Moment, version: Version, locator: Locator) -> Moment | None:
    """Return the moment of the text that answers a moment of a version.

    A note answers the note of the same number where both bars have as many; otherwise the same
    time in the same bar does. A bar of an encoding answers the one that it lies beside; other bars
    answer each other by their order in the place, then by number.
    """
    note = version.passage.by_id.get(attached)
    bar = _bar_in_text(note.bar if note else moment.bar, version, locator)
    if bar is None:
        return None
    if note is not None:
        ours = _numbered(locator.passage, locator.span.staff, bar)
        theirs = _numbered(version.passage, version.staff, note.bar)
        if note in theirs and len(ours) == len(theirs):
            return ours[theirs.index(note)].start
    return Moment(bar, note.onset if note else moment.offset)


def _bar_in_text(bar: int, version: Version, locator: Locator) -> int | None:
    if version.beside is not None:
        return version.beside.text_bar.get(bar)
    if bar in version.bars:
        answering = locator.span.start.bar + version.bars.index(bar)
        return answering if answering < len(locator.passage.bars) else None
    if bar >= len(version.passage.bars):
        return None
    return locator.passage.bar_index.get(version.passage.bars[bar].n)


def _numbered(passage: Passage, staff: int, bar: int) -> list[Event]:
    return [event for event in passage.events_in.get((staff, bar), ()) if event.number]
