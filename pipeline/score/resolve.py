"""A place as an editor wrote it in, the span of the score that it means out.

Beats are counted as `Bar.beat` has them: the meter's unit, the dotted quarter in 6/8, 9/8, 12/8.
They are counted from the first note of the bar, also in an upbeat. A beat that falls inside a
longer note takes that note; a whole beat as the end takes all of that beat, a fraction of a beat
(2.5) just what sounds there. Whatever does not exist is answered by what does.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from math import ceil
from typing import Never

from pipeline.edition.model import FiledRecord, Step
from pipeline.edition.places import Place
from pipeline.problems import Origin, Outcome, Problem, error
from pipeline.score.mei_names import whole_number
from pipeline.score.model import Bar, Event, Moment, Movement, Passage, Score, Span
from pipeline.score.pitch_names import helmholtz


@dataclass(frozen=True)
class _Edge:
    """One end of a place: a bar, perhaps a beat or a note, and the keys it is written under."""

    bar: Bar
    beat: Fraction | None
    note: int | None
    path: tuple[Step, ...]


class _Nowhere(Exception):  # noqa: N818 -- carries the problem to `resolve`, never leaves the module
    """The place does not resolve; holds what to tell."""

    def __init__(self, problem: Problem) -> None:
        super().__init__(problem.message)
        self.problem = problem


def resolve(place: Place, score: Score, edited_staff: int, filed: FiledRecord) -> Outcome[Span]:
    """Return what stands at a place, or the problem that says what stands there instead.

    `filed` is the record that the place is from, for the line that is told.
    """
    try:
        return Outcome(_Search(place, score, edited_staff, filed).span())
    except _Nowhere as nowhere:
        return Outcome(None, (nowhere.problem,))


class _Search:
    def __init__(self, place: Place, score: Score, edited_staff: int, filed: FiledRecord) -> None:
        self._place = place
        self._score = score
        self._edited_staff = edited_staff
        self._filed = filed
        self._words = f"movement {place.movement}, bar {place.bar}"

    def span(self) -> Span:
        place = self._place
        movement = self._movement()
        passage = movement.passage
        staff = self._staff(passage)
        name = staff_name(passage, staff)
        first = _Edge(self._bar(passage, place.bar, ("bar",)), place.beat, place.note, ())
        self._words = f"{self._words}, {name}"
        last = self._last(passage, first)
        if last.bar.index < first.bar.index:
            self._refuse(
                "place-ends-before-it-begins",
                ("to", "bar"),
                f"the place begins in bar {first.bar.n} and ends in bar {last.bar.n}, which is "
                "before it",
                "Exchange the two bars.",
            )
        events = self._events_of(passage, staff, first.bar.index, last.bar.index)
        start_index, start = self._start(first, events, name)
        end_index, end = self._end(last, events, name)
        chosen = events[start_index:end_index]
        if end < start or end_index < start_index or (end == start and not chosen):
            self._refuse(
                "place-ends-before-it-begins",
                ("to",) if place.to is not None else ("bar",),
                "the end of the place comes before its beginning",
                "Exchange the two, or correct the beat or note.",
            )
        return Span(movement.n, staff, start, end, chosen, _whole(first) and _whole(last))

    def _movement(self) -> Movement:
        for movement in self._score.movements:
            if movement.n == self._place.movement:
                return movement
        numbers = [str(movement.n) for movement in self._score.movements]
        there = _listed(numbers, "movement", "movements")
        return self._refuse(
            "no-such-movement",
            ("movement",),
            f"there is no movement {self._place.movement}; the score has {there}",
            "Write the number of one of these.",
        )

    def _staff(self, passage: Passage) -> int:
        wanted = self._place.staff
        if wanted is None:
            wanted = self._edited_staff
        if isinstance(wanted, str):
            number = whole_number(wanted.strip())
            wanted = wanted if number is None else number
        if isinstance(wanted, int):
            found = [staff.n for staff in passage.staves if staff.n == wanted]
        else:
            sought = " ".join(wanted.split()).casefold()
            found = [s.n for s in passage.staves if " ".join(s.label.split()).casefold() == sought]
        if len(found) == 1:
            return found[0]
        there = ", ".join(f"{staff.n} {staff.label}".strip() for staff in passage.staves)
        if found:
            return self._refuse(
                "ambiguous-staff",
                ("staff",),
                f'"{wanted}" is the name of {len(found)} staves here: {there}',
                "Write the number of the staff.",
            )
        return self._refuse(
            "no-such-staff",
            ("staff",),
            f"there is no staff {_quoted(wanted)}; staves here: {there}",
            "Write the number or the name of one of these.",
        )

    def _bar(self, passage: Passage, n: str, path: tuple[Step, ...]) -> Bar:
        index = passage.bar_index.get(n)
        if index is not None:
            return passage.bars[index]
        first, last = passage.bars[0].n, passage.bars[-1].n
        span = f"bars {first} to {last}" if len(passage.bars) > 1 else f"only bar {first}"
        return self._refuse(
            "no-such-bar",
            path,
            f"there is no bar {n}; movement {self._place.movement} has {span}",
            "Write the bar number as it is printed.",
        )

    def _last(self, passage: Passage, first: _Edge) -> _Edge:
        to = self._place.to
        if to is None:
            return first
        bar = first.bar if to.bar is None else self._bar(passage, to.bar, ("to", "bar"))
        return _Edge(bar, to.beat, to.note, ("to",))

    def _events_of(
        self, passage: Passage, staff: int, first_bar: int, last_bar: int
    ) -> tuple[Event, ...]:
        events = tuple(
            event
            for bar in range(first_bar, last_bar + 1)
            for event in passage.events_in.get((staff, bar), ())
        )
        voice = self._place.voice
        if voice is None:
            return events
        chosen = tuple(event for event in events if event.voice == voice)
        if not chosen:
            voices = sorted({str(event.voice) for event in events})
            self._refuse(
                "no-such-voice",
                ("voice",),
                f"there is no voice {voice} here; the staff has "
                + (_listed(voices, "voice", "voices") if voices else "nothing in these bars"),
                "Write the number of one of these, or leave the voice out.",
            )
        return chosen

    def _start(self, edge: _Edge, events: Sequence[Event], name: str) -> tuple[int, Moment]:
        """Return the index of the first event that belongs and the moment the place begins."""
        if edge.note is not None:
            index = self._note_index(edge, events, name)
            return index, events[index].start
        at = Moment(edge.bar.index, Fraction(0))
        if edge.beat is not None:
            at = _sounding_from(self._moment(edge), events)
        index = next((i for i, event in enumerate(events) if event.start >= at), len(events))
        return index, at

    def _end(self, edge: _Edge, events: Sequence[Event], name: str) -> tuple[int, Moment]:
        """Return the index after the last event that belongs and the moment the place ends."""
        if edge.note is not None:
            index = self._note_index(edge, events, name)
            return index + 1, events[index].end
        end_of_bar = Moment(edge.bar.index, edge.bar.filled)
        if edge.beat is None:
            return len(events), end_of_bar
        at = self._moment(edge)
        whole_beat = edge.beat.denominator == 1
        end = Moment(at.bar, at.offset + edge.bar.beat)
        if not whole_beat:
            ends = [e.end for e in events if e.start <= at < e.end]
            end = min(ends, default=end)
        if end >= end_of_bar:
            # Grace notes after the last note stand at the very end of the bar and belong to it.
            return len(events), end_of_bar
        index = next((i for i, event in enumerate(events) if event.start >= end), len(events))
        return index, end

    def _moment(self, edge: _Edge) -> Moment:
        bar, beat = edge.bar, edge.beat
        if beat is None:
            return Moment(bar.index, Fraction(0))
        offset = (beat - 1) * bar.beat
        if offset >= bar.filled:
            count = ceil(bar.filled / bar.beat)
            self._refuse(
                "no-such-beat",
                (*edge.path, "beat"),
                f"there is no beat {_number(beat)}; "
                f"bar {bar.n} has {count} {'beat' if count == 1 else 'beats'}",
                f"Write a beat from 1 to {count}, or a fraction such as {count}.5.",
            )
        return Moment(bar.index, offset)

    def _note_index(self, edge: _Edge, events: Sequence[Event], name: str) -> int:
        for index, event in enumerate(events):
            if event.bar == edge.bar.index and event.number == edge.note:
                return index
        notes = [e for e in events if e.bar == edge.bar.index and e.number is not None]
        voice = "" if self._place.voice is None else f", voice {self._place.voice},"
        there = ", ".join(f"{event.number} {note_name(event)}" for event in notes)
        count = f"{len(notes)} {'note' if len(notes) == 1 else 'notes'}" if notes else "no notes"
        return self._refuse(
            "no-such-note",
            (*edge.path, "note"),
            f"there is no note {edge.note}; bar {edge.bar.n} of the {name}{voice} has {count}"
            + (f": {there}" if there else ""),
            "Write the number of one of these."
            if notes
            else "Leave the note out, or write a beat.",
        )

    def _refuse(self, code: str, path: tuple[Step, ...], message: str, remedy: str) -> Never:
        origin: Origin = self._filed.origins.at("place", *path)
        raise _Nowhere(error(code, origin, message, remedy, self._words))


def staff_name(passage: Passage, n: int) -> str:
    """Return how a staff is spoken of: its label in lower case, with its number where needed."""
    label = next((staff.label for staff in passage.staves if staff.n == n), "")
    if not label:
        return f"staff {n}"
    shared = sum(1 for staff in passage.staves if staff.label == label) > 1
    return f"{label.lower()} (staff {n})" if shared else label.lower()


def note_name(event: Event) -> str:
    """Return the pitches of a note or chord, low to high, such as "g″" or "d′+f♯″"."""
    return "+".join(helmholtz(pitch) for pitch in event.pitches)


def _sounding_from(at: Moment, events: Sequence[Event]) -> Moment:
    """Return the moment itself if something begins there, else when what sounds there began."""
    if any(event.start == at for event in events):
        return at
    return max((e.start for e in events if e.start < at < e.end and e.heads), default=at)


def _whole(edge: _Edge) -> bool:
    return edge.beat is None and edge.note is None


def _number(amount: Fraction) -> str:
    """Return a beat as a musician writes it: 2, 2.5 or 2 1/3."""
    whole, rest = divmod(amount, 1)
    if not rest:
        return str(whole)
    if rest.denominator in {2, 4, 8}:
        return f"{float(amount):g}"
    return f"{whole} {rest}"


def _listed(names: Sequence[str], one: str, many: str) -> str:
    if len(names) == 1:
        return f"{one} {names[0]}"
    return f"{many} {', '.join(names[:-1])} and {names[-1]}"


def _quoted(wanted: int | str) -> str:
    return str(wanted) if isinstance(wanted, int) else f'"{wanted}"'
