"""Where versions differ from the text in their notes: runs whose borders all of them share.

In come the comparisons of all readings and emendations of a movement; out go segments of one voice
of one bar. Overlapping runs are united, and a run grows until it begins and ends together in every
version and consists of whole children of one beam, one tuplet or the layer.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field

from pipeline.layers.alignment import Block
from pipeline.layers.sheet import Sheet, children
from pipeline.layers.strands import Events, Line, Strand, voice_of
from pipeline.layers.tags import Provenance
from pipeline.score.mei_names import Element, local, tag

_OPEN = frozenset({"layer", "beam", "tuplet"})
"""Containers inside which a run may be wrapped; anything else is wrapped as a whole."""


@dataclass(frozen=True)
class Claim:
    """That witnesses have the music of a strand instead of the text, says a decision."""

    provenance: Provenance
    emendation: bool
    witnesses: tuple[str, ...]
    hand: str | None
    strand: Strand
    lemma: tuple[str, ...]
    certainty: str


@dataclass(frozen=True)
class Spot:
    """One voice of one bar of one staff; `bar` is the text's index."""

    staff: int
    bar: int
    voice: int


@dataclass
class Segment:
    """Events of the text, by index into its voice, that some versions have otherwise."""

    spot: Spot
    start: int
    end: int
    claims: list[Claim] = field(default_factory=list)
    depth: int = 0

    def strands(self) -> list[Strand]:
        """Return the strands that take part, each once."""
        return list({id(c.strand): c.strand for c in self.claims}.values())

    def version_events(self, strand: Strand) -> Events:
        """Return what a strand has in place of the segment."""
        line = strand.line(self.spot.bar, self.spot.voice)
        blocks = line.blocks_at(self.start, self.end) or list(line.blocks)
        if not line.events:
            return ()
        return line.events[blocks[0].version_from : blocks[-1].version_to]


@dataclass(frozen=True)
class AddedBar:
    """A bar that only the version has, after that bar of the text."""

    claim: Claim
    after: int
    bar: int


def touched_blocks(
    claim: Claim, comparison_events: Iterable[tuple[Events, Events]], staff: int
) -> tuple[dict[Spot, list[tuple[int, int]]], list[int]]:
    """Return the index ranges of the text that a claim's differences touch, and added bars.

    Bars that a whole encoding lacks or has more are told as bars, and are not among them.
    """
    strand = claim.strand
    text_ids: dict[Spot, set[str]] = defaultdict(set)
    version_ids: dict[Spot, set[str]] = defaultdict(set)
    added: list[int] = []
    for text, reading in comparison_events:
        for event in text:
            if strand.has(event.bar):
                text_ids[Spot(staff, event.bar, event.voice)].add(event.xml_id)
        for event in reading:
            bar = strand.text_bar(event.bar)
            if bar is None:
                if event.bar not in added and not strand.whole:
                    added.append(event.bar)
                continue
            spot = Spot(staff, bar, strand.text_voice(bar, event.voice))
            version_ids[spot].add(event.xml_id)
    ranges: dict[Spot, list[tuple[int, int]]] = {}
    for spot in text_ids.keys() | version_ids.keys():
        line = strand.line(spot.bar, spot.voice)
        events = voice_of(strand.text, staff, spot.bar, spot.voice)
        in_text = [i for i, e in enumerate(events) if e.xml_id in text_ids[spot]]
        in_version = [i for i, e in enumerate(line.events) if e.xml_id in version_ids[spot]]
        ranges[spot] = [
            (b.text_from, b.text_to)
            for b in line.blocks
            if any(b.text_from <= i < b.text_to for i in in_text)
            or any(b.version_from <= i < b.version_to for i in in_version)
        ]
    return ranges, added


def settle(sheet: Sheet, spot: Spot, dirty: Sequence[tuple[int, int, Claim]]) -> list[Segment]:
    """Return the segments of one voice of one bar, none overlapping another."""
    text = voice_of(sheet.movement.passage, spot.staff, spot.bar, spot.voice)
    segments = [Segment(spot, start, end, [claim]) for start, end, claim in dirty]
    while True:
        segments = _united(segments)
        grown = [_grown(sheet, text, segment) for segment in segments]
        if not any(grown):
            return segments


def _united(segments: Iterable[Segment]) -> list[Segment]:
    united: list[Segment] = []
    for segment in sorted(segments, key=lambda s: (s.start, s.end)):
        last = united[-1] if united else None
        if last is not None and (segment.start < last.end or segment.start == segment.end):
            last.end = max(last.end, segment.end)
            last.claims += [c for c in segment.claims if c not in last.claims]
        else:
            united.append(segment)
    return united


def _grown(sheet: Sheet, text: Events, segment: Segment) -> bool:
    """Widen the segment to borders that all share; return whether it was widened."""
    before = (segment.start, segment.end)
    lines = {id(s): (s, s.line(segment.spot.bar, segment.spot.voice)) for s in segment.strands()}
    for _, line in lines.values():
        _cover(segment, line.blocks_at(segment.start, segment.end))
    if not text:
        return False
    runs = [_Run.of(text, segment.start, segment.end, sheet.by_id)]
    bounds: list[tuple[Line, int, int]] = []
    for strand, line in lines.values():
        blocks = line.blocks_at(segment.start, segment.end)
        if blocks and line.events:
            start, end = blocks[0].version_from, blocks[-1].version_to
            if start < end:
                runs.append(_Run.of(line.events, start, end, strand.by_id))
                bounds.append((line, start, end))
    segment.depth = _common_depth(runs)
    start, end = runs[0].closed(text, segment.depth, sheet.by_id)
    segment.start, segment.end = min(start, segment.start), max(end, segment.end)
    for run, (line, _, _) in zip(runs[1:], bounds, strict=True):
        strand_ids = next(s.by_id for s, known in lines.values() if known is line)
        first, last = run.closed(line.events, segment.depth, strand_ids)
        _cover(
            segment,
            [b for b in line.blocks if b.version_from < last and first < b.version_to],
        )
    return (segment.start, segment.end) != before


def _cover(segment: Segment, blocks: Sequence[Block]) -> None:
    for block in blocks:
        segment.start = min(segment.start, block.text_from)
        segment.end = max(segment.end, block.text_to)


@dataclass(frozen=True)
class _Run:
    """Events of one side and the open containers around all of them, from the layer inwards."""

    elements: tuple[Element, ...]
    containers: tuple[Element, ...]

    @classmethod
    def of(cls, events: Events, start: int, end: int, by_id: dict[str, Element]) -> _Run:
        """Return the run of events of that index range."""
        elements = tuple(by_id[e.xml_id] for e in events[start:end])
        return cls(elements, common_containers(elements))

    def closed(self, events: Events, depth: int, by_id: dict[str, Element]) -> tuple[int, int]:
        """Return the index range of all events inside the children that the run touches."""
        container = self.containers[depth]
        first, last = children_around(container, self.elements)
        nodes = children(container)[first : last + 1]
        inside = {id(one) for node in nodes for one in node.iter()}
        held = [i for i, e in enumerate(events) if id(by_id[e.xml_id]) in inside]
        return held[0], held[-1] + 1


def common_containers(elements: Sequence[Element]) -> tuple[Element, ...]:
    """Return the open containers that hold all of the elements, the layer first."""
    chains = [_containers(element) for element in elements]
    shared: list[Element] = []
    for level in zip(*chains, strict=False):
        if any(one is not level[0] for one in level):
            break
        shared.append(level[0])
    return tuple(shared)


def children_around(container: Element, elements: Sequence[Element]) -> tuple[int, int]:
    """Return the indexes of the first and last child of the container that the run touches."""
    places = []
    for element in elements:
        child = element
        while (parent := child.getparent()) is not None and parent is not container:
            child = parent
        places.append(container.index(child))
    return min(places), max(places)


def _containers(element: Element) -> list[Element]:
    """Return the containers around an event, the layer first, as far as a run may be wrapped."""
    chain = []
    for parent in element.iterancestors():
        chain.append(parent)
        if parent.tag == tag("layer"):
            break
    chain.reverse()
    for index, parent in enumerate(chain):
        if local(parent) not in _OPEN:
            return chain[:index]
    return chain


def _common_depth(runs: Sequence[_Run]) -> int:
    """Return the index of the innermost container that is of the same sort in all runs."""
    depth = 0
    for level in zip(*(run.containers for run in runs), strict=False):
        if len({_sort_of(container) for container in level}) > 1:
            break
        depth += 1
    return depth - 1


def _sort_of(container: Element) -> tuple[str, str, str]:
    if local(container) == "tuplet":
        return "tuplet", container.get("num", "3"), container.get("numbase", "2")
    return local(container), "", ""
