"""How often a witness is written otherwise than the text without another meaning.

In come the text and an encoding laid beside it; out go counts, which stand for what the collation
rightly leaves untold. Only bars and staves that are paired count, and only what sounds alike.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Hashable, Iterable, Iterator, Mapping, Sequence
from itertools import groupby

from pipeline.collation.beside import Beside
from pipeline.collation.collated import SetAside
from pipeline.collation.notation import KeySigns, MeterSigns, Notation, notation_of
from pipeline.collation.same_events import EventPair, same_events
from pipeline.collation.set_aside_rests import rests_written_otherwise
from pipeline.collation.set_aside_sides import sides_exchanged
from pipeline.score.model import Event, MarkingKind, Passage

_METERS = {"common": ("4", "4"), "cut": ("2", "2")}
_REPEAT = "rpt"


def set_aside(text: Passage, beside: Beside) -> Mapping[SetAside, int]:
    """Return how often each kind of notation differs; kinds that never do are left out.

    A stem, a chord, a bracket, a rest, a side counts each; of clefs, octave signs, keys and meters
    each stretch that is written otherwise, of beams each place. A stem or side that only one file
    states is held against what is usual. Linear in both passages.
    """
    if beside.obstacle is not None or not beside.pairs:
        return {}
    ours, theirs = notation_of(text), notation_of(beside.passage)
    counts: Counter[SetAside] = Counter()
    for staff in beside.staves:
        pairs = same_events(text, beside, staff)
        counts.update(_of_staff(pairs, ours, theirs))
        counts[SetAside.OCTAVE_SIGN] += _octave_signs(pairs, text, beside, staff)
        if not _transposed(beside, staff):
            counts[SetAside.KEY] += _keys(pairs, ours, theirs)
        counts[SetAside.SIDE] += sides_exchanged(text, beside, staff, pairs, ours, theirs)
        counts[SetAside.REST] += rests_written_otherwise(text, beside, staff)
    counts.update(_of_bars(text, beside, ours, theirs))
    return {kind: counts[kind] for kind in SetAside if counts[kind]}


def _of_staff(pairs: Sequence[EventPair], ours: Notation, theirs: Notation) -> Iterator[SetAside]:
    for pair in pairs:
        one, other = pair.text.xml_id, pair.reading.xml_id
        if not pair.same_sound:
            continue
        stated = one in ours.stated_stems or other in theirs.stated_stems
        if stated and {ours.stems.get(one), theirs.stems.get(other)} == {"up", "down"}:
            yield SetAside.STEM
        if ours.chords.get(one) != theirs.chords.get(other) and ours.chords and theirs.chords:
            yield SetAside.CHORD
        for mine, head in zip(pair.text.heads, pair.reading.heads, strict=True):
            brackets = ours.brackets.get(mine.xml_id), theirs.brackets.get(head.xml_id)
            if mine.accidental == head.accidental and brackets[0] != brackets[1]:
                yield SetAside.BRACKET
    yield from (SetAside.CLEF for _ in range(_clefs(pairs, ours, theirs)))
    yield from (SetAside.BEAM for _ in range(_beams(pairs, ours, theirs)))


def _stretches(
    pairs: Iterable[EventPair],
    ours: Callable[[Event], Hashable],
    theirs: Callable[[Event], Hashable],
) -> Iterator[list[EventPair]]:
    """Yield the longest runs of events under signs that differ in one and the same way."""
    for (one, other), run in groupby(pairs, lambda p: (ours(p.text), theirs(p.reading))):
        if one != other:
            yield list(run)


def _clefs(pairs: Sequence[EventPair], ours: Notation, theirs: Notation) -> int:
    """Count the stretches under another clef in which not all notes sound otherwise."""
    if not ours.clefs or not theirs.clefs:
        return 0
    runs = _stretches(
        pairs, lambda e: ours.clefs.get(e.xml_id), lambda e: theirs.clefs.get(e.xml_id)
    )
    return sum(_sound_left(run) for run in runs)


def _sound_left(run: Sequence[EventPair]) -> bool:
    return any(pair.same_sound for pair in run if pair.text.heads) or not any(
        pair.text.heads for pair in run
    )


def _keys(pairs: Sequence[EventPair], ours: Notation, theirs: Notation) -> int:
    """Count the stretches under another key signature in which its steps sound the same."""
    if not ours.keys or not theirs.keys:
        return 0

    def one(event: Event) -> KeySigns:
        return ours.keys.get(event.xml_id, ())

    def other(event: Event) -> KeySigns:
        return theirs.keys.get(event.xml_id, ())

    found = 0
    for run in _stretches(pairs, one, other):
        steps = {step for step, _ in set(one(run[0].text)) ^ set(other(run[0].reading))}
        touched = [p for p in run if any(pitch.step in steps for pitch in p.text.pitches)]
        found += all(pair.same_sound for pair in touched)
    return found


def _octave_signs(pairs: Sequence[EventPair], text: Passage, beside: Beside, staff: int) -> int:
    """Count the stretches under an octave sign that one side has, or has otherwise."""
    ours = _under_octave_signs(text, staff)
    theirs = _under_octave_signs(beside.passage, beside.staves[staff])
    if not ours and not theirs:
        return 0
    runs = _stretches(pairs, lambda e: ours.get(e.xml_id), lambda e: theirs.get(e.xml_id))
    return sum(any(pair.same_sound for pair in run if pair.text.heads) for run in runs)


def _under_octave_signs(passage: Passage, staff: int) -> dict[str, str]:
    """Return the octave sign over each event that stands under one."""
    found: dict[str, str] = {}
    for sign in passage.markings:
        if sign.kind is MarkingKind.OCTAVE and sign.staff == staff and sign.end is not None:
            for bar in range(sign.start.bar, sign.end.bar + 1):
                for event in passage.events_in.get((staff, bar), ()):
                    if sign.start <= event.start <= sign.end:
                        found[event.xml_id] = sign.content
    return found


def _beams(pairs: Sequence[EventPair], ours: Notation, theirs: Notation) -> int:
    """Count the places beamed otherwise: beams that overlap, of notes that are the same in time."""
    answer = {pair.reading.xml_id: pair.text.xml_id for pair in pairs}
    paired = {pair.text.xml_id for pair in pairs}
    groups_ours = _groups(ours.beams, {one: one for one in paired})
    groups_theirs = _groups(theirs.beams, answer)
    return sum(
        None not in place and mine != other
        for place, mine, other in _places(groups_ours, groups_theirs)
    )


Beam = frozenset[str | None]


def _groups(beams: Mapping[str, int], answer: Mapping[str, str]) -> list[Beam]:
    """Return the beams that hold a paired event, each event by the text's xml:id, else None."""
    gathered: dict[int, list[str | None]] = {}
    for xml_id, number in beams.items():
        gathered.setdefault(number, []).append(answer.get(xml_id))
    return [frozenset(held) for held in gathered.values() if len(held) > 1 and any(held)]


def _places(ours: list[Beam], theirs: list[Beam]) -> Iterator[tuple[Beam, set[Beam], set[Beam]]]:
    """Yield beams of both sides that hang together by events they share."""
    of_event: dict[str, list[tuple[int, Beam]]] = {}
    for side, beams in enumerate((ours, theirs)):
        for beam in beams:
            for event in beam:
                if event is not None:
                    of_event.setdefault(event, []).append((side, beam))
    seen: set[str] = set()
    for first in of_event:
        if first in seen:
            continue
        held: tuple[set[Beam], set[Beam]] = (set(), set())
        events: set[str | None] = set()
        waiting = [first]
        while waiting:
            event = waiting.pop()
            if event in seen:
                continue
            seen.add(event)
            for side, beam in of_event[event]:
                if beam not in held[side]:
                    held[side].add(beam)
                    events |= beam
                    waiting += [one for one in beam if one is not None]
        yield frozenset(events), *held


def _of_bars(text: Passage, beside: Beside, ours: Notation, theirs: Notation) -> Iterator[SetAside]:
    """Yield what is written otherwise of whole bars."""
    meters = ("", "")
    first = True
    for pair in beside.pairs:
        if pair.text is None or pair.reading is None:
            first = False
            continue
        reading = beside.passage.bars[pair.reading]
        if text.bars[pair.text].n != reading.n:
            yield SetAside.BAR_NUMBER
        if pair.text < len(ours.bars) and pair.reading < len(theirs.bars):
            one, other = ours.bars[pair.text], theirs.bars[pair.reading]
            if one.break_before != other.break_before and not first:
                yield SetAside.BREAK
            lines = {one.line_after, other.line_after}
            if len(lines) == 2 and not any(line.startswith(_REPEAT) for line in lines):
                yield SetAside.BAR_LINE
            starts = {text.bars[pair.text].repeat_start, reading.repeat_start}
            if pair.text == 0 and len(starts) == 2:
                yield SetAside.BAR_LINE  # one goes back to the beginning without a sign
            before, meters = meters, (_as_written(one.meter), _as_written(other.meter))
            same = _figures(one.meter) == _figures(other.meter)
            if meters != before and meters[0] != meters[1] and same:
                yield SetAside.METER
        first = False


def _as_written(meter: MeterSigns) -> str:
    count, unit, symbol = meter
    return symbol or f"{count}/{unit}"


def _figures(meter: MeterSigns) -> tuple[str, str]:
    count, unit, symbol = meter
    return (count, unit) if count and unit else _METERS.get(symbol, ("", ""))


def _transposed(beside: Beside, staff: int) -> bool:
    shift = beside.shifts.get(staff)
    return shift is not None and shift.semitones % 12 != 0
