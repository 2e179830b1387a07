"""What crosses the edge of an excerpt: kept, shortened to the edge, or left out.

A slur, tie, hairpin or octave line that goes on before or after the excerpt is drawn from or to the
edge: its missing end becomes a `@tstamp` of 0 or a `@tstamp2` at the end of the last bar. Words and
signs at a point belong to the bar they stand in. Nothing of the passage's own tree is changed.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from copy import deepcopy
from dataclasses import dataclass
from fractions import Fraction
from functools import lru_cache

from lxml import etree

from pipeline.engrave.mei_tree import (
    XML_ID,
    MeiTree,
    drop,
    local,
    mei,
    mei_tree,
    referred,
    stands_on,
)

GOES_ON_FROM_BEFORE = frozenset({"slur", "tie", "phrase", "hairpin", "octave", "bracketSpan"})
"""Lines that make sense without their beginning."""

OPEN_LEFT, OPEN_RIGHT = "open-left", "open-right"
"""MEI `@type`, and class in the SVG, of lines that begin or end outside the excerpt."""

_TSTAMP2 = re.compile(r"^(?:(\d+)m\s*\+\s*)?(\d+(?:\.\d+)?)$")


@dataclass(frozen=True)
class Window:
    """The bars of the excerpt; `last_beat` is the `@tstamp` at which the last one ends."""

    staff: int
    first: int
    last: int
    last_beat: Fraction

    def holds(self, bar: int) -> bool:
        """Return whether a bar index lies inside."""
        return self.first <= bar <= self.last


@dataclass(frozen=True)
class _Extent:
    """A marking of the passage and the bars (indexes) it reaches from and to.

    `beat` is the `@tstamp` at which it ends, or "" where it ends with a note.
    """

    marking: etree._Element
    start: int
    end: int
    beat: str


def cut_markings(document: bytes, window: Window) -> list[list[etree._Element]]:
    """Return fresh copies of the markings of each bar of the window, cut at its edges.

    `document` is a passage's MEI.
    """
    kept: list[list[etree._Element]] = [[] for _ in range(window.first, window.last + 1)]
    for extent in _extents(document, window.staff):
        if extent.start > window.last or extent.end < window.first:
            continue
        if extent.start < window.first and local(extent.marking) not in GOES_ON_FROM_BEFORE:
            continue
        copy = deepcopy(extent.marking)
        copy.tail = None
        copy.set("staff", str(window.staff))
        _shorten(copy, extent, window)
        kept[max(extent.start, window.first) - window.first].append(copy)
    return kept


@lru_cache(maxsize=128)
def _extents(document: bytes, staff: int) -> tuple[_Extent, ...]:
    """All markings of one staff, in document order."""
    tree = mei_tree(document)
    return tuple(
        _extent(marking, index, tree)
        for index in range(len(tree.measures))
        for marking in tree.beside_staves(index)
        if stands_on(marking, staff, tree)
    )


def cut_ties(
    layers: list[list[etree._Element]], window: Window
) -> list[tuple[int, etree._Element]]:
    """Turn ties written as attributes that cross the edge into tie elements that reach it.

    `layers` are the excerpt's own copies; their `@tie` is changed. Returns the bar, counted from 0
    within the excerpt, and the element to add to it.
    """
    open_notes: dict[tuple[str, str], etree._Element] = {}
    made: list[tuple[int, etree._Element]] = []
    for index, held in enumerate(layers):
        for note in (n for layer in held for n in layer.iter(mei("note"))):
            tie = note.get("tie", "")[:1]
            pitch = (note.get("pname", ""), note.get("oct", ""))
            if tie in {"m", "t"} and open_notes.pop(pitch, None) is None and index == 0:
                made.append((0, _tie(window, endid=note.get(XML_ID, ""))))
                _write_tie(note, "i" if tie == "m" else None)
            if tie in {"i", "m"}:
                open_notes[pitch] = note
    last = len(layers) - 1
    in_last_bar = {n for layer in layers[last] for n in layer.iter(mei("note"))}
    for note in open_notes.values():
        if note in in_last_bar:
            made.append((last, _tie(window, startid=note.get(XML_ID, ""))))
            _write_tie(note, "t" if note.get("tie", "")[:1] == "m" else None)
    return made


def shorten_to_stubs(
    layers: list[list[etree._Element]], markings: Iterable[etree._Element]
) -> None:
    """Draw a slur of which only one note is left as the short arc of a tie.

    That is the slur that ends on the first note or begins on the last one: Verovio bends a slur of
    that length out of shape. `layers` and `markings` are the excerpt's own and are changed.
    """
    firsts = {_note_id(layer, first=True): layer for layer in layers[0]}
    lasts = {_note_id(layer, first=False): layer for layer in layers[-1]}
    for slur in (m for m in markings if local(m) == "slur"):
        begins, ends = referred(slur, "startid"), referred(slur, "endid")
        if not begins and ends in firsts:
            attribute, layer = "endid", firsts[ends]
        elif not ends and begins in lasts:
            attribute, layer = "startid", lasts[begins]
        else:
            continue
        slur.tag = mei("tie")
        drop(slur, "type")
        slur.set(attribute, f"#{_nearest_note(layer, slur.get(attribute, ''), slur)}")


def _note_id(layer: etree._Element, first: bool) -> str:
    """The xml:id of the first or last note or chord of a layer; of a chord, not of its notes."""
    events = [e for e in layer.iter(mei("note"), mei("chord")) if not e.get("grace")]
    tops = [e for e in events if (p := e.getparent()) is None or local(p) != "chord"]
    return tops[0 if first else -1].get(XML_ID, "") if tops else ""


def _nearest_note(layer: etree._Element, target: str, slur: etree._Element) -> str:
    """A tie is attached to a note: of a chord the one on the slur's side."""
    for chord in layer.iter(mei("chord")):
        if chord.get(XML_ID) == target.removeprefix("#"):
            by_height = sorted(chord.iter(mei("note")), key=_height)
            lowest = slur.get("curvedir") == "below"
            return by_height[0 if lowest else -1].get(XML_ID, "") if by_height else ""
    return target.removeprefix("#")


def _height(note: etree._Element) -> tuple[str, int]:
    return note.get("oct", ""), "cdefgab".find(note.get("pname", ""))


def _write_tie(note: etree._Element, tie: str | None) -> None:
    if tie is None:
        drop(note, "tie")
    else:
        note.set("tie", tie)


def _tie(window: Window, startid: str = "", endid: str = "") -> etree._Element:
    tie = etree.Element(mei("tie"), staff=str(window.staff))
    if startid:
        tie.set("startid", f"#{startid}")
        tie.set("tstamp2", f"0m+{_number(window.last_beat)}")
    else:
        tie.set("tstamp", "0")
        tie.set("endid", f"#{endid}")
    return tie


def _extent(marking: etree._Element, index: int, tree: MeiTree) -> _Extent:
    start = tree.bar_of.get(referred(marking, "startid"), index)
    end = tree.bar_of.get(referred(marking, "endid"))
    if end is not None:
        return _Extent(marking, start, end, "")
    written = _TSTAMP2.match(marking.get("tstamp2", ""))
    if written:
        return _Extent(marking, start, index + int(written[1] or 0), written[2])
    return _Extent(marking, start, start, "")


def _shorten(copy: etree._Element, extent: _Extent, window: Window) -> None:
    """Let both ends of the copy lie inside the window."""
    if extent.start < window.first:
        drop(copy, "startid")
        copy.set("tstamp", "0")
        _mark_open(copy, OPEN_LEFT)
    first = max(extent.start, window.first)
    if extent.end > window.last:
        drop(copy, "endid")
        _mark_open(copy, OPEN_RIGHT)
        copy.set("tstamp2", f"{window.last - first}m+{_number(window.last_beat)}")
    elif extent.beat:
        copy.set("tstamp2", f"{extent.end - first}m+{extent.beat}")


def _mark_open(copy: etree._Element, side: str) -> None:
    """Tell the SVG which end is open: `@type` becomes a class there."""
    copy.set("type", f"{copy.get('type', '')} {side}".strip())


def _number(value: Fraction) -> str:
    """A beat as MEI writes it: a decimal number."""
    return f"{float(value):.6g}"
