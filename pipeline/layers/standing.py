"""Which signs of the text stand for a witness's own as well: the same sign at the same moments.

In come the strand of a whole encoding and the signs of both sides; out go pairs, and what is left
on either side. Moments are those that a sign of the text has once the witness's notes stand around
it: a beat is counted in the witness's bars. Linear in the signs.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from pipeline.collation.markings import KIND_OF_MARKING, WORDED, place_marking
from pipeline.layers.remaining import Exact
from pipeline.layers.strands import voice_of
from pipeline.score.model import Event, Marking, MarkingKind, Moment


@dataclass(frozen=True)
class Standing:
    """Pairs of signs that are the same, the text's first, and what has none on the other side."""

    same: tuple[tuple[Marking, Marking], ...]
    text: tuple[Marking, ...]
    own: tuple[Marking, ...]


def standing(exact: Exact, text: Iterable[tuple[Marking, int]], own: Iterable[Marking]) -> Standing:
    """Compare signs of the text, each with the bar that its element stands in, and a witness's."""
    waiting: dict[object, list[Marking]] = defaultdict(list)
    for marking in own:
        waiting[_meaning(marking, marking.start, marking.end, exact.strand.passage.by_id)].append(
            marking
        )
    same: list[tuple[Marking, Marking]] = []
    alone: list[Marking] = []
    for marking, bar in text:
        start, end = _own_moments(exact, marking, bar)
        partners: list[Marking] = []
        if start is not None and (end is None) == (marking.end is None):
            key = _meaning(marking, start, end, exact.strand.text.by_id)
            partners = waiting.get(key, [])
        if partners:
            same.append((marking, partners.pop(0)))
        else:
            alone.append(marking)
    left = [one for partners in waiting.values() for one in partners]
    return Standing(tuple(same), tuple(alone), tuple(sorted(left, key=lambda m: m.start)))


def _meaning(
    marking: Marking, start: Moment, end: Moment | None, by_id: Mapping[str, Event]
) -> tuple[object, ...]:
    kind, content = place_marking(marking, lambda moment: moment).token
    worded = KIND_OF_MARKING[marking.kind] in WORDED and bool(content)
    pitch = None
    if marking.kind is MarkingKind.TIE:
        event = by_id.get(marking.start_id)
        heads = () if event is None else event.heads
        pitch = next((h.pitch for h in heads if h.xml_id == marking.start_id), None)
    return ("words" if worded else kind, content, start, end, pitch)


def _own_moments(exact: Exact, marking: Marking, bar: int) -> tuple[Moment | None, Moment | None]:
    """Return the moments of a sign of the text in the witness, None where there is none."""
    strand = exact.strand
    own_bar = strand.own_bar(bar)

    def moment(xml_id: str, written: Moment) -> Moment | None:
        event = strand.text.by_id.get(xml_id)
        if event is not None:
            return _own_moment(exact, event)
        if own_bar is None:
            return None
        return Moment(own_bar + written.bar - bar, written.offset)

    start = moment(marking.start_id, marking.start)
    return start, None if marking.end is None else moment(marking.end_id, marking.end)


def _own_moment(exact: Exact, event: Event) -> Moment | None:
    """Return when the event that stands for one of the text begins in the witness."""
    strand = exact.strand
    bar = strand.own_bar(event.bar)
    if bar is None:
        return None
    if event.staff != strand.text_staff:
        return Moment(bar, event.onset)  # a sign that hangs on a note of another staff
    if exact.alike(event.bar):
        return Moment(bar, event.onset)
    text = voice_of(strand.text, event.staff, event.bar, event.voice)
    line = strand.line(event.bar, event.voice)
    at = text.index(event)
    block = next(b for b in line.blocks if b.text_from <= at < b.text_to)
    theirs = line.events[block.version_from : block.version_to]
    if not theirs:
        return None
    if exact.kept(block, text, line.events):
        return Moment(bar, theirs[0].onset + event.onset - text[block.text_from].onset)
    return theirs[min(at - block.text_from, len(theirs) - 1)].start
