"""What crosses the edge of an excerpt: kept, shortened to the edge, or left out.

A slur, tie, hairpin or octave line that goes on before or after the excerpt is drawn from or to the
edge: its missing end becomes a `@tstamp` of 0 or a `@tstamp2` at the end of the last bar. Words and
signs at a point belong to the bar they stand in. Nothing of the passage's own tree is changed.
"""

from __future__ import annotations

import re
from copy import deepcopy
from dataclasses import dataclass
from fractions import Fraction

from lxml import etree

from pipeline.engrave.mei_tree import XML_ID, MeiTree, drop, local, mei, referred, stands_on

GOES_ON_FROM_BEFORE = frozenset({"slur", "tie", "phrase", "hairpin", "octave", "bracketSpan"})
"""Lines that make sense without their beginning."""

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


def cut_markings(tree: MeiTree, window: Window) -> list[list[etree._Element]]:
    """Return fresh copies of the markings of each bar of the window, cut at its edges."""
    kept: list[list[etree._Element]] = [[] for _ in range(window.first, window.last + 1)]
    for index in range(window.last + 1):
        for marking in tree.beside_staves(index):
            if not stands_on(marking, window.staff, tree):
                continue
            start = tree.bar_of.get(referred(marking, "startid"), index)
            end, beat = _end(marking, index, start, tree)
            if start > window.last or end < window.first:
                continue
            if start < window.first and local(marking) not in GOES_ON_FROM_BEFORE:
                continue
            copy = deepcopy(marking)
            copy.tail = None
            copy.set("staff", str(window.staff))
            _shorten(copy, start, end, beat, window)
            kept[max(start, window.first) - window.first].append(copy)
    return kept


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


def _end(marking: etree._Element, index: int, start: int, tree: MeiTree) -> tuple[int, str]:
    """The bar in which a marking ends, and the beat where it is written as `@tstamp2`."""
    end = referred(marking, "endid")
    if end in tree.bar_of:
        return tree.bar_of[end], ""
    written = _TSTAMP2.match(marking.get("tstamp2", ""))
    if written:
        return index + int(written[1] or 0), written[2]
    return start, ""


def _shorten(copy: etree._Element, start: int, end: int, beat: str, window: Window) -> None:
    """Let both ends of the copy lie inside the window."""
    if start < window.first:
        drop(copy, "startid")
        copy.set("tstamp", "0")
    first = max(start, window.first)
    if end > window.last:
        drop(copy, "endid")
        copy.set("tstamp2", f"{window.last - first}m+{_number(window.last_beat)}")
    elif beat:
        copy.set("tstamp2", f"{end - first}m+{beat}")


def _number(value: Fraction) -> str:
    """A beat as MEI writes it: a decimal number."""
    return f"{float(value):.6g}"
