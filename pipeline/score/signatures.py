"""scoreDef, staffDef, keySig and meterSig in; the key and the meter in force on each staff out.

MEI Guidelines 5.1, chapters 3.2 and 4.2. No key signature anywhere means none, as on paper; a
meter that is nowhere is not guessed: bars are then as long as what they hold.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from fractions import Fraction
from types import MappingProxyType

from pipeline.score.durations import quarters_of
from pipeline.score.mei_names import Element, amount, chosen_children, local, whole_number

SHARPS_IN_ORDER = "FCGDAEB"
ALTERATIONS: Mapping[str, int] = MappingProxyType(
    {"s": 1, "f": -1, "ss": 2, "x": 2, "ff": -2, "xs": 3, "sx": 3, "ts": 3, "tf": -3}
    | {"n": 0, "nf": -1, "ns": 1}
)
"""Semitones of MEI data.ACCIDENTAL.WRITTEN and data.ACCIDENTAL.GESTURAL; quarter tones are none."""


@dataclass(frozen=True)
class Key:
    """A key signature: semitones of alteration by step, C to B; empty where nothing is altered."""

    alterations: Mapping[str, int] = field(default_factory=dict)


@dataclass(frozen=True)
class Meter:
    """A meter: how long a bar is and how long one counted beat is, in quarter notes.

    `figures` are count and unit as they are printed, "6/8"; those of a common-time sign too.
    """

    length: Fraction
    beat: Fraction
    unit: Fraction
    figures: str = ""


@dataclass(frozen=True)
class StaffDefinition:
    """What is in force on a staff: key, meter, octaves of transposition, defaults.

    `dur` and `oct` are default note value and octave, `ppq` the pulses that make a quarter note.
    """

    key: Key = Key()
    meter: Meter | None = None
    octaves: int = 0
    dur: str = ""
    oct: str = ""
    ppq: int = 0


def meter_of(count: str, unit: str, symbol: str = "") -> Meter | None:
    """Return the meter written as count over unit or as a symbol, or None where it is neither.

    In 6, 9, 12, ... eighths or shorter the counted beat is three units (the dotted quarter of
    6/8), else one unit (common practice, no source). Counts may be sums, such as "3+2".
    """
    if not count or not unit:
        count, unit = {"common": ("4", "4"), "cut": ("2", "2")}.get(symbol, ("", ""))
    parts = [amount(part.strip()) or Fraction(0) for part in count.split("+")]
    one = quarters_of(unit.strip())
    if one is None or min(parts) <= 0:
        return None
    total = sum(parts, Fraction(0))
    compound = len(parts) == 1 and one <= Fraction(1, 2) and total > 3 and total % 3 == 0
    figures = f"{count}/{unit}".replace(" ", "")
    return Meter(total * one, one * 3 if compound else one, one, figures)


def key_of(written: str) -> Key | None:
    """Return the key signature that MEI writes as "0", "3s" or "2f", or None for anything else."""
    if written == "0":
        return Key()
    count = whole_number(written[:-1])
    if count is None or count > 14 or written[-1] not in "sf":
        return None
    alter, order = (1, SHARPS_IN_ORDER) if written[-1] == "s" else (-1, SHARPS_IN_ORDER[::-1])
    steps: dict[str, int] = {}
    for place in range(count):
        step = order[place % 7]
        steps[step] = steps.get(step, 0) + alter
    return Key(steps)


def key_element(element: Element) -> Key | None:
    """Return the key of a `keySig`, whose signs may be spelled out as `keyAccid` children."""
    spelled = [child for child in chosen_children(element) if local(child) == "keyAccid"]
    if spelled:
        return Key(
            {
                child.get("pname", "").upper(): ALTERATIONS.get(child.get("accid", ""), 0)
                for child in spelled
            }
        )
    return key_of(element.get("sig", ""))


def meter_element(element: Element) -> Meter | None:
    """Return the meter of a `meterSig`, or of a `meterSigGrp` (summed where it is mixed)."""
    if local(element) == "meterSig":
        return meter_of(element.get("count", ""), element.get("unit", ""), element.get("sym", ""))
    found = [meter_element(child) for child in chosen_children(element)]
    meters = [meter for meter in found if meter is not None]
    if not meters:
        return None
    if element.get("func") == "mixed":
        length = sum((meter.length for meter in meters), Fraction(0))
        figures = "+".join(meter.figures for meter in meters)
        return replace(meters[-1], length=length, figures=figures)
    return replace(meters[0], figures=" ".join(meter.figures for meter in meters))


def redefined(before: StaffDefinition, element: Element) -> StaffDefinition:
    """Return the definition after a scoreDef, staffDef or layerDef, attributes and children."""
    after = before
    written = element.attrib
    if "keysig" in written:
        key = key_of(element.get("keysig", ""))
        after = replace(after, key=key) if key is not None else after
    if "meter.count" in written or "meter.sym" in written:
        meter = meter_of(
            element.get("meter.count", ""),
            element.get("meter.unit", ""),
            element.get("meter.sym", ""),
        )
        if meter is not None:
            unseen = written.get("meter.visible") == "false" or written.get("meter.form") == "invis"
            after = replace(after, meter=_seen(meter, before.meter, unseen))
    if "trans.semi" in written:
        after = replace(after, octaves=_whole_octaves(element.get("trans.semi", "")))
    after = replace(
        after,
        dur=element.get("dur.default", after.dur),
        oct=element.get("oct.default", after.oct),
        ppq=_pulses(element.get("ppq", ""), after.ppq),
    )
    for child in chosen_children(element):
        name = local(child)
        if name == "keySig":
            key = key_element(child)
            after = replace(after, key=key) if key is not None else after
        elif name in {"meterSig", "meterSigGrp"}:
            meter = meter_element(child)
            if meter is not None:
                unseen = child.get("visible") == "false" or child.get("form") == "invis"
                after = replace(after, meter=_seen(meter, before.meter, unseen))
    return after


def _seen(meter: Meter, before: Meter | None, unseen: bool) -> Meter:
    """Return the meter; one that is not printed, as for an upbeat, leaves the printed figures."""
    return replace(meter, figures=before.figures) if unseen and before is not None else meter


def unreadable_signatures(element: Element) -> list[str]:
    """Return what of this definition is neither a key nor a meter, as it is written."""
    wrong: list[str] = []
    keysig = element.get("keysig")
    if keysig not in {None, "mixed"} and key_of(keysig or "") is None:
        wrong.append(f'key signature "{keysig}"')
    for child in chosen_children(element):
        if local(child) == "keySig" and "sig" in child.attrib and key_element(child) is None:
            wrong.append(f'key signature "{child.get("sig")}"')
        elif local(child) == "meterSig" and "count" in child.attrib and not meter_element(child):
            wrong.append(f'meter "{child.get("count")}/{child.get("unit")}"')
    if "meter.count" in element.attrib and not meter_of(
        element.get("meter.count", ""), element.get("meter.unit", ""), element.get("meter.sym", "")
    ):
        wrong.append(f'meter "{element.get("meter.count")}/{element.get("meter.unit")}"')
    return wrong


def _pulses(written: str, before: int) -> int:
    pulses = whole_number(written)
    return before if pulses is None else pulses


def _whole_octaves(written: str) -> int:
    return int((amount(written) or 0) / 12)
