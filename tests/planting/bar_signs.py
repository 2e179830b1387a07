"""What belongs to whole bars: another meter, a repeat sign or an ending that one side has."""

from __future__ import annotations

import random
from fractions import Fraction

from lxml import etree

from pipeline.collation.model import Change, DifferenceKind
from pipeline.score.model import Moment
from tests.planting.ground import MEI, Element, Ground, Operation, Plant, Told, Tree

_REPEATS = frozenset({"rptstart", "rptend", "rptboth"})


def meter_otherwise(ground: Ground, bar: int, _: random.Random) -> Plant | None:
    """The witness has as many beats twice as short for one bar, or twice as long."""
    meter = ground.base.bars[bar].meter
    if not meter or ground.base.bars[bar - 1].meter != meter or "+" in meter or " " in meter:
        return None
    signs = [
        sign
        for staff in ground.base.staves
        for sign in ground.base.markings_in.get((staff.n, bar), ())
    ]
    if not all(sign.start_id and (sign.end is None or sign.end_id) for sign in signs):
        return None  # where it stands is counted in units of the meter
    count, unit = map(int, meter.split("/"))
    other = (count // 2, unit // 2) if count % 2 == 0 and unit > 1 else (count * 2, unit * 2)
    measure = _measure(ground, ground.witness, bar)
    measure.addprevious(_score_def(*other))
    measure.addnext(_score_def(count, unit))
    figures = f"{other[0]}/{other[1]}"
    return _plant(ground, bar, DifferenceKind.METER, Change.OTHERWISE, meter, figures)


def repeat_end_missing(ground: Ground, bar: int, _: random.Random) -> Plant | None:
    return _line(ground, bar, ground.text, "end", Change.MISSING)


def repeat_end_added(ground: Ground, bar: int, _: random.Random) -> Plant | None:
    return _line(ground, bar, ground.witness, "end", Change.ADDED)


def repeat_start_missing(ground: Ground, bar: int, _: random.Random) -> Plant | None:
    return _line(ground, bar, ground.text, "start", Change.MISSING)


def repeat_start_added(ground: Ground, bar: int, _: random.Random) -> Plant | None:
    return _line(ground, bar, ground.witness, "start", Change.ADDED)


def ending_missing(ground: Ground, bar: int, _: random.Random) -> Plant | None:
    return _ending(ground, bar, ground.text, Change.MISSING)


def ending_added(ground: Ground, bar: int, _: random.Random) -> Plant | None:
    return _ending(ground, bar, ground.witness, Change.ADDED)


def _line(ground: Ground, bar: int, side: Tree, what: str, change: Change) -> Plant | None:
    around = [_measure(ground, side, at) for at in (bar - 1, bar, bar + 1)]
    lines = {one.get(name) for one in around for name in ("left", "right")}
    if lines & _REPEATS or ground.base.bars[bar].filled != ground.base.bars[bar].length:
        return None
    around[1].set("right" if what == "end" else "left", f"rpt{what}")
    return _plant(ground, bar, DifferenceKind.REPEAT, change, *_of_one(change, what))


def _ending(ground: Ground, bar: int, side: Tree, change: Change) -> Plant | None:
    if any(ground.base.bars[at].ending for at in (bar - 1, bar, bar + 1)):
        return None
    measure = _measure(ground, side, bar)
    ending = etree.Element(f"{MEI}ending", n="1")
    measure.addprevious(ending)
    ending.append(measure)
    return _plant(ground, bar, DifferenceKind.ENDING, change, *_of_one(change, "1"))


def _of_one(change: Change, content: str) -> tuple[str, str]:
    return (content, "") if change is Change.MISSING else ("", content)


def _measure(ground: Ground, side: Tree, bar: int) -> Element:
    return side[ground.base.bars[bar].xml_id]


def _score_def(count: int, unit: int) -> Element:
    attributes = {"meter.count": str(count), "meter.unit": str(unit)}
    return etree.Element(f"{MEI}scoreDef", attributes)


def _plant(
    ground: Ground, bar: int, kind: DifferenceKind, change: Change, text: str, witness: str
) -> Plant:
    """Return what is told of the whole bar, once, on the first staff."""
    whole = ground.base.bars[bar]
    start, end = Moment(bar, Fraction(0)), Moment(bar, whole.filled)
    touched = {f"{whole.xml_id} {kind} {content}" for content in (text, witness) if content}
    told = Told(start, end, ground.base.staves[0].n, kind, change)
    return Plant((told,), frozenset(touched))


BAR_SIGN_OPERATIONS: dict[str, Operation] = {
    "another meter": meter_otherwise,
    "repeat sign at the end missing": repeat_end_missing,
    "repeat sign at the end added": repeat_end_added,
    "repeat sign at the beginning missing": repeat_start_missing,
    "repeat sign at the beginning added": repeat_start_added,
    "ending missing": ending_missing,
    "ending added": ending_added,
}
