"""Where a whole encoding has other notes than the text, event for event.

In come the strand of an encoding and the runs that are told already; out go all further runs, so
that what is taken out again is the encoding. Silence equals silence however it is written, unless
a sign hangs on it. Linear in the events.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from fractions import Fraction
from functools import cached_property

from pipeline.layers.alignment import Block
from pipeline.layers.segments import Spot
from pipeline.layers.sheet import Sheet
from pipeline.layers.strands import Events, Strand, voice_of, voices_in
from pipeline.score.mei_names import Element, chosen_children, local
from pipeline.score.model import Event, MarkingKind, Passage

Run = tuple[int, int]
"""Indexes into the events of a voice of the text, half-open."""

_Line = tuple[str, int]
"""A line or space of a staff: step and sounding octave."""

_Printed = dict[_Line, list[tuple[tuple[Fraction, bool], int]]]


@dataclass(frozen=True)
class Exact:
    """Compares a whole strand with the text event for event."""

    sheet: Sheet
    strand: Strand
    _alike: dict[int, bool] = field(default_factory=dict)

    def alike(self, bar: int) -> bool:
        """Whether a bar of the text and the witness's are the same, told without alignment."""
        if bar not in self._alike:
            own = self.strand.own_bar(bar)
            self._alike[bar] = own is not None and self._same_bar(bar, own)
        return self._alike[bar]

    def differing(self, told: Mapping[Spot, set[Run]]) -> Iterator[tuple[Spot, Run]]:
        """Yield every run that differs and is not told, in the order of the bars."""
        beside = self.strand.version.beside
        for pair in () if beside is None else beside.pairs:
            if pair.text is None or pair.reading is None:
                continue
            spots = [Spot(self.strand.text_staff, pair.text, v) for v in self._voices(pair.text)]
            if not any(map(told.get, spots)) and self.alike(pair.text):
                continue
            known = {spot: set(told.get(spot, ())) for spot in spots}
            for spot in spots:
                for run in self._of_voice(spot):
                    if run not in known[spot]:
                        known[spot].add(run)
                        yield spot, run
            yield from self._misheard(pair.text, pair.reading, known)

    def kept(self, block: Block, text: Events, reading: Events) -> bool:
        """Whether the text's events of a block stand for those of the witness as well."""
        ours = text[block.text_from : block.text_to]
        theirs = reading[block.version_from : block.version_to]
        if len(ours) == len(theirs) and all(map(self.same, ours, theirs)):
            return True
        silent = not any(event.heads for event in (*ours, *theirs))
        hung_on = self._hung_on
        return (
            silent
            and sum(e.duration for e in ours) == sum(e.duration for e in theirs)
            and not any(event.xml_id in hung_on for event in (*ours, *theirs))
        )

    def same(self, text: Event, reading: Event) -> bool:
        """Whether two events are the same in all that is music."""
        if not text.heads and not reading.heads:
            return text.duration == reading.duration
        by_attribute = self._tied_by_attribute(text, reading)
        return _key(text, by_attribute) == _key(reading, by_attribute) and (
            _octave_signs(self.strand.text, text) == _octave_signs(self.strand.passage, reading)
        )

    @cached_property
    def _hung_on(self) -> frozenset[str]:
        signs = (*self.strand.text.markings, *self.strand.music.markings.values())
        return frozenset(xml_id for one in signs for xml_id in (one.start_id, one.end_id))

    def _voices(self, bar: int) -> list[int]:
        """Return the voices of the text, then those that only the witness has."""
        strand = self.strand
        text = voices_in(strand.text, strand.text_staff, bar)
        own = voices_in(strand.passage, strand.version.staff, strand.own_bar(bar))
        answering = (strand.text_voice(bar, voice) for voice in own)
        return [*text, *dict.fromkeys(v for v in answering if v not in text)]

    def _same_bar(self, bar: int, own: int) -> bool:
        """Return whether nothing differs event for event: most bars of most witnesses."""
        strand = self.strand
        text = strand.text.events_in.get((strand.text_staff, bar), ())
        reading = strand.passage.events_in.get((strand.version.staff, own), ())
        return len(text) == len(reading) and all(
            one.voice == other.voice and one.onset == other.onset and self.same(one, other)
            for one, other in zip(text, reading, strict=True)
        )

    def _of_voice(self, spot: Spot) -> Iterator[Run]:
        line = self.strand.line(spot.bar, spot.voice)
        text = voice_of(self.strand.text, spot.staff, spot.bar, spot.voice)
        for block in line.blocks:
            if not self.kept(block, text, line.events):
                yield block.text_from, block.text_to

    def _misheard(
        self, bar: int, own: int, known: Mapping[Spot, set[Run]]
    ) -> Iterator[tuple[Spot, Run]]:
        """Yield runs whose notes would sound otherwise among the witness's other notes.

        A note that prints no accidental takes that of a note before it in the bar, and the note
        before it may be another in the witness.
        """
        strand = self.strand
        before = _accidentals(strand.text, strand.text_staff, bar)
        after = _accidentals(strand.passage, strand.version.staff, own)
        if before == after:
            return
        for spot, runs in known.items():
            text = voice_of(strand.text, spot.staff, spot.bar, spot.voice)
            for block in strand.line(spot.bar, spot.voice).blocks:
                run = (block.text_from, block.text_to)
                if run not in runs and any(
                    self._silent_of_sound(event) and _differs(event, before, after)
                    for event in text[block.text_from : block.text_to]
                ):
                    yield spot, run

    def _silent_of_sound(self, event: Event) -> bool:
        """Return whether a note of the text says neither in print nor besides how it sounds."""
        return any(not says_its_sound(self.sheet.by_id[head.xml_id]) for head in event.heads)

    def _tied_by_attribute(self, text: Event, reading: Event) -> bool:
        return _has_tie(text, self.sheet.by_id) or _has_tie(reading, self.strand.by_id)


def _key(event: Event, with_ties: bool) -> tuple[object, ...]:
    heads = sorted(
        (h.pitch.midi, h.pitch.step, h.accidental, h.shape, h.tie if with_ties else "")
        for h in event.heads
    )
    return (
        event.duration, event.grace, event.written if event.grace else "",
        sorted(event.articulations), heads,
    )  # fmt: skip


def _has_tie(event: Event, by_id: Mapping[str, Element]) -> bool:
    ids = (event.xml_id, *(head.xml_id for head in event.heads))
    return any("tie" in by_id[xml_id].attrib for xml_id in ids)


def _octave_signs(passage: Passage, event: Event) -> list[str]:
    return [
        sign.content
        for sign in passage.markings_in.get((event.staff, event.bar), ())
        if sign.kind is MarkingKind.OCTAVE
        and sign.end is not None
        and sign.start <= event.start <= sign.end
    ]


def _accidentals(passage: Passage, staff: int, bar: int) -> _Printed:
    """Return the accidentals printed on each line of a bar: when, and what they make of it."""
    found: _Printed = defaultdict(list)
    for event in passage.events_in.get((staff, bar), ()):
        for head in event.heads:
            if head.accidental:
                line = (head.pitch.step, head.pitch.octave)
                found[line].append((_turn(event), head.pitch.alter))
    return found


def _turn(event: Event) -> tuple[Fraction, bool]:
    """Return when an event is heard of in its bar: grace notes before what they lead to."""
    return event.onset, not event.grace


def _in_force(printed: _Printed, line: _Line, event: Event) -> int | None:
    """Return what the last accidental on that line up to an event makes of it."""
    alters = [alter for turn, alter in printed.get(line, ()) if turn <= _turn(event)]
    return alters[-1] if alters else None


def _differs(event: Event, before: _Printed, after: _Printed) -> bool:
    """Return whether one of the event's lines carries another accidental among the other notes."""
    lines = [(head.pitch.step, head.pitch.octave) for head in event.heads]
    return any(_in_force(before, line, event) != _in_force(after, line, event) for line in lines)


def says_its_sound(note: Element) -> bool:
    """Whether a note says itself how it sounds, in print or besides."""
    if "accid" in note.attrib or "accid.ges" in note.attrib:
        return True
    return any(local(child) == "accid" for child in chosen_children(note))
