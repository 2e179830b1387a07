"""What a version has otherwise than the text within a place.

In come the text, a resolved span and a version (see `pipeline.collation.model`); out go the
differences in the order of time. Whole bars are compared, then what lies outside the place is left
out, so that a place of one note sees its note in its bar. Nothing that came in is changed.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from dataclasses import replace

from pipeline.collation.bar_signs import bar_signs_in, covers
from pipeline.collation.bars import (
    Timing,
    bar_end,
    bars_of,
    lies_in_added_bars,
    pair_bars,
    timing,
)
from pipeline.collation.beside import BarPair, Beside
from pipeline.collation.markings import Placed, SignDifference, compare_markings, place_marking
from pipeline.collation.model import Change, Difference, DifferenceKind, Side, Version
from pipeline.collation.notes import compare_opening_tie, compare_voice, pair_voices
from pipeline.collation.sign_ends import with_end_of_note
from pipeline.collation.staff_comparison import StaffComparison, compared
from pipeline.score.model import Event, Moment, Passage, Span

_ORDER = {kind: index for index, kind in enumerate(DifferenceKind)}


def differences(text: Passage, span: Span, version: Version) -> tuple[Difference, ...]:
    """Return what the version has otherwise, by time and kind.

    `text` is the movement's base text that `span` was resolved in. Linear in the events of the
    bars concerned; an encoding laid beside the text is compared once, for all its places.
    """
    if version.beside is not None:
        return _of_encoding(text, span, version.beside)
    return _of_fragment(text, span, version)


def _of_encoding(text: Passage, span: Span, beside: Beside) -> tuple[Difference, ...]:
    comparison = compared(text, beside, span.staff)
    bars = [bar for bar in bars_of(span) if bar < len(text.bars)]
    notes = [
        difference
        for found in (comparison.notes, comparison.notes_of_bars)
        for bar in bars
        for difference in found.get(bar, ())
    ]
    kept = [*_inside(notes, text, span), *_opening_ties(text, span, beside, comparison)]
    touching = (comparison.signs_in.get(bar, ()) for bar in (*bars, span.end.bar))
    signs = {id(sign): sign for found in touching for sign in found}
    kept += [sign.difference for sign in signs.values() if sign.touches(span)]
    if not span.whole_bars:  # what is added follows whole bars and has nothing to do with one note
        kept = [difference for difference in kept if not lies_in_added_bars(difference, beside)]
    of_bars = bar_signs_in(text, beside)
    kept += [sign for bar in bars for sign in of_bars.get(bar, ()) if covers(span, sign)]
    return _in_order(kept)


def _opening_ties(
    text: Passage, span: Span, beside: Beside, comparison: StaffComparison
) -> Iterator[Difference]:
    """Yield the ties from before the place to its first notes; others are told where they begin."""
    for first in {note.voice: note for note in reversed(span.notes) if not note.grace}.values():
        reading = beside.reading_bar.get(first.bar)
        begins = first.bar == min(beside.reading_bar, default=0) > 0
        if reading is None or begins:
            continue
        one = _events(text, span.staff, first.bar)
        other = _events(beside.passage, beside.staves[span.staff], reading)
        for ours, theirs in pair_voices(one, other):
            if ours and ours[0].voice == first.voice:
                for tie in compare_opening_tie(first, theirs, span.staff):
                    yield replace(tie, tied_from=_tie_into(first, text, comparison))


def _tie_into(first: Event, text: Passage, comparison: StaffComparison) -> Difference | None:
    """Return how a tie to a note differs, as it is told at the note where it begins."""
    ends = {first.start}
    if first.onset == 0 and first.bar > 0:
        ends.add(bar_end(text, first.bar - 1))
    return next(
        (
            tie
            for bar in (first.bar, first.bar - 1)
            for tie in comparison.notes.get(bar, ())
            if tie.kind is DifferenceKind.TIE
            and tie.end in ends
            and tie.text.events
            and tie.text.events[0].voice == first.voice
        ),
        None,
    )


def _in_order(found: Iterable[Difference]) -> tuple[Difference, ...]:
    return tuple(sorted(found, key=lambda d: (d.start, d.end, _ORDER[d.kind])))


def _of_fragment(text: Passage, span: Span, version: Version) -> tuple[Difference, ...]:
    """Compare music that holds the bars of the place and no others.

    It says nothing of a tie or a sign that crosses the border of these bars.
    """
    pairs = pair_bars(text, span, version)
    notes, onsets = _compare_notes(text, span, version, pairs)
    kept = [d for d in _inside(notes, text, span) if not _tie_out_of_place(d, text, span)]
    signs = _compare_signs(text, span, version, timing(pairs, onsets))
    kept += [sign.difference for sign in signs if sign.touches(span)]
    return _in_order(kept)


def _compare_notes(
    text: Passage, span: Span, version: Version, pairs: Iterable[BarPair]
) -> tuple[list[Difference], dict[Moment, Moment]]:
    found: list[Difference] = []
    onsets: dict[Moment, Moment] = {}
    for pair in pairs:
        one = _events(text, span.staff, pair.text)
        other = _events(version.passage, version.staff, pair.reading)
        if pair.text is None:
            found += _added_bar(text, span, other)
            continue
        for voice_text, voice_reading in pair_voices(one, other):
            compared_voice = compare_voice(voice_text, voice_reading, span.staff, pair.text)
            found += compared_voice.differences
            for onset_reading, onset_text in compared_voice.onsets:
                if pair.reading is not None:
                    onsets.setdefault(
                        Moment(pair.reading, onset_reading), Moment(pair.text, onset_text)
                    )
    return found, onsets


def _tie_out_of_place(difference: Difference, text: Passage, span: Span) -> bool:
    return (
        difference.kind is DifferenceKind.TIE
        and difference.change is Change.MISSING
        and difference.end >= bar_end(text, bars_of(span)[-1])
    )


def _events(passage: Passage, staff: int, bar: int | None) -> tuple[Event, ...]:
    return () if bar is None else passage.events_in.get((staff, bar), ())


def _added_bar(text: Passage, span: Span, events: tuple[Event, ...]) -> list[Difference]:
    """Return a bar that only the version has, placed where the last bar of the place ends."""
    if not any(e.heads for e in events):
        return []
    at = bar_end(text, bars_of(span)[-1])
    return [
        Difference(
            DifferenceKind.NOTES_ADDED, span.staff, at, at, Side(voice), Side(other), Change.ADDED
        )
        for voice, other in pair_voices((), events)
    ]


def _compare_signs(
    text: Passage, span: Span, version: Version, when: Timing
) -> list[SignDifference]:
    bars = bars_of(span)
    one = _placed(text, span.staff, bars, lambda moment: moment, text)
    one = [p for p in one if bars[0] <= p.start.bar and p.end.bar <= bars[-1]]
    other = _placed(version.passage, version.staff, version.bars, when.in_text, text)
    return compare_markings(one, other, span.staff)


def _placed(
    passage: Passage,
    staff: int,
    bars: Iterable[int],
    in_text: Callable[[Moment], Moment],
    text: Passage,
) -> list[Placed]:
    found = {
        id(marking): marking
        for bar in bars
        for marking in passage.markings_in.get((staff, bar), ())
    }
    placed = (place_marking(marking, in_text) for marking in found.values())
    return [with_end_of_note(sign, passage, in_text, text) for sign in placed]


def _inside(found: Iterable[Difference], text: Passage, span: Span) -> Iterator[Difference]:
    """Yield the differences of notes that the place holds, wholly or in part."""
    of_place = {event.xml_id for event in span.events}
    for difference in found:
        if difference.text.events:
            if any(event.xml_id in of_place for event in difference.text.events):
                yield difference
        elif _added_inside(difference, span) and _voice_inside(difference, text, span):
            yield difference


def _added_inside(difference: Difference, span: Span) -> bool:
    if difference.start == difference.end:
        return span.start <= difference.start <= span.end
    return difference.start < span.end and span.start < difference.end


def _voice_inside(difference: Difference, text: Passage, span: Span) -> bool:
    """Return whether a voice that the text lacks here belongs to a place that may name a voice."""
    of_place = {event.voice for event in span.events}
    of_text = {
        event.voice
        for bar in bars_of(span)
        for event in text.events_in.get((span.staff, bar), ())
        if span.start <= event.start < span.end
    }
    return of_place == of_text or difference.reading.events[0].voice in of_place
