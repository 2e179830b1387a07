"""Whole bars missing or added: one left out, one copied from elsewhere, one composed."""

from __future__ import annotations

import random
from copy import deepcopy
from fractions import Fraction

from lxml import etree

from pipeline.collation.collated import BarChange
from pipeline.score.durations import written_value
from pipeline.score.model import Moment
from tests.planting.ground import MEI, XML_ID, Element, Ground, Operation, Plant, Told

_SIGNATURES = ("clef", "keySig", "meterSig", "staffDef", "scoreDef")


def bar_missing(ground: Ground, bar: int, _: random.Random) -> Plant | None:
    if not _may_go(ground, bar):
        return None
    xml_id = ground.base.bars[bar].xml_id
    ground.witness.take(xml_id)
    return _plant(BarChange.MISSING, bar, xml_id)


def bars_missing(ground: Ground, bar: int, _: random.Random) -> Plant | None:
    """Two bars that follow each other are missing."""
    if not (_may_go(ground, bar) and _may_go(ground, bar + 1)):
        return None
    if _content(ground, bar) == _content(ground, bar + 2) or _content(ground, bar + 1) == _content(
        ground, bar - 1
    ):
        return None
    names = [ground.base.bars[index].xml_id for index in (bar, bar + 1)]
    for name in names:
        ground.witness.take(name)
    return _plant(BarChange.MISSING, bar, " ".join(names))


def bar_copied(ground: Ground, bar: int, chance: random.Random) -> Plant | None:
    """A bar from elsewhere in the work stands between two bars."""
    if not _open_after(ground, bar):
        return None
    elsewhere = list(range(len(ground.base.bars)))
    chance.shuffle(elsewhere)
    for other in elsewhere:
        if _whole(ground, other) and _differs(ground, other, (bar, bar + 1)):
            copy = deepcopy(ground.text[ground.base.bars[other].xml_id])
            _rename(copy, ground.new_id())
            return _inserted(ground, bar, copy)
    return None


def bar_composed(ground: Ground, bar: int, chance: random.Random) -> Plant | None:
    """A new bar, one long note in each staff, stands between two bars."""
    length = written_value(ground.base.bars[bar].length)
    if length is None or not _open_after(ground, bar):
        return None
    measure = etree.Element(f"{MEI}measure", n="0")
    measure.set(XML_ID, ground.new_id())
    for staff in ground.base.staves:
        layer = etree.SubElement(
            etree.SubElement(measure, f"{MEI}staff", n=str(staff.n)), f"{MEI}layer", n="1"
        )
        etree.SubElement(
            layer, f"{MEI}note", {"accid.ges": "n"}, dur=length[0], dots=str(length[1]),
            pname=chance.choice("abcdefg"), oct=chance.choice("67"),
        )  # fmt: skip
    return _inserted(ground, bar, measure)


BAR_OPERATIONS: dict[str, Operation] = {
    "bar missing": bar_missing,
    "two bars missing": bars_missing,
    "bar copied": bar_copied,
    "bar composed": bar_composed,
}


def _plant(change: BarChange, bar: int, names: str) -> Plant:
    at = Moment(bar, Fraction(0))
    return Plant((Told(at, at, 0, change, names),))


def _inserted(ground: Ground, bar: int, measure: Element) -> Plant:
    measure.tail = None
    ground.witness[ground.base.bars[bar].xml_id].addnext(measure)
    return _plant(BarChange.ADDED, bar, measure.get(XML_ID, ""))


def _may_go(ground: Ground, bar: int) -> bool:
    """Return whether a bar may be left out: nothing reaches over its border, no neighbour is it."""
    inside = 0 < bar < len(ground.base.bars) - 1
    return inside and _whole(ground, bar) and _differs(ground, bar, (bar - 1, bar + 1))


def _open_after(ground: Ground, bar: int) -> bool:
    """Return whether a bar may be put in after this one: no sign reaches from it into the next."""
    return bar < len(ground.base.bars) - 1 and not any(
        m.end is not None and m.start.bar <= bar < m.end.bar
        for staff in ground.base.staves
        for m in ground.base.markings_in.get((staff.n, bar), ())
    )


def _whole(ground: Ground, bar: int) -> bool:
    measure = ground.text[ground.base.bars[bar].xml_id]
    if any(one.tag in {f"{MEI}{name}" for name in _SIGNATURES} for one in measure.iter()):
        return False
    crossing = any(
        m.start.bar != bar or (m.end is not None and m.end.bar != bar)
        for staff in ground.base.staves
        for m in ground.base.markings_in.get((staff.n, bar), ())
    )
    return bool(ground.notes(bar)) and not crossing


def _differs(ground: Ground, bar: int, others: tuple[int, ...]) -> bool:
    return all(_content(ground, bar) != _content(ground, other) for other in others)


def _content(ground: Ground, bar: int) -> set[tuple[object, ...]]:
    return {(e.staff, e.onset, e.duration, e.pitches) for e in ground.notes(bar)}


def _rename(measure: Element, suffix: str) -> None:
    """Give every element of a copied bar another xml:id, and let its signs refer to these."""
    for one in measure.iter("*"):
        for name in (XML_ID, "startid", "endid"):
            if one.get(name):
                one.set(name, f"{one.get(name)}-{suffix}")
        one.attrib.pop("plist", None)
