"""All that an encoding has otherwise on one staff of the text, compared once from end to end.

In come the text and an encoding laid beside it; out go differences of notes and of signs, each
where it is in the text, those in whole bars that one side lacks apart from the rest. What is told
of a place and what is told of the movement are both taken from here, so that they are the same.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from functools import cached_property

from pipeline.collation.bars import bar_end
from pipeline.collation.beside import Beside
from pipeline.collation.groups import Group, groups
from pipeline.collation.markings import (
    HELD_TO_NOTE,
    KIND_OF_MARKING,
    Placed,
    SignDifference,
    compare_markings,
    place_marking,
)
from pipeline.collation.model import Change, Difference, DifferenceKind, Side
from pipeline.collation.notes import compare_voice, pair_voices
from pipeline.collation.octave_signs import told_by_octave_signs
from pipeline.collation.sign_ends import with_end_of_note
from pipeline.collation.tempos import tempos_of_no_other_staff
from pipeline.score.model import Event, Marking, Moment, Passage

Events = tuple[Event, ...]


@dataclass(frozen=True)
class StaffComparison:
    """Differences on one staff.

    `notes` are by the text's bar, `signs` in no order. `notes_of_bars` and `signs_of_bars` are the
    same for what lies in bars that only one side has; what is added there is told at the bar that
    it follows.
    """

    notes: Mapping[int, tuple[Difference, ...]]
    signs: tuple[SignDifference, ...]
    notes_of_bars: Mapping[int, tuple[Difference, ...]]
    signs_of_bars: tuple[SignDifference, ...]

    @cached_property
    def signs_in(self) -> Mapping[int, tuple[SignDifference, ...]]:
        """All differences of signs by each bar of the text that they may touch."""
        found: dict[int, list[SignDifference]] = {}
        for sign in (*self.signs, *self.signs_of_bars):
            moments = [*sign.starts, *(moment for pair in sign.stretches for moment in pair)]
            bars = [moment.bar for moment in moments]
            for bar in range(min(bars), max(bars) + 1):
                found.setdefault(bar, []).append(sign)
        return {bar: tuple(signs) for bar, signs in found.items()}


class _Timing:
    """Turns moments of the encoding into moments of the text.

    Notes that are the same notes in another rhythm take the signs over them along, so that these
    are not taken for moved: `notes` has the moments of such notes by xml:id, for signs that hang on
    one; `onsets` the same by time, for signs that stand at a time. `added` is where bars stand that
    the text does not have.
    """

    def __init__(
        self,
        together: Iterable[Group],
        notes: Mapping[str, Moment],
        onsets: Mapping[Moment, Moment],
        added: Mapping[int, Moment],
    ) -> None:
        self._notes, self._onsets, self._added = notes, onsets, added
        self._groups = {
            bar: (group, start)
            for group in together
            if group.text
            for bar, start in group.reading_starts
        }

    def placed(self, sign: Marking) -> Placed:
        """Return a sign of the encoding at moments of the text."""
        moments = {sign.start: self._moment(sign.start, sign.start_id)}
        if sign.end is not None:
            moments.setdefault(sign.end, self._moment(sign.end, sign.end_id))
        return place_marking(sign, moments.__getitem__, self.by_time)

    def moment(self, moment: Moment) -> Moment:
        """Return a moment of the text, with the notes where these stand at another time."""
        return self._moment(moment, "")

    def _moment(self, moment: Moment, note: str) -> Moment:
        moved = self._notes.get(note) if note else self._onsets.get(moment)
        return self.by_time(moment) if moved is None else moved

    def by_time(self, moment: Moment) -> Moment:
        """Return the same time of the bar, whichever note stands there."""
        if moment.bar in self._groups:
            group, start = self._groups[moment.bar]
            return group.text_moment(start + moment.offset)
        return self._added.get(moment.bar, moment)


def compared(text: Passage, beside: Beside, staff: int) -> StaffComparison:
    """Return what the encoding has otherwise on that staff of the text; linear in its events.

    What was compared once is kept with `beside`, which a text has for as long as it is collated.
    """
    kept = beside.compared.get(staff)
    if kept is None or kept[0] is not text:
        kept = text, _compare(text, beside, staff)
        beside.compared[staff] = kept
    comparison: StaffComparison = kept[1]
    return comparison


def _compare(text: Passage, beside: Beside, staff: int) -> StaffComparison:
    other = beside.staves[staff]
    notes: dict[int, list[Difference]] = {}
    of_bars: dict[int, list[Difference]] = {}
    onsets: dict[Moment, Moment] = {}
    moved_notes: dict[str, Moment] = {}
    together = tuple(groups(text, beside))
    first_held = next((group.text[0] for group in together if group.text), 0)
    after = Moment(first_held, Fraction(0))
    added: dict[int, Moment] = {}
    for group in together:
        one = _joined(text, staff, group.text)
        two = _joined(beside.passage, other, group.reading)
        if not group.text:
            of_bars.setdefault(after.bar, []).extend(_added(two, staff, after))
            added.update((bar, after) for bar in group.reading)
            continue
        first = group.text[0]
        for voice_text, voice_reading in pair_voices(one, two):
            found = compare_voice(voice_text, voice_reading, staff, first)
            kept = notes if group.reading else of_bars
            for difference in found.differences:
                own = group.told(difference, text, beside.passage)
                kept.setdefault(own.start.bar, []).append(own)
            for onset_reading, onset_text in found.onsets:
                at = group.reading_moment(onset_reading), group.text_moment(onset_text)
                onsets.setdefault(*at)
            moved_notes |= _moved_notes(voice_reading, dict(found.onsets), group)
        after = bar_end(text, group.text[-1])
    timing = _Timing(together, moved_notes, onsets, added)
    signs, signs_of_bars = _signs(text, beside, staff, together, timing)
    _leave_out_open_ties(notes, text, beside)
    told, told_signs = told_by_octave_signs(_frozen(notes), signs)
    return StaffComparison(told, told_signs, _frozen(of_bars), signs_of_bars)


def _frozen(found: Mapping[int, list[Difference]]) -> Mapping[int, tuple[Difference, ...]]:
    return {bar: tuple(differences) for bar, differences in found.items()}


def _joined(passage: Passage, staff: int, bars: Sequence[int]) -> Events:
    """Return the events of bars that are one on the other side, counted from the first of them."""
    if len(bars) == 1:
        return passage.events_in.get((staff, bars[0]), ())
    events: list[Event] = []
    start = Fraction(0)
    for bar in bars:
        for event in passage.events_in.get((staff, bar), ()):
            events.append(replace(event, bar=bars[0], onset=event.onset + start))
        start += passage.bars[bar].filled
    return tuple(events)


def _added(events: Events, staff: int, at: Moment) -> Iterator[Difference]:
    if not any(event.heads for event in events):
        return
    for voice, other in pair_voices((), events):
        sides = Side(voice), Side(other)
        yield Difference(DifferenceKind.NOTES_ADDED, staff, at, at, *sides, Change.ADDED)


def _leave_out_open_ties(notes: dict[int, list[Difference]], text: Passage, beside: Beside) -> None:
    """Leave out ties into bars that were not encoded: the encoding says nothing of them."""
    last = max(beside.reading_bar, default=None)
    if last is None or last == len(text.bars) - 1 or last not in notes:
        return
    end = bar_end(text, last)
    notes[last] = [
        d
        for d in notes[last]
        if not (d.kind is DifferenceKind.TIE and d.change is Change.MISSING and d.end >= end)
    ]


def _signs(
    text: Passage, beside: Beside, staff: int, together: Iterable[Group], timing: _Timing
) -> tuple[tuple[SignDifference, ...], tuple[SignDifference, ...]]:
    """Compare the signs; those that lie in bars which the other side lacks by themselves."""
    other, reading = beside.staves[staff], beside.passage
    lacking = {bar for group in together if not group.reading for bar in group.text}
    adding = {bar for group in together if not group.text for bar in group.reading}
    held = sorted(beside.reading_bar)
    one = [
        with_end_of_note(place_marking(sign, _unmoved), text, _unmoved, text)
        for sign in _markings(text, staff, held)
    ]
    two = [
        with_end_of_note(timing.placed(sign), reading, timing.moment, text)
        for sign in _markings(reading, other, beside.text_bar)
    ]
    one, two = _within_what_is_encoded(one, two, text, held)
    alone_one = [sign for sign in one if _lies_in(sign, lacking)]
    alone_two = [sign for sign in two if _lies_in(sign, adding)]
    of_bars = *compare_markings(alone_one, (), staff), *compare_markings((), alone_two, staff)
    there = {id(sign) for sign in (*alone_one, *alone_two)}
    common = compare_markings(
        (sign for sign in one if id(sign) not in there),
        (sign for sign in two if id(sign) not in there),
        staff,
    )
    common = tempos_of_no_other_staff(common, text, reading, timing.by_time)
    return tuple(common), of_bars


def _moved_notes(
    voice: Events, onsets: Mapping[Fraction, Fraction], group: Group
) -> dict[str, Moment]:
    """Return where the text has the notes of a voice, by the xml:ids of events and note heads."""
    return {
        name: group.text_moment(onsets[event.onset])
        for event in voice
        if event.onset in onsets
        for name in (event.xml_id, *(head.xml_id for head in event.heads))
    }


def _unmoved(moment: Moment) -> Moment:
    return moment


def _markings(passage: Passage, staff: int, bars: Iterable[int]) -> Iterable[Marking]:
    """Return the signs that touch these bars, each once."""
    return {
        id(marking): marking
        for bar in bars
        for marking in passage.markings_in.get((staff, bar), ())
    }.values()


def _lies_in(sign: Placed, bars: set[int]) -> bool:
    marking = sign.marking
    first, end = marking.start.bar, marking.end or marking.start
    last = end.bar
    if KIND_OF_MARKING[marking.kind] not in HELD_TO_NOTE and end.offset == 0:
        last = max(first, last - 1)  # it ends with the bar before
    return all(bar in bars for bar in range(first, last + 1))


def _within_what_is_encoded(
    one: list[Placed], two: list[Placed], text: Passage, held: Sequence[int]
) -> tuple[list[Placed], list[Placed]]:
    """Leave out the text's signs that cross the border of what is encoded, and what answers them.

    The encoding can hold no such sign whole.
    """
    if not held:
        return one, two
    before = [sign for sign in one if sign.start.bar < held[0]]
    beyond = [sign for sign in one if sign.end.bar > held[-1]]
    if not before and not beyond:
        return one, two
    ends = {(KIND_OF_MARKING[sign.marking.kind], sign.end) for sign in before}
    starts = {(KIND_OF_MARKING[sign.marking.kind], sign.start) for sign in beyond}
    crossing = {id(sign) for sign in (*before, *beyond)}
    return (
        [sign for sign in one if id(sign) not in crossing],
        [
            sign
            for sign in two
            if (KIND_OF_MARKING[sign.marking.kind], sign.end) not in ends
            and (KIND_OF_MARKING[sign.marking.kind], sign.start) not in starts
        ],
    )
