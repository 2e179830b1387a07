"""Definitions of a score in; the clef, key and meter of one staff out, where each begins.

MEI Guidelines 5.1, chapters 3.2 and 4.2 (scoreDef, staffDef, clef, keySig, meterSig) to MusicXML
4.0 `attributes`.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from fractions import Fraction

from pipeline.exchange.source import StaffMusic
from pipeline.exchange.xml import make, put
from pipeline.score.mei_names import XML_ID, Element, chosen_children, local, tag, whole_number
from pipeline.score.signatures import SHARPS_IN_ORDER, key_element, key_of

_NESTED = frozenset({"section", "ending", "lem", "rdg", "part", "parts"})
_TIMED = frozenset({"note", "chord", "rest", "space", "mRest", "mSpace", "multiRest"})
_CLEFS = {"GG": "G", "perc": "percussion", "TAB": "TAB"}
_OCTAVES = {"8": 1, "15": 2, "22": 3}


@dataclass(frozen=True)
class Clef:
    """A clef: MEI shape, line, octaves of displacement."""

    shape: str
    line: str
    octaves: int = 0


@dataclass(frozen=True)
class KeySignature:
    """Fifths (sharps above 0), or else the altered steps in the order they are printed."""

    fifths: int | None = 0
    steps: tuple[tuple[str, int], ...] = ()
    mode: str = ""


@dataclass(frozen=True)
class Meter:
    """One or several pairs of count and unit; `symbol` is "common", "cut" or empty."""

    pairs: tuple[tuple[str, str], ...]
    symbol: str = ""
    printed: bool = True


@dataclass(frozen=True)
class Signatures:
    """What is in force on a staff; `transposition` is diatonic steps and semitones."""

    clef: Clef | None = None
    key: KeySignature = KeySignature()
    meter: Meter | None = None
    transposition: tuple[int, int] = (0, 0)


@dataclass(frozen=True)
class Change:
    """What is in force from a moment of a bar, beside what was before."""

    offset: Fraction
    before: Signatures | None
    after: Signatures


def changes_of(music: StaffMusic) -> Mapping[int, tuple[Change, ...]]:
    """Return the changes of each bar, the first bar's first; linear in the elements."""
    walk = _Walk(music)
    score = next(music.root.iter(tag("score")))
    walk.section(score)
    return {bar: tuple(found) for bar, found in walk.found.items()}


def elements_of(change: Change, clef_number: str = "") -> Mapping[str, list[Element]]:
    """Return what of `attributes` a change needs: keys "key", "time", "clef", "transpose"."""
    before, after = change.before, change.after
    found: dict[str, list[Element]] = {}
    if before is None or before.key != after.key:
        found["key"] = [_key(after.key)]
    if before is None or before.meter != after.meter:
        found["time"] = [_time(after.meter)]
    if after.clef is not None and (before is None or before.clef != after.clef):
        found["clef"] = [_clef(after.clef, clef_number)]
    if after.transposition != (before.transposition if before else (0, 0)):
        found["transpose"] = [_transpose(*after.transposition)]
    return found


class _Walk:
    def __init__(self, music: StaffMusic) -> None:
        self.found: dict[int, list[Change]] = {}
        self._music = music
        self._bars = {bar.xml_id: bar.index for bar in music.passage.bars}
        self._now = Signatures()
        self._told: Signatures | None = None

    def section(self, parent: Element) -> None:
        for child in chosen_children(parent):
            name = local(child)
            if name == "measure":
                self._measure(child)
            elif name in {"scoreDef", "staffDef"}:
                self._definition(child)
            elif name in _NESTED:
                self.section(child)

    def _definition(self, element: Element) -> None:
        """Take over what a definition says to this staff; one of another staff says nothing."""
        if local(element) == "scoreDef":
            self._now = _redefined(self._now, element)
            for staff_def in _staff_definitions(element):
                self._definition(staff_def)
        elif whole_number(element.get("n", "")) in {self._music.staff, None}:
            self._now = _redefined(self._now, element)

    def _measure(self, measure: Element) -> None:
        bar = self._bars.get(measure.get(XML_ID, ""))
        if bar is None:
            return
        staffs = [one for one in chosen_children(measure) if local(one) == "staff"]
        for position, staff in enumerate(staffs, 1):
            if (whole_number(staff.get("n", "")) or position) != self._music.staff:
                continue
            for child in chosen_children(staff):
                if local(child) == "staffDef":
                    self._now = _redefined(self._now, child)
            self._tell(bar, Fraction(0))
            for layer in chosen_children(staff):
                if local(layer) == "layer":
                    self._layer(layer, bar)
        if bar == 0:
            self._tell(bar, Fraction(0))

    def _layer(self, layer: Element, bar: int) -> None:
        at = Fraction(0)
        for element in _inside(layer):
            name = local(element)
            if name in _TIMED:
                event = self._music.passage.by_id.get(element.get(XML_ID, ""))
                if event is not None:
                    at = event.onset + event.duration
            elif name in {"clef", "keySig", "meterSig", "staffDef"}:
                self._now = _with(self._now, element)
                self._tell(bar, at)

    def _tell(self, bar: int, offset: Fraction) -> None:
        if self._told != self._now:
            self.found.setdefault(bar, []).append(Change(offset, self._told, self._now))
            self._told = self._now


def _inside(parent: Element) -> Iterator[Element]:
    for child in chosen_children(parent):
        yield child
        if local(child) in {"beam", "tuplet", "bTrem", "fTrem", "graceGrp"}:
            yield from _inside(child)


def _staff_definitions(parent: Element) -> Iterator[Element]:
    for child in chosen_children(parent):
        if local(child) == "staffDef":
            yield child
        elif local(child) == "staffGrp":
            yield from _staff_definitions(child)


def _redefined(before: Signatures, element: Element) -> Signatures:
    """Return what is in force after a scoreDef or staffDef, attributes and children."""
    after = before
    if "clef.shape" in element.attrib:
        after = replace(after, clef=_clef_of(element, "clef."))
    if key_of(element.get("keysig", "")) is not None:
        key = KeySignature(_fifths(element.get("keysig", "")), (), element.get("key.mode", ""))
        after = replace(after, key=key)
    if "meter.count" in element.attrib or "meter.sym" in element.attrib:
        after = replace(after, meter=_meter_of(element, "meter.", after.meter))
    if "trans.semi" in element.attrib:
        semitones = int(float(element.get("trans.semi", "0")))
        steps = int(float(element.get("trans.diat", "0") or "0"))
        after = replace(after, transposition=(steps, semitones))
    for child in chosen_children(element):
        if local(child) in {"clef", "keySig", "meterSig", "meterSigGrp"}:
            after = _with(after, child)
    return after


def _with(before: Signatures, element: Element) -> Signatures:
    match local(element):
        case "clef":
            return replace(before, clef=_clef_of(element, ""))
        case "keySig":
            return replace(before, key=_key_of_element(element, before.key))
        case "meterSig":
            return replace(before, meter=_meter_of(element, "", before.meter))
        case "meterSigGrp":
            meters = [_meter_of(one, "", None) for one in chosen_children(element)]
            pairs = tuple(pair for meter in meters if meter for pair in meter.pairs)
            return replace(before, meter=Meter(pairs)) if pairs else before
        case _:
            return _redefined(before, element)


def _clef_of(element: Element, prefix: str) -> Clef:
    side = -1 if element.get(f"{prefix}dis.place") == "below" else 1
    shape = element.get(f"{prefix}shape", "G")
    octaves = _OCTAVES.get(element.get(f"{prefix}dis", ""), 0) * side
    return Clef(shape, element.get(f"{prefix}line", ""), octaves - (shape == "GG"))


def _fifths(written: str) -> int:
    return 0 if written == "0" else int(written[:-1]) * (1 if written[-1] == "s" else -1)


def _key_of_element(element: Element, before: KeySignature) -> KeySignature:
    mode = element.get("mode", "")
    if key_of(element.get("sig", "")) is not None:
        return KeySignature(_fifths(element.get("sig", "")), (), mode)
    key = key_element(element)
    if key is None:
        return before
    steps = tuple(key.alterations.items())
    for fifths in range(-7, 8):
        order = SHARPS_IN_ORDER if fifths > 0 else SHARPS_IN_ORDER[::-1]
        if dict(steps) == {order[n]: (1 if fifths > 0 else -1) for n in range(abs(fifths))}:
            return KeySignature(fifths, (), mode)
    return KeySignature(None, steps, mode)


def _meter_of(element: Element, prefix: str, before: Meter | None) -> Meter | None:
    count, unit = element.get(f"{prefix}count", ""), element.get(f"{prefix}unit", "")
    symbol = element.get(f"{prefix}sym", "")
    if not (count and unit):
        count, unit = {"common": ("4", "4"), "cut": ("2", "2")}.get(symbol, ("", ""))
    if not (count and unit):
        return before
    unseen = "false" in {element.get("meter.visible"), element.get(f"{prefix}visible")}
    unseen = unseen or element.get(f"{prefix}form") == "invis"
    return Meter(((count, unit),), symbol if symbol in {"common", "cut"} else "", not unseen)


def _key(key: KeySignature) -> Element:
    made = make("key")
    if key.fifths is not None:
        put(made, "fifths", str(key.fifths))
        if key.mode:
            put(made, "mode", key.mode)
        return made
    for step, alter in key.steps:
        put(made, "key-step", step)
        put(made, "key-alter", str(alter))
    return made


def _time(meter: Meter | None) -> Element:
    if meter is None:
        made = make("time", print_object="no")
        put(made, "senza-misura")
        return made
    made = make("time", symbol=meter.symbol, print_object="" if meter.printed else "no")
    for count, unit in meter.pairs:
        put(made, "beats", count.replace(" ", ""))
        put(made, "beat-type", unit)
    return made


def _clef(clef: Clef, number: str) -> Element:
    made = make("clef", number=number)
    put(made, "sign", _CLEFS.get(clef.shape, clef.shape))
    if clef.line:
        put(made, "line", clef.line)
    if clef.octaves:
        put(made, "clef-octave-change", str(clef.octaves))
    return made


def _transpose(steps: int, semitones: int) -> Element:
    """Write a transposition; whole octaves apart, as MusicXML has them."""
    octaves = int(semitones / 12)
    made = make("transpose")
    put(made, "diatonic", str(steps - 7 * octaves if steps else 0))
    put(made, "chromatic", str(semitones - 12 * octaves))
    if octaves:
        put(made, "octave-change", str(octaves))
    return made
