"""What a bow sounds, one thing after another, in the order of a staff.

In comes one staff of a passage, out go its sounds with their times, and the slurs over them. The
grace notes of a main note, the notes of a chord, and the notes of other voices that begin while a
note is still held are one sound: who holds a note holds the bow (common practice, no source).
Plucked notes are no sounds of the bow: those from "pizz." to "arco", and those with a sign of their
own (MEI data.ARTICULATION `lhpizz`, `snap`). Linear in the notes.
"""

from __future__ import annotations

import re
from bisect import bisect_left, bisect_right
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from fractions import Fraction
from itertools import accumulate

from pipeline.score.model import Event, Marking, MarkingKind, Moment, Passage

_PLUCKED_NOTE = frozenset({"lhpizz", "snap"})
_PLUCK_OR_BOW = re.compile(r"\b(?P<pizz>pizz(?:icato)?\b)|\b(?P<arco>(?:coll[’']\s?)?arco\b)", re.I)
_TIED_ON = frozenset({"m", "t"})


@dataclass(frozen=True)
class Sound:
    """Notes that one movement of the bow begins together; grace notes come first.

    `start` and `end` are quarter notes from the start of the passage, what it lasts is between
    them. `free` is set where the bow is free before it: a rest, plucked notes or a breath sign
    stand there, or nothing at all. `plucked_before` is set where plucked notes do. `tied` is set
    where one of its notes is tied to the sound before.
    """

    notes: tuple[Event, ...]
    start: Fraction
    end: Fraction
    free: bool = False
    plucked_before: bool = False
    tied: bool = False

    @property
    def quarters(self) -> Fraction:
        """How long it sounds, in quarter notes."""
        return self.end - self.start

    @property
    def main(self) -> Event:
        """The first note that is not a grace note, or the first if all are."""
        return next((note for note in self.notes if not note.grace), self.notes[0])


@dataclass(frozen=True)
class SlurredSounds:
    """A slur by the indexes of the first and the last sound under it."""

    first: int
    last: int


@dataclass(frozen=True)
class Sounds:
    """The sounds of one staff in order, which of them each note is in, and the slurs over them.

    `of_note` maps the xml:id of a bowed event to the index of its sound; `plucked` holds the
    xml:ids of events that are not bowed.
    """

    all: tuple[Sound, ...]
    of_note: Mapping[str, int]
    slurs: tuple[SlurredSounds, ...]
    plucked: frozenset[str]


@dataclass
class _Gathering:
    """The sound that is being filled, before it is closed for good."""

    notes: list[Event]
    start: Fraction
    end: Fraction
    free: bool
    plucked_before: bool
    tied: bool

    def closed(self) -> Sound:
        return Sound(
            tuple(self.notes), self.start, self.end, self.free, self.plucked_before, self.tied
        )


@dataclass
class _Gatherer:
    """Turns the events of a staff into sounds, one event at a time."""

    closing_graces: frozenset[str]
    breaths: tuple[Fraction, ...]
    sounds: list[_Gathering] = field(default_factory=list)
    plucked: set[str] = field(default_factory=set)
    _graces: dict[int, list[Event]] = field(default_factory=dict)
    _plucked_since: bool = False

    def pluck(self, event: Event) -> None:
        self.plucked.add(event.xml_id)
        self.plucked.update(grace.xml_id for grace in self._graces.pop(event.voice, ()))
        self._plucked_since = True

    def grace(self, event: Event) -> None:
        self._graces.setdefault(event.voice, []).append(event)

    def note(self, event: Event, start: Fraction) -> None:
        graces = self._graces.pop(event.voice, [])
        last = self.sounds[-1] if self.sounds else None
        if last is not None:
            # Grace notes up to one on which a slur ends still belong to the note before.
            ended = [n for n, one in enumerate(graces, 1) if one.xml_id in self.closing_graces]
            behind = ended[-1] if ended else 0
            last.notes += graces[:behind]
            graces = graces[behind:]
            if start < last.end and not self._plucked_since:
                last.notes += [*graces, event]
                last.end = max(last.end, start + event.duration)
                return
        gap = last is None or start > last.end or self._plucked_since
        tied = not gap and any(head.tie in _TIED_ON for head in event.heads)
        self.sounds.append(
            _Gathering(
                [*graces, event], start, start + event.duration,
                free=gap or self._breath_after(last, start),
                plucked_before=self._plucked_since, tied=tied,
            )
        )  # fmt: skip
        self._plucked_since = False

    def finish(self, end: Fraction) -> None:
        """Give grace notes that no main note follows to the last sound, or make one of them."""
        left = [grace for graces in self._graces.values() for grace in graces]
        if not left:
            return
        if self.sounds and not self._plucked_since:
            self.sounds[-1].notes += left
        else:
            self.sounds.append(_Gathering(left, end, end, True, self._plucked_since, False))

    def _breath_after(self, last: _Gathering | None, start: Fraction) -> bool:
        if last is None:
            return True
        return bisect_left(self.breaths, last.start) < bisect_left(self.breaths, start)


def sounds_of(passage: Passage, staff: int) -> Sounds:
    """Return what the bow sounds on that staff. Linear in its notes, but for sorting them."""
    bars = (*accumulate((bar.filled or bar.length for bar in passage.bars), initial=Fraction(0)),)
    markings = [marking for marking in passage.markings if marking.staff == staff]
    slurs = [m for m in markings if m.kind is MarkingKind.SLUR and m.end is not None]
    plucking = _plucked_spans(markings)
    gatherer = _Gatherer(
        _graces_that_end_a_slur(passage, slurs),
        tuple(sorted(_at(bars, m.start) for m in markings if m.kind is MarkingKind.BREATH)),
    )
    events = [e for e in passage.events if e.staff == staff and e.heads]
    for event in sorted(events, key=lambda e: (e.bar, e.onset)):
        if event.grace:
            gatherer.grace(event)
        elif _PLUCKED_NOTE & set(event.articulations) or _inside(plucking, event.start):
            gatherer.pluck(event)
        else:
            gatherer.note(event, bars[event.bar] + event.onset)
    gatherer.finish(bars[-1])
    sounds = tuple(one.closed() for one in gatherer.sounds)
    of_note = {note.xml_id: n for n, sound in enumerate(sounds) for note in sound.notes}
    over = _over_sounds(passage, slurs, sounds, of_note, bars)
    return Sounds(sounds, of_note, over, frozenset(gatherer.plucked))


def _at(bars: tuple[Fraction, ...], moment: Moment) -> Fraction:
    return bars[moment.bar] + moment.offset


def _plucked_spans(markings: Iterable[Marking]) -> tuple[tuple[Moment, bool], ...]:
    """Return the moments from which the notes are plucked (True) or bowed again (False)."""
    found: list[tuple[Moment, bool]] = []
    for marking in markings:
        if marking.kind in {MarkingKind.WORDS, MarkingKind.TEMPO}:
            words = [*_PLUCK_OR_BOW.finditer(marking.content)]
            if words:
                found.append((marking.start, words[-1]["pizz"] is not None))
    return tuple(sorted(found, key=lambda one: one[0]))


def _inside(plucking: tuple[tuple[Moment, bool], ...], at: Moment) -> bool:
    before = bisect_right(plucking, at, key=lambda one: one[0])
    return before > 0 and plucking[before - 1][1]


def _graces_that_end_a_slur(passage: Passage, slurs: Iterable[Marking]) -> frozenset[str]:
    """Return the grace notes on which a slur ends that began at an earlier note."""
    found = set()
    for slur in slurs:
        end, start = passage.by_id.get(slur.end_id), passage.by_id.get(slur.start_id)
        if end is not None and end.grace and (start is None or not start.grace):
            found.add(end.xml_id)
    return frozenset(found)


def _over_sounds(
    passage: Passage,
    slurs: Iterable[Marking],
    sounds: tuple[Sound, ...],
    of_note: Mapping[str, int],
    bars: tuple[Fraction, ...],
) -> tuple[SlurredSounds, ...]:
    """Return the slurs over two sounds or more, each once, by first sound, the longest first."""
    starts = [sound.start for sound in sounds]
    found: dict[SlurredSounds, None] = {}
    for slur in slurs:
        assert slur.end is not None
        first = _index(passage, slur.start_id, of_note)
        last = _index(passage, slur.end_id, of_note)
        if first is None:
            first = bisect_left(starts, _at(bars, slur.start))
        if last is None:
            last = bisect_right(starts, _at(bars, slur.end)) - 1
        if first < last:
            found[SlurredSounds(first, last)] = None
    return tuple(sorted(found, key=lambda one: (one.first, -one.last)))


def _index(passage: Passage, identifier: str, of_note: Mapping[str, int]) -> int | None:
    event = passage.by_id.get(identifier)
    return None if event is None else of_note.get(event.xml_id)
