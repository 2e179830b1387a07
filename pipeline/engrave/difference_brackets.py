"""Where a reading has other notes than the text: two corners above them, in the reading's staff.

Comes from the differences that COMPUTE found; goes into an excerpt as MEI `bracketSpan` elements.
The SVG keeps the corners only (`svg_for_print`), for a whole bracket looks like a down bow. A slur,
a hairpin or a dynamic that differs is seen by itself and gets none.
"""

from __future__ import annotations

from fractions import Fraction

from lxml import etree

from pipeline.collation.model import Comparison, Difference, DifferenceKind, Version
from pipeline.engrave.excerpts import Excerpt
from pipeline.engrave.markings import with_markings
from pipeline.engrave.mei_tree import mei
from pipeline.score.model import Event, Moment, Passage

BRACKETED = frozenset(
    {
        DifferenceKind.PITCH,
        DifferenceKind.ACCIDENTAL,
        DifferenceKind.RHYTHM,
        DifferenceKind.NOTES_ADDED,
        DifferenceKind.NOTES_MISSING,
        DifferenceKind.TIE,
        DifferenceKind.ARTICULATION,
        DifferenceKind.BOW_SIGN,
    }
)
"""What the eye can miss among the notes."""

DIFFERENCE_CLASS = "difference"
"""Class of the bracket in MEI (`@type`) and in the SVG."""

_SINGLE_NOTE = Fraction(3, 5)
"""How much of a single note's time its bracket covers: the head, not the room after it."""

Stretch = tuple[Moment, Moment]


def with_difference_brackets(
    excerpt: Excerpt, comparison: Comparison, text: Passage, text_bars: tuple[int, ...]
) -> Excerpt:
    """Return the reading's excerpt with a bracket above each stretch that differs.

    `text_bars` are the text's bars that stand above or below, so that moments of the text become
    moments of the reading. Where all that is shown differs there is nothing to point out.
    """
    added: list[tuple[int, etree._Element]] = []
    for start, end in stretches(comparison.differences, text):
        if start.bar not in text_bars or _is_everything(start, end, text_bars):
            continue
        events = _events_between(comparison.version, text_bars, start, end)
        if not events:
            continue
        if all(event.grace for event in events):
            events += _note_after(comparison.version, events[-1])
        bar = events[0].bar
        unit = excerpt.bars[bar - excerpt.first_bar].opening.beat_unit
        added.append((bar, difference_bracket(excerpt.prefix, events, unit)))
    return with_markings(excerpt, added)


def stretches(differences: tuple[Difference, ...], text: Passage) -> list[Stretch]:
    """Return the stretches of the text that differ among the notes, joined and in order."""
    found = sorted(
        (_in_next_bar(d.start, text), _in_next_bar(d.end, text))
        for d in differences
        if d.kind in BRACKETED
    )
    joined: list[Stretch] = []
    for start, end in found:
        if joined and start <= joined[-1][1]:
            joined[-1] = (joined[-1][0], max(joined[-1][1], end))
        else:
            joined.append((start, end))
    return joined


def _in_next_bar(moment: Moment, text: Passage) -> Moment:
    """The same moment, the end of a bar told as the beginning of the next."""
    if moment.bar < len(text.bars) and moment.offset >= text.bars[moment.bar].filled:
        return Moment(moment.bar + 1, Fraction(0))
    return moment


def _is_everything(start: Moment, end: Moment, text_bars: tuple[int, ...]) -> bool:
    from_the_first = start == Moment(text_bars[0], Fraction(0))
    return from_the_first and end >= Moment(text_bars[-1] + 1, Fraction(0))


def _events_between(
    version: Version, text_bars: tuple[int, ...], start: Moment, end: Moment
) -> list[Event]:
    """What the reading has in that stretch of the text, in the order of time."""
    text_bar_of = dict(zip(version.bars, text_bars, strict=False))
    found = [
        event
        for event in version.passage.events
        if event.staff == version.staff
        and event.bar in text_bar_of
        and _begins_inside(Moment(text_bar_of[event.bar], event.onset), start, end)
    ]
    return sorted(found, key=lambda event: (event.start, event.voice))


def _note_after(version: Version, grace: Event) -> list[Event]:
    """The note that a grace note leads to: it alone has a place in time that can be marked."""
    later = (
        event
        for event in version.passage.events
        if (event.staff, event.voice) == (grace.staff, grace.voice)
        and event.start == grace.start
        and not event.grace
    )
    return list(later)[:1]


def _begins_inside(moment: Moment, start: Moment, end: Moment) -> bool:
    return start <= moment < end or moment == start == end


def difference_bracket(prefix: str, events: list[Event], beat_unit: int) -> etree._Element:
    """Return the bracket above these events of an excerpt with that prefix, in order of time."""
    first, last = events[0], events[-1]
    line = etree.Element(mei("bracketSpan"), lform="solid", place="above", type=DIFFERENCE_CLASS)
    line.set("lstartsym", "angledown")
    line.set("lendsym", "angledown")
    if first.start < last.start or first.grace:
        line.set("startid", f"#{prefix}{first.xml_id}")
        line.set("endid", f"#{prefix}{last.xml_id}")
        return line
    onset = first.onset * beat_unit / 4 + 1
    length = max(first.duration, Fraction(1, 8)) * beat_unit / 4 * _SINGLE_NOTE
    line.set("tstamp", f"{float(onset):.6g}")
    line.set("tstamp2", f"0m+{float(onset + min(length, _SINGLE_NOTE)):.6g}")
    return line
