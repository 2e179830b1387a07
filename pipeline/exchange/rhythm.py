"""Note values, tuplets, beams and tremolos of one staff: MEI in, MusicXML 4.0 out.

MEI Guidelines 5.1, chapter 4.2 (beam, tuplet, tupletSpan, beamSpan, bTrem, fTrem). What encloses a
note in MEI, MusicXML says on the note itself.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from fractions import Fraction
from math import prod

from lxml import etree

from pipeline.exchange.source import StaffMusic
from pipeline.exchange.xml import make, put
from pipeline.score.durations import quarters_of, ratio_of
from pipeline.score.identifiers import referred
from pipeline.score.mei_names import Element, local, tag, whole_number
from pipeline.score.model import Event, EventKind

TYPES: Mapping[str, str] = {
    "maxima": "maxima", "longa": "long", "long": "long", "brevis": "breve", "breve": "breve",
    "1": "whole", "2": "half", "4": "quarter", "8": "eighth", "16": "16th", "32": "32nd",
    "64": "64th", "128": "128th", "256": "256th", "512": "512th", "1024": "1024th",
}  # fmt: skip
"""Note values of MEI 5.1 (data.DURATION) as MusicXML 4.0 names them (note-type-value)."""

_MOST_BEAMS = 8


@dataclass(frozen=True)
class Tuplet:
    """A tuplet from its first to its last event; `shown` says that it is printed as one."""

    first: str
    last: str
    num: int
    base: int
    number: int
    shown: bool = True
    bracket: str = ""
    place: str = ""


@dataclass
class Rhythm:
    """What is known of a staff's rhythm by event id."""

    modifications: dict[str, tuple[int, int]] = field(default_factory=dict)
    tuplets: list[Tuplet] = field(default_factory=list)
    beams: dict[str, tuple[str, ...]] = field(default_factory=dict)
    tremolos: dict[str, tuple[str, int]] = field(default_factory=dict)


def rhythm_of(music: StaffMusic) -> Rhythm:
    """Return tuplets, beams and tremolos of the staff; linear in its events."""
    found = Rhythm()
    for event in music.events:
        _modify(event, music, found)
        _tremolo(event, music, found)
    for voice in _voices(music):
        _enclosed(voice, music, "tuplet", found)
        _spanned_tuplets(voice, music, found)
        _beams(voice, music, found)
    return found


def type_of(event: Event) -> str:
    """Return the note value of an event without its dots, as MusicXML names it, "" if none."""
    return TYPES.get(event.written.rstrip("."), "")


def tuplet_notation(tuplet: Tuplet, end: str) -> Element:
    """Return the `tuplet` of one end of it."""
    made = make("tuplet", type=end, number=str(tuplet.number))
    if end == "start":
        made.set("bracket", tuplet.bracket or ("yes" if tuplet.shown else "no"))
        if tuplet.place in {"above", "below"}:
            made.set("placement", tuplet.place)
        if not tuplet.shown:
            made.set("show-number", "none")
        for name, count in (("tuplet-actual", tuplet.num), ("tuplet-normal", tuplet.base)):
            put(put(made, name), "tuplet-number", str(count))
    return made


def _voices(music: StaffMusic) -> Iterator[list[Event]]:
    """Yield the events of each voice of each bar, in the order of the file."""
    held: dict[tuple[int, int], list[Event]] = {}
    for event in music.events:
        held.setdefault((event.bar, event.voice), []).append(event)
    yield from held.values()


def _around(event: Event, music: StaffMusic, *names: str) -> list[Element]:
    """Return the enclosing elements of those names, the outermost first."""
    element = music.elements.get(event.xml_id)
    if element is None:
        return []
    return [one for one in element.iterancestors() if local(one) in names][::-1]


def _modify(event: Event, music: StaffMusic, found: Rhythm) -> None:
    """Find how many notes stand in the time of how many; a tremolo of two halves each."""
    plain = quarters_of(event.written.rstrip("."), event.written.count("."))
    if event.grace or plain is None or not event.duration or event.duration == plain:
        return
    around = _around(event, music, "tuplet", "fTrem")
    ratios = [(2, 1) if local(one) == "fTrem" else ratio_of(one) or (1, 1) for one in around]
    actual, normal = prod(r[0] for r in ratios), prod(r[1] for r in ratios)
    share = event.duration / plain
    if Fraction(normal, actual) != share:
        actual, normal = share.denominator, share.numerator
    found.modifications[event.xml_id] = (actual, normal)


def _enclosed(voice: Sequence[Event], music: StaffMusic, name: str, found: Rhythm) -> None:
    members: dict[Element, list[Event]] = {}
    depth: dict[Element, int] = {}
    for event in voice:
        if event.grace:
            continue
        for level, element in enumerate(_around(event, music, name), 1):
            members.setdefault(element, []).append(event)
            depth[element] = level
    for element, events in members.items():
        ratio = ratio_of(element)
        if ratio is None:
            continue
        unseen = "false" in {element.get("num.visible"), element.get("bracket.visible")}
        bracket = {"true": "yes", "false": "no"}.get(element.get("bracket.visible", ""), "")
        shown = not (unseen and element.get("num.visible") == "false")
        found.tuplets.append(
            Tuplet(
                events[0].xml_id, events[-1].xml_id, *ratio, depth[element], shown,
                bracket, element.get("bracket.place", "") or element.get("num.place", ""),
            )
        )  # fmt: skip


def _spanned_tuplets(voice: Sequence[Event], music: StaffMusic, found: Rhythm) -> None:
    """Find runs that last otherwise than written though no tuplet encloses them."""
    begins, ends = _tuplet_spans(music)
    run: list[Event] = []
    ratio: tuple[int, int] | None = None

    def close() -> None:
        if run and ratio is not None:
            shown = run[0].xml_id in begins
            found.tuplets.append(Tuplet(run[0].xml_id, run[-1].xml_id, *ratio, 1, shown))
        run.clear()

    for event in voice:
        if event.grace:
            continue
        own = found.modifications.get(event.xml_id)
        loose = own is not None and not _around(event, music, "tuplet", "fTrem")
        if not loose or own != ratio or event.xml_id in begins:
            close()
        if loose:
            ratio = own
            run.append(event)
        if event.xml_id in ends:
            close()
    close()


def _tuplet_spans(music: StaffMusic) -> tuple[set[str], set[str]]:
    begins: set[str] = set()
    ends: set[str] = set()
    for span in music.root.iter(tag("tupletSpan")):
        listed = referred(span.get("plist", ""))
        first = referred(span.get("startid", "")) or listed[:1]
        last = referred(span.get("endid", "")) or listed[-1:]
        for names, into in ((first, begins), (last, ends)):
            into.update(
                event.xml_id
                for event in (music.passage.by_id.get(name) for name in names)
                if event is not None
            )
    return begins, ends


def _tremolo(event: Event, music: StaffMusic, found: Rhythm) -> None:
    around = _around(event, music, "bTrem", "fTrem")
    element = music.elements.get(event.xml_id)
    if element is None or not event.heads:
        return
    slashes = whole_number(element.get("stem.mod", "").removesuffix("slash")) or 0
    if not around:
        if slashes and not event.grace:
            found.tremolos[event.xml_id] = ("single", slashes)
        return
    inner = around[-1]
    own = _flags(event.written.rstrip("."))
    unit = _flags(inner.get("unitdur", ""))
    marks = slashes or whole_number(inner.get("stem.mod", "").removesuffix("slash")) or 0
    marks = marks or whole_number(inner.get("beams", "")) or max(unit - own, 0) or 3
    kind = "single"
    if local(inner) == "fTrem":
        first = next(e for e in inner.iter(etree.Element) if local(e) in {"note", "chord"})
        kind = "start" if first is element else "stop"
    found.tremolos[event.xml_id] = (kind, min(marks, _MOST_BEAMS))


def _flags(dur: str) -> int:
    """Return how many flags a note value has: one for an eighth note."""
    part = whole_number(dur) or 0
    return max(part.bit_length() - 3, 0)


def _beams(voice: Sequence[Event], music: StaffMusic, found: Rhythm) -> None:
    groups: dict[tuple[object, bool], list[Event]] = {}
    spans = _beam_spans(music)
    for event in voice:
        around = _around(event, music, "beam")
        group: object = around[0] if around else spans.get(event.xml_id)
        if group is not None and event.kind in {EventKind.NOTE, EventKind.CHORD}:
            groups.setdefault((group, event.grace), []).append(event)
    for events in groups.values():
        for event, lines in zip(events, _lines_of(events, music), strict=True):
            if lines:
                found.beams[event.xml_id] = lines


def _beam_spans(music: StaffMusic) -> dict[str, Element]:
    found: dict[str, Element] = {}
    for span in music.root.iter(tag("beamSpan")):
        for name in referred(span.get("plist", "")):
            event = music.passage.by_id.get(name)
            if event is not None:
                found[event.xml_id] = span
    return found


def _lines_of(events: Sequence[Event], music: StaffMusic) -> list[tuple[str, ...]]:
    """Return for each note under one beam what each line of the beam does there."""
    flags = [_flags(event.written.rstrip(".")) for event in events]
    # `breaksec` says how many lines go on after a note whose secondary lines break.
    kept = [
        whole_number(music.elements[event.xml_id].get("breaksec", "")) or _MOST_BEAMS
        for event in events
    ]
    told = []
    for at, own in enumerate(flags):
        lines = []
        for line in range(1, min(own, _MOST_BEAMS) + 1):
            before = at > 0 and flags[at - 1] >= line and kept[at - 1] >= line
            after = at + 1 < len(flags) and flags[at + 1] >= line and kept[at] >= line
            hook = "backward hook" if at > 0 else "forward hook"
            lines.append(
                "continue" if before and after
                else "end" if before else "begin" if after
                else hook
            )  # fmt: skip
        told.append(() if lines and "hook" in lines[0] else tuple(lines))
    return told
