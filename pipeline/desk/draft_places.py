"""Where a drafted record stands: the narrowest place an editor would write that holds what differs.

In come differences of one staff; out goes a place that was resolved, and in which every one of them
is found again. Notes are tried first, then beats, then bars.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from fractions import Fraction
from math import ceil

from pipeline.checks.material import Material
from pipeline.collation.bar_signs import KINDS_OF_BARS
from pipeline.collation.bars import last_bar
from pipeline.collation.differences import differences
from pipeline.collation.markings import HELD_TO_NOTE
from pipeline.collation.model import Difference, Version
from pipeline.collation.versions import witness_version
from pipeline.edition.model import FiledRecord, Origins
from pipeline.edition.places import Place, PlaceEnd
from pipeline.edition.records import Remark, Status
from pipeline.problems import Origin
from pipeline.score.model import Event, Moment, Passage, Span
from pipeline.score.resolve import resolve

Found = Mapping[str, tuple[Difference, ...]]
"""What each encoded witness that has a place has otherwise in it, by siglum."""

_DAY = date(1, 1, 1)


@dataclass(frozen=True)
class Standing:
    """A place with what stands there, and what each witness that has it has otherwise."""

    place: Place
    span: Span
    found: Found

    def holds(self, difference: Difference) -> bool:
        """Return whether all of a difference lies within the place."""
        return self.span.start <= difference.start and difference.end <= self.span.end


@dataclass(frozen=True)
class Places:
    """Finds places in one movement of an edition."""

    material: Material
    movement: int

    @property
    def text(self) -> Passage:
        """The base text of the movement."""
        return self.material.texts[self.movement]

    def of(self, staff: int, has: Sequence[tuple[str, Difference]]) -> Standing | None:
        """Return the best place for what the witnesses named have otherwise on a staff.

        None where no place that can be written holds it.
        """
        meant = [difference for _, difference in has]
        second = None
        for place in self._candidates(staff, meant):
            standing = self._standing(place)
            if standing is None or not all(_told(one, standing) for one in has):
                continue
            if all(map(standing.holds, meant)):
                return standing
            second = second or standing
        return second

    def of_bars(
        self, staves: Sequence[int], first: int, last: int, witnesses: Sequence[str]
    ) -> Standing | None:
        """Return whole bars on the first of the staves on which all the witnesses differ there.

        Rather one on which no other witness does: a record on bars would speak of its notes too.
        Where they differ on none, as in bars of rest, the first staff; None without such bars.
        """
        standings = [
            standing
            for staff in staves
            for place in self._bars(staff, first, last)
            if (standing := self._standing(place)) is not None
        ]
        differing = [s for s in standings if all(s.found.get(w) for w in witnesses)]
        alone = [s for s in differing if not any(s.found[w] for w in s.found.keys() - witnesses)]
        return next(iter(alone or differing or standings), None)

    def _standing(self, place: Place) -> Standing | None:
        edition = self.material.edition
        filed = _filed(place)
        span = resolve(place, self.material.score, edition.head.edited_staff.n, filed).value
        if span is None:
            return None
        found = {}
        for siglum in edition.head.witnesses:
            beside = self.material.besides.get((siglum, self.movement))
            if beside is None:
                continue
            version = witness_version(self.text, span, beside, siglum, None)
            if isinstance(version, Version):
                has = differences(self.text, span, version)
                # A tie into the place is told at the note where it begins, or drafted there.
                found[siglum] = tuple(one for one in has if one.tied_from is None)
        return Standing(place, span, found)

    def _candidates(self, staff: int, meant: Sequence[Difference]) -> Iterator[Place]:
        edges = [self._edges(difference) for difference in meant]
        notes = [edge for pair in edges for edge in pair if edge is not None]
        of_bars = any(difference.kind in KINDS_OF_BARS for difference in meant)
        if len(notes) == 2 * len(edges) and not of_bars:
            yield self._place(staff, *_ends(notes))
        start = min(difference.start for difference in meant)
        end = max(difference.end for difference in meant)
        if not of_bars:
            yield from self._beats(staff, start, end)
        last = min(last_bar(start, end), len(self.text.bars) - 1)
        yield from self._bars(staff, start.bar, last)
        yield from self._bars(staff, start.bar, last + 1)

    def _edges(self, difference: Difference) -> tuple[Event | None, Event | None]:
        """Return the first and the last note that a difference is about, as far as there are."""
        numbered = [event for event in difference.text.events if event.number is not None]
        if difference.text.events:
            whole = len(numbered) == len(difference.text.events)
            return (numbered[0], numbered[-1]) if whole else (None, None)
        first = self._note_at(difference.staff, difference.start)
        if difference.reading.events or first is None:
            return None, None
        if difference.end == difference.start:
            return first, first
        last = self._note_at(difference.staff, difference.end)
        if last is None and difference.kind not in HELD_TO_NOTE:
            last = self._last_before(difference.staff, difference.start, difference.end)
        return first, last

    def _note_at(self, staff: int, moment: Moment) -> Event | None:
        events = self.text.events_in.get((staff, moment.bar), ())
        here = [e for e in events if e.number is not None and e.onset == moment.offset]
        return next((e for e in here if not e.grace), here[0] if here else None)

    def _last_before(self, staff: int, start: Moment, end: Moment) -> Event | None:
        for bar in range(min(end.bar, len(self.text.bars) - 1), start.bar - 1, -1):
            events = self.text.events_in.get((staff, bar), ())
            before = [e for e in events if e.number is not None and e.start < end]
            if before:
                return max(before, key=lambda e: (e.onset, e.number or 0))
        return None

    def _beats(self, staff: int, start: Moment, end: Moment) -> Iterator[Place]:
        bars = self.text.bars
        if not self._addressable(start.bar):
            return
        beat = start.offset / bars[start.bar].beat + 1
        if end == start:
            yield self._written(staff, start.bar, beat=beat)
        if end.offset == 0 and end.bar > start.bar:
            end = Moment(end.bar - 1, bars[end.bar - 1].filled)
        if end.bar >= len(bars) or not self._addressable(end.bar):
            return
        last = Fraction(max(1, ceil(min(end.offset, bars[end.bar].filled) / bars[end.bar].beat)))
        if end == start or (end.bar == start.bar and last <= beat):
            yield self._written(staff, start.bar, beat=beat)
        to = {"beat": last} if end.bar == start.bar else {"bar": bars[end.bar].n, "beat": last}
        yield self._written(staff, start.bar, beat=beat, to=PlaceEnd.model_validate(to))

    def _bars(self, staff: int, first: int, last: int) -> Iterator[Place]:
        """Yield the bars, taken wider where a printed number does not lead to the bar."""
        while first > 0 and not self._addressable(first):
            first -= 1
        while last < len(self.text.bars) and not self._addressable(last):
            last += 1
        if last >= len(self.text.bars) or not self._addressable(first):
            return
        to = None if last == first else PlaceEnd.model_validate({"bar": self.text.bars[last].n})
        yield self._written(staff, first, to=to)

    def _place(self, staff: int, first: Event, last: Event) -> Place:
        to = None
        if (last.bar, last.number) != (first.bar, first.number):
            there = {} if last.bar == first.bar else {"bar": self.text.bars[last.bar].n}
            to = PlaceEnd.model_validate({**there, "note": last.number})
        return self._written(staff, first.bar, note=first.number, to=to)

    def _addressable(self, bar: int) -> bool:
        n = self.text.bars[bar].n
        return bool(n.strip()) and self.text.bar_index[n] == bar

    def _written(self, staff: int, bar: int, **position: object) -> Place:
        edited = self.material.edition.head.edited_staff.n
        return Place.model_validate(
            {
                "movement": self.movement,
                "bar": self.text.bars[bar].n or "?",
                "staff": None if staff == edited else staff,
                **position,
            }
        )


def _ends(notes: Sequence[Event]) -> tuple[Event, Event]:
    def order(event: Event) -> tuple[int, int]:
        return event.bar, event.number or 0

    return min(notes, key=order), max(notes, key=order)


def _told(has: tuple[str, Difference], standing: Standing) -> bool:
    """Return whether a record at that place would tell what a witness has."""
    siglum, meant = has
    return any(
        one.kind is meant.kind
        and (
            (one.start, one.end) == (meant.start, meant.end)
            or max(one.start, meant.start) < min(one.end, meant.end)
        )
        for one in standing.found.get(siglum, ())
    )


def _filed(place: Place) -> FiledRecord:
    """Return a record that is nothing but its place."""
    remark = Remark(
        id="place", kind="remark", place=place, by="nobody", date=_DAY, status=Status.PROPOSED,
        reason={},
    )  # fmt: skip
    return FiledRecord(remark, Origins({(): Origin("")}))
