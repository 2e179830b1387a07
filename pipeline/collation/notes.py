"""What two versions of one bar in one voice have differently in their notes.

In come the events of one voice of one bar on both sides; out go differences, each with the
shortest run on both sides that begins and ends together in time, and which notes are the same
notes at another time. Silence equals silence however it is written.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction

from pipeline.collation.heads import compare_articulations, compare_chord, compare_ties_ended
from pipeline.collation.model import Change, Difference, DifferenceKind, Side
from pipeline.score.model import Event, Moment, Pitch

Events = tuple[Event, ...]


@dataclass(frozen=True)
class Run:
    """Events of both sides between two times (quarter notes) at which both begin or end one."""

    start: Fraction
    end: Fraction
    text: Events
    reading: Events


@dataclass(frozen=True)
class VoiceComparison:
    """The differences of a voice in a bar; `onsets` pairs onsets of notes that correspond.

    Where nothing differs there are no pairs: every onset corresponds to itself.
    """

    differences: tuple[Difference, ...]
    onsets: tuple[tuple[Fraction, Fraction], ...]


def compare_voice(text: Events, reading: Events, staff: int, bar: int) -> VoiceComparison:
    """Compare one voice of one bar; `bar` is the text's index.

    A tie is told at the note where it begins; see `compare_opening_tie` for the other end.
    """
    if _same_throughout(text, reading):
        return VoiceComparison((), ())
    differences: list[Difference] = []
    onsets: list[tuple[Fraction, Fraction]] = []
    for run in _runs(_measured(text), _measured(reading)):
        differences += _classify(run, staff, bar)
        onsets += [(r.onset, t.onset) for t, r in _same_notes(run)]
    differences += _compare_graces(text, reading, dict(onsets), staff, bar)
    return VoiceComparison(tuple(differences), tuple(onsets))


def pair_voices(text: Events, reading: Events) -> list[tuple[Events, Events]]:
    """Pair voices of the same number, then what is left in order: numbers are not music."""
    one, other = _by_voice(text), _by_voice(reading)
    shared = [voice for voice in one if voice in other]
    left_text = [voice for voice in one if voice not in other]
    left_reading = [voice for voice in other if voice not in one]
    pairs = [(one[voice], other[voice]) for voice in shared]
    for index in range(max(len(left_text), len(left_reading))):
        pairs.append(
            (
                one[left_text[index]] if index < len(left_text) else (),
                other[left_reading[index]] if index < len(left_reading) else (),
            )
        )
    return pairs


def _by_voice(events: Events) -> dict[int, Events]:
    found: dict[int, list[Event]] = {}
    for event in events:
        found.setdefault(event.voice, []).append(event)
    return {voice: tuple(found[voice]) for voice in sorted(found)}


def _same_throughout(text: Events, reading: Events) -> bool:
    """Return whether nothing differs, event for event: most bars of most witnesses, told fast."""
    return len(text) == len(reading) and all(
        one.onset == other.onset
        and one.duration == other.duration
        and one.written == other.written
        and one.grace == other.grace
        and one.articulations == other.articulations
        and len(one.heads) == len(other.heads)
        and all(
            a.pitch == b.pitch
            and a.accidental == b.accidental
            and a.tie == b.tie
            and a.shape == b.shape
            for a, b in zip(one.heads, other.heads, strict=True)
        )
        for one, other in zip(text, reading, strict=True)
    )


def _measured(events: Events) -> Events:
    return tuple(sorted((e for e in events if not e.grace), key=lambda e: e.onset))


def _end(events: Events) -> Fraction:
    return max((e.onset + e.duration for e in events), default=Fraction(0))


def _runs(text: Events, reading: Events) -> Iterator[Run]:
    """Cut the bar where both sides are between two events.

    Where one side lacks or has more time than the other, what agrees from the front and from the
    back is set apart first, so that one missing note does not make all later ones differ.
    """
    if not text or not reading:
        start = min((e.onset for e in text or reading), default=Fraction(0))
        yield Run(start, max(start, _end(text or reading)), text, reading)
        return
    if _end(text) == _end(reading):
        yield from _overlapping(text, reading)
        return
    front = _agreeing(text, reading, lambda e: (e.onset, e.duration, e.pitches))
    rest_text, rest_reading = text[front:], reading[front:]
    text_end, reading_end = _end(text), _end(reading)
    back = 0
    while back < min(len(rest_text), len(rest_reading)) and _from_end(
        rest_text[-1 - back], text_end
    ) == _from_end(rest_reading[-1 - back], reading_end):
        back += 1
    yield from _overlapping(text[:front], reading[:front])
    middle_text = rest_text[: len(rest_text) - back]
    middle_reading = rest_reading[: len(rest_reading) - back]
    start = _end(text[:front])
    yield Run(start, max(start, _end(middle_text)), middle_text, middle_reading)
    for one, other in zip(
        rest_text[len(middle_text) :], rest_reading[len(middle_reading) :], strict=True
    ):
        yield Run(one.onset, one.onset + one.duration, (one,), (other,))


def _agreeing(text: Events, reading: Events, key: Callable[[Event], object]) -> int:
    count = 0
    for one, other in zip(text, reading, strict=False):
        if key(one) != key(other):
            break
        count += 1
    return count


def _from_end(event: Event, end: Fraction) -> tuple[Fraction, Fraction, tuple[Pitch, ...]]:
    return end - event.onset, event.duration, event.pitches


def _overlapping(text: Events, reading: Events) -> Iterator[Run]:
    """Group events that overlap in time: the union of their intervals, one run each."""
    both = sorted(
        [(e.onset, False, e) for e in text] + [(e.onset, True, e) for e in reading],
        key=lambda row: (row[0], row[1]),
    )
    group: list[tuple[bool, Event]] = []
    start = reach = Fraction(0)
    for onset, of_reading, event in both:
        if group and onset >= reach and reach > start:
            yield _run(start, reach, group)
            group = []
        if not group:
            start = reach = onset
        group.append((of_reading, event))
        reach = max(reach, onset + event.duration)
    if group:
        yield _run(start, reach, group)


def _run(start: Fraction, end: Fraction, group: Sequence[tuple[bool, Event]]) -> Run:
    return Run(
        start,
        end,
        tuple(event for of_reading, event in group if not of_reading),
        tuple(event for of_reading, event in group if of_reading),
    )


def _sounding(events: Events) -> Events:
    return tuple(e for e in events if e.heads)


def _struck(events: Events) -> tuple[frozenset[Pitch], ...]:
    """Return the pitches in order, without notes that only prolong the one before by a tie."""
    return tuple(
        frozenset(e.pitches)
        for index, e in enumerate(events)
        if index == 0 or any(head.tie not in {"m", "t"} for head in e.heads)
    )


def _same_notes(run: Run) -> list[tuple[Event, Event]]:
    """Pair notes that correspond: all in order, or what is alike from both ends of the run."""
    text, reading = _sounding(run.text), _sounding(run.reading)
    if len(text) == len(reading):
        return list(zip(text, reading, strict=True))
    front = _agreeing(text, reading, lambda e: e.pitches)
    back = _agreeing(text[front:][::-1], reading[front:][::-1], lambda e: e.pitches)
    pairs = [*zip(text[:front], reading[:front], strict=True)]
    if back:
        pairs += zip(text[-back:], reading[-back:], strict=True)
    return pairs


def _classify(run: Run, staff: int, bar: int) -> list[Difference]:
    text, reading = _sounding(run.text), _sounding(run.reading)
    if not text and not reading:
        return []
    start, end = Moment(bar, run.start), Moment(bar, run.end)

    def differ(kind: DifferenceKind, change: Change = Change.OTHERWISE) -> Difference:
        return Difference(kind, staff, start, end, Side(run.text), Side(run.reading), change)

    if not reading:
        return [differ(DifferenceKind.NOTES_MISSING, Change.MISSING)]
    if not text:
        return [differ(DifferenceKind.NOTES_ADDED, Change.ADDED)]
    if len(run.text) == len(run.reading) == 1 and text[0].duration == reading[0].duration:
        return [
            Difference(kind, staff, start, end, Side(text), Side(reading), change)
            for kind, change in compare_chord(text[0], reading[0])
        ]
    found = [differ(kind, change) for kind, change in _compare_runs(text, reading)]
    for one, other in _same_notes(run):
        found += [
            Difference(
                kind, staff, Moment(bar, one.onset), Moment(bar, one.onset + one.duration),
                Side((one,)), Side((other,)), change,
            )
            for kind, change in compare_articulations(one, other)
        ]  # fmt: skip
    return found


def _compare_runs(text: Events, reading: Events) -> list[tuple[DifferenceKind, Change]]:
    """Name what differs between runs of which at least one has several events."""
    struck_text, struck_reading = _struck(text), _struck(reading)
    if struck_text == struck_reading:
        return [(DifferenceKind.RHYTHM, Change.OTHERWISE)]
    if _contains(struck_text, struck_reading):
        return [(DifferenceKind.NOTES_MISSING, Change.MISSING)]
    if _contains(struck_reading, struck_text):
        return [(DifferenceKind.NOTES_ADDED, Change.ADDED)]
    found = [(DifferenceKind.PITCH, Change.OTHERWISE)]
    if len(text) == len(reading):
        found.append((DifferenceKind.RHYTHM, Change.OTHERWISE))
    return found


def _contains(longer: Sequence[object], shorter: Sequence[object]) -> bool:
    """Return whether `shorter` is `longer` with some members left out."""
    left = iter(longer)
    return len(shorter) < len(longer) and all(any(a == b for a in left) for b in shorter)


def _compare_graces(
    text: Events, reading: Events, onsets: dict[Fraction, Fraction], staff: int, bar: int
) -> list[Difference]:
    """Compare the grace notes before each main note; their differences take no time."""
    groups: dict[Fraction, tuple[list[Event], list[Event]]] = {}
    for event in (e for e in text if e.grace):
        groups.setdefault(event.onset, ([], []))[0].append(event)
    for event in (e for e in reading if e.grace):
        onset = onsets.get(event.onset, event.onset)
        groups.setdefault(onset, ([], []))[1].append(event)
    found = []
    for onset, (one, other) in sorted(groups.items(), key=lambda row: row[0]):
        at = Moment(bar, onset)
        found += [
            Difference(kind, staff, at, at, Side(a), Side(b), change)
            for kind, change, a, b in _compare_grace_group(tuple(one), tuple(other))
        ]
    return found


def _compare_grace_group(
    text: Events, reading: Events
) -> list[tuple[DifferenceKind, Change, Events, Events]]:
    if len(text) == len(reading):
        rows: list[tuple[DifferenceKind, Change, Events, Events]] = []
        for one, other in zip(text, reading, strict=True):
            kinds = compare_chord(one, other)
            if one.written != other.written:
                kinds = (*kinds, (DifferenceKind.RHYTHM, Change.OTHERWISE))
            rows += [(kind, change, (one,), (other,)) for kind, change in kinds]
        return rows
    front = _agreeing(text, reading, lambda e: e.pitches)
    text, reading = text[front:], reading[front:]
    back = _agreeing(text[::-1], reading[::-1], lambda e: e.pitches)
    text, reading = text[: len(text) - back], reading[: len(reading) - back]
    if not reading:
        return [(DifferenceKind.NOTES_MISSING, Change.MISSING, text, reading)]
    if not text:
        return [(DifferenceKind.NOTES_ADDED, Change.ADDED, text, reading)]
    return [(kind, change, text, reading) for kind, change in _compare_runs(text, reading)]


def compare_opening_tie(first: Event, reading: Events, staff: int) -> list[Difference]:
    """Return how a tie to the first note of a place, from before it, differs."""
    other = next((e for e in _measured(reading) if e.onset == first.onset and e.heads), None)
    change = compare_ties_ended(first, other) if other is not None else None
    if other is None or change is None:
        return []
    sides = Side((first,)), Side((other,))
    return [Difference(DifferenceKind.TIE, staff, first.start, first.end, *sides, change)]
