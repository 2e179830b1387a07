"""Excerpts one above the other, aligned in time: a small, complete MEI document for Verovio.

Every staff has its own clef and key; meter, bar lines, bar numbers and tempo words are those of the
leading staff, which is the text. Labels stand at the left, the bar number above the first bar.
"""

from __future__ import annotations

import textwrap
from collections.abc import Collection
from copy import deepcopy
from dataclasses import dataclass, replace
from functools import lru_cache

from lxml import etree

from pipeline.engrave.excerpts import Excerpt
from pipeline.engrave.house_style import PLAIN, TextLook
from pipeline.engrave.mei_tree import XML_ID, drop, mei
from pipeline.engrave.openings import Opening

LABEL_CHARACTERS = 15
"""A longer label is broken into lines, so that the music keeps its room."""

_EMPTY_DOCUMENT = '<mei xmlns="http://www.music-encoding.org/ns/mei" meiversion="5.1"/>'
_ABOVE_THE_SYSTEM = frozenset({mei("tempo"), mei("reh")})


@dataclass(frozen=True)
class StaffLine:
    """One staff of the system. `size` is a part of the ordinary staff size."""

    excerpt: Excerpt
    label: str = ""
    label_look: TextLook = PLAIN
    size: float = 1.0
    keeps_tempo: bool = False
    """Whether tempo words are printed although this is not the leading staff."""


@dataclass(frozen=True)
class System:
    """Staves that stand one above the other and have as many bars.

    `leading` is the index of the staff that meter, bar lines, numbers and tempo are taken from.
    `meter_hidden` leaves the meter out although it is set just before the first bar,
    `number_hidden` the bar's number; `widely_spaced` gives room to digits in brackets.
    """

    staves: tuple[StaffLine, ...]
    leading: int = 0
    meter_hidden: bool = False
    number_hidden: bool = False
    widely_spaced: bool = False

    @property
    def lead(self) -> StaffLine:
        """The leading staff."""
        return self.staves[self.leading]


def can_be_aligned(first: Excerpt, second: Excerpt) -> bool:
    """Return whether two excerpts can stand in one system: as many bars, the same meters."""
    if len(first.bars) != len(second.bars):
        return False
    return all(not a or not b or a == b for a, b in zip(first.meters, second.meters, strict=True))


def system_document(system: System, line_starts: Collection[int] = ()) -> str:
    """Return the MEI 5.1 of one system; a new line begins before each bar of `line_starts`.

    Each line is a page of its own (`pb`), so that it becomes a picture of its own.
    """
    root = etree.XML(_EMPTY_DOCUMENT)
    title = _below(root, "meiHead", "fileDesc", "titleStmt", "title")
    statement = title.getparent()
    if statement is not None:
        statement.addnext(etree.Element(mei("pubStmt")))
    score = _below(root, "music", "body", "mdiv", "score")
    group = _below(score, "scoreDef", "staffGrp")
    lead = system.lead
    opening = lead.excerpt.opening
    if system.meter_hidden:
        opening = replace(opening, meter_is_new=False)
    for n, staff in enumerate(system.staves, start=1):
        group.append(_staff_definition(staff, n, opening))
    section = etree.SubElement(score, mei("section"))
    for index in range(len(lead.excerpt.bars)):
        if index:
            _append_changes(section, system.staves, index)
        if index in line_starts:
            section.append(etree.Element(mei("pb")))
        measure = _measure(system.staves, index, lead)
        if system.number_hidden:
            drop(measure, "n")
        elif index == 0:
            number = etree.Element(mei("mNum"))
            number.text = measure.get("n")
            measure.insert(0, number)
        section.append(measure)
    return etree.tostring(root, encoding="unicode")


def _below(parent: etree._Element, *names: str) -> etree._Element:
    for name in names:
        parent = etree.SubElement(parent, mei(name))
    return parent


def _staff_definition(staff: StaffLine, n: int, lead: Opening) -> etree._Element:
    opening = staff.excerpt.opening
    definition = etree.Element(mei("staffDef"), n=str(n), lines=opening.lines)
    if staff.size < 1:
        definition.set("scale", f"{round(staff.size * 100)}%")
    if staff.label:
        definition.append(_label("label", staff))
        definition.append(_label("labelAbbr", staff))
    for sign in replace(opening, meter=lead.meter).signs(lead.meter_is_new):
        definition.append(sign)
    return definition


def label_lines(staff: StaffLine) -> tuple[str, ...]:
    """Return the label, broken into lines of about the same length where it is long."""
    return _wrapped(staff.label_look.bracketed(staff.label)) if staff.label else ()


@lru_cache(maxsize=256)
def _wrapped(label: str) -> tuple[str, ...]:
    lines = textwrap.wrap(label, LABEL_CHARACTERS, break_long_words=False)
    if len(lines) < 2:
        return tuple(lines)
    for width in range(LABEL_CHARACTERS - 1, 0, -1):
        narrower = textwrap.wrap(label, width, break_long_words=False)
        if len(narrower) > len(lines) or max(map(len, narrower)) > width:
            break
        lines = narrower
    return tuple(lines)


def _label(name: str, staff: StaffLine) -> etree._Element:
    """A label in the layer's look, as large beside a small staff as beside an ordinary one."""
    label = etree.Element(mei(name))
    look = staff.label_look
    rend = etree.SubElement(label, mei("rend"))
    rend.set("fontstyle", "italic" if look.slant == "italic" else "normal")
    rend.set("fontweight", "bold" if look.weight == "bold" else "normal")
    if staff.size < 1:
        rend.set("fontsize", f"{100 / staff.size:.4g}%")
    first, *others = label_lines(staff)
    rend.text = first
    for line in others:
        etree.SubElement(rend, mei("lb")).tail = line
    return label


def _append_changes(section: etree._Element, staves: tuple[StaffLine, ...], index: int) -> None:
    """Write what changes before this bar: key and meter of each staff; clefs too."""
    changed: list[etree._Element] = []
    for n, staff in enumerate(staves, start=1):
        before = staff.excerpt.bars[index - 1].opening
        now = staff.excerpt.bars[index].opening
        definition = etree.Element(mei("staffDef"), n=str(n))
        if now.key is not None and not _same(before.key, now.key):
            definition.append(deepcopy(now.key))
        if now.meter is not None and now.meter_is_new:
            definition.append(deepcopy(now.meter))
        if len(definition):
            changed.append(definition)
    if changed:
        group = _below(section, "scoreDef", "staffGrp")
        for definition in changed:
            group.append(definition)


def _same(one: etree._Element | None, other: etree._Element | None) -> bool:
    if one is None or other is None:
        return one is other
    return etree.tostring(one) == etree.tostring(other)


def _measure(staves: tuple[StaffLine, ...], index: int, lead: StaffLine) -> etree._Element:
    top = lead.excerpt.bars[index]
    measure = etree.Element(mei("measure"), dict(top.measure_attributes), n=top.n)
    for n, staff in enumerate(staves, start=1):
        holder = etree.SubElement(measure, mei("staff"), n=str(n))
        for layer in staff.excerpt.bars[index].layers:
            holder.append(deepcopy(layer))
    for n, staff in enumerate(staves, start=1):
        for marking in staff.excerpt.bars[index].markings:
            above = marking.tag in _ABOVE_THE_SYSTEM
            if above and staff is not lead and not staff.keeps_tempo:
                continue
            copy = deepcopy(marking)
            copy.set("staff", "1" if above and staff is lead else str(n))
            measure.append(copy)
    return measure


def must_be_drawn(system: System) -> frozenset[str]:
    """Return the xml:ids of a system that have to be in the SVG."""
    ids: set[str] = set()
    for staff in system.staves:
        ids |= staff.excerpt.must_be_drawn
        if staff is not system.lead and not staff.keeps_tempo:
            ids -= {
                e.get(XML_ID, "") for e in staff.excerpt.elements() if e.tag in _ABOVE_THE_SYSTEM
            }
    return frozenset(ids)
