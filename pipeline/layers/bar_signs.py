"""What belongs to whole bars: meters, repeat signs and endings, where a witness has its own.

They are attributes of the bars or stand around them, so that no branch of an `app` can hold them:
the annot of the encoding tells them bar by bar, and they are written when the witness is taken out.
MEI 5.1: `measure/@left` and `@right`, `ending`, att.meterSigDefault.log.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import groupby

from lxml import etree

from pipeline.layers.sheet import drop_attribute, make, remove, unwrap
from pipeline.score.bars import Printed, ScoreReader
from pipeline.score.mei_names import Element, amount, local, tag
from pipeline.score.model import Bar
from pipeline.score.trouble import Trouble

_METER = ("meter.count", "meter.unit", "meter.sym", "meter.form", "meter.visible")


@dataclass(frozen=True)
class BarSigns:
    """What belongs to one bar: see `Bar`."""

    meter: str
    repeat_start: bool
    repeat_end: bool
    ending: str


def signs_of(bars: Iterable[Bar]) -> tuple[BarSigns, ...]:
    """Return the signs of bars."""
    return tuple(BarSigns(b.meter, b.repeat_start, b.repeat_end, b.ending) for b in bars)


def told_in_header(signs: Sequence[BarSigns]) -> Element:
    """Return a list of the bars with signs, counted from 1; a meter is told where it begins."""
    made = make("list", type="bar-signs")
    before = ""
    for n, one in enumerate(signs, 1):
        said = {
            "meter": one.meter if one.meter != before else "",
            "repeat-start": "||:" if one.repeat_start else "",
            "repeat-end": ":||" if one.repeat_end else "",
            "ending": one.ending,
        }
        before = one.meter
        if any(said.values()):
            item = make("li", n=str(n))
            for kind, words in said.items():
                if words:
                    term = make("term", type=kind)
                    term.text = words
                    item.append(term)
            made.append(item)
    return made


def read_in_header(told: Element, count: int) -> tuple[BarSigns, ...]:
    """Return the signs of so many bars from such a list."""
    by_bar = {
        int(item.get("n", "0")): {term.get("type", ""): term.text or "" for term in item}
        for item in told.iter(tag("li"))
    }
    found: list[BarSigns] = []
    meter = ""
    for n in range(1, count + 1):
        said = by_bar.get(n, {})
        meter = said.get("meter", meter)
        found.append(
            BarSigns(meter, "repeat-start" in said, "repeat-end" in said, said.get("ending", ""))
        )
    return tuple(found)


def write_bar_signs(root: Element, told: Element) -> None:
    """Give the bars of a document's one score the signs that are told; beats keep their moment."""
    before = _printed(root)
    have = signs_of(before.bars)
    wanted = read_in_header(told, len(have))
    if [one.meter for one in have] != [one.meter for one in wanted]:
        _write_meters(root, before.measures, [one.meter for one in wanted])
    if [(s.repeat_start, s.repeat_end) for s in have] != [
        (s.repeat_start, s.repeat_end) for s in wanted
    ]:
        for measure, signs in zip(before.measures, wanted, strict=True):
            _write_repeats(measure, signs)
    if [one.ending for one in have] != [one.ending for one in wanted]:
        _write_endings(root, before.measures, [one.ending for one in wanted])
    _keep_beats(before, _printed(root))


def _printed(root: Element) -> Printed:
    return ScoreReader(next(root.iter(tag("score"))), Trouble("")).read()


def _write_meters(root: Element, measures: Sequence[Element], meters: Sequence[str]) -> None:
    for sign in list(root.iter(tag("meterSig"), tag("meterSigGrp"))):
        if sign.getparent() is not None:
            remove(sign)
    definitions = list(root.iter(tag("scoreDef"), tag("staffDef"), tag("layerDef")))
    for definition in definitions:
        for name in _METER:
            drop_attribute(definition, name)
    before = ""
    for index, (measure, meter) in enumerate(zip(measures, meters, strict=True)):
        if meter and meter != before:
            definition = make("scoreDef") if index else next(root.iter(tag("scoreDef")))
            _define(definition, meter)
            if index:
                measure.addprevious(definition)
        before = meter


def _define(definition: Element, figures: str) -> None:
    """Write a meter: "6/8", or several of them that are added ("+") or alternate (a space)."""
    if figures.count("/") == 1:
        count, _, unit = figures.partition("/")
        definition.set("meter.count", count)
        definition.set("meter.unit", unit)
        return
    group = make("meterSigGrp", func="alternating" if " " in figures else "mixed")
    for one in figures.split(" ") if " " in figures else _added(figures):
        count, _, unit = one.partition("/")
        group.append(make("meterSig", count=count, unit=unit))
    definition.insert(0, group)


def _added(figures: str) -> list[str]:
    """Return the parts of "3+2/8+2/4" that each have a unit."""
    parts: list[str] = []
    for one in figures.split("+"):
        if parts and "/" not in parts[-1]:
            parts[-1] += f"+{one}"
        else:
            parts.append(one)
    return parts


def _write_repeats(measure: Element, signs: BarSigns) -> None:
    for name in ("left", "right"):
        if measure.get(name, "").startswith("rpt"):
            drop_attribute(measure, name)
    if signs.repeat_start:
        measure.set("left", "rptstart")
    if signs.repeat_end:
        measure.set("right", "rptend")


def _write_endings(root: Element, measures: Sequence[Element], endings: Sequence[str]) -> None:
    for ending in list(root.iter(tag("ending"))):
        unwrap(ending, ending)
    rows = zip(measures, endings, strict=True)
    for (written, parent), group in groupby(rows, lambda row: (row[1], row[0].getparent())):
        held = [measure for measure, _ in group]
        if written and parent is not None:
            ending = make("ending", n=written)
            held[0].addprevious(ending)
            between = [*held[0].itersiblings()]
            last = between.index(held[-1]) if len(held) > 1 else -1
            for one in (held[0], *between[: last + 1]):
                ending.append(one)


def _keep_beats(before: Printed, after: Printed) -> None:
    """Count the beats of signs in the units that are now in force."""
    if before.units == after.units:
        return
    for index, measure in enumerate(before.measures):
        for sign in measure.iter(etree.Element):
            for name in ("tstamp", "tstamp2"):
                if local(sign) == "staff" or name not in sign.attrib:
                    continue
                ahead, _, written = sign.get(name, "").rpartition("m+")
                bar = min(index + int(ahead or 0), len(before.units) - 1)
                beat = amount(written)
                if beat is not None and before.units[bar] != after.units[bar]:
                    beat = (beat - 1) * before.units[bar] / after.units[bar] + 1
                    sign.set(name, f"{ahead}m+{float(beat):.9g}" if ahead else f"{float(beat):.9g}")
