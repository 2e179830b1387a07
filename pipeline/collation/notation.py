"""How a passage is written where that does not touch its sound: stems, beams, clefs, breaks.

A passage's MEI goes in, walked as the score stage walks it (MEI Guidelines 5.1, chapters 3 and 4);
out goes its notation by bar, event and note. The passage itself holds the music only.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field, replace
from fractions import Fraction
from itertools import count

from pipeline.collation.stems import StemGroup, grouped, stems_of_staff, steps_of
from pipeline.collation.written_layers import WrittenEvent, WrittenLayer, written_layer
from pipeline.score.identifiers import referred
from pipeline.score.mei_names import XML_ID, Element, chosen_children, local, tag, whole_number
from pipeline.score.model import Passage
from pipeline.score.safe_xml import parse_xml
from pipeline.score.signatures import Key, StaffDefinition, key_element, redefined

_NESTED = frozenset({"section", "ending", "lem", "rdg", "part", "parts", "staffGrp"})
_STEPS_OF_CLEF = {"G": 4 * 7 + 4, "C": 4 * 7, "F": 3 * 7 + 3}
"""Steps from C0 to the note on the clef's own line: G4, C4, F3 (octave numbers as in ISO 16)."""
_STEPS_OF_OCTAVES = {"8": 7, "15": 14, "22": 21}

KeySigns = tuple[tuple[str, int], ...]
MeterSigns = tuple[str, str, str]


@dataclass(frozen=True)
class Clef:
    """A clef as it is printed; `octaves` is "8 below" and the like."""

    shape: str
    line: str
    octaves: str = ""

    @property
    def middle(self) -> int | None:
        """Steps from C0 to the middle line of five, or None where the clef names no pitch."""
        line = whole_number(self.line)
        if self.shape not in _STEPS_OF_CLEF or line is None:
            return None
        dis, _, side = self.octaves.partition(" ")
        shift = _STEPS_OF_OCTAVES.get(dis, 0) * (-1 if side == "below" else 1)
        return _STEPS_OF_CLEF[self.shape] + shift + 2 * (3 - line)


@dataclass(frozen=True)
class BarNotation:
    """A bar: the break before it ("sb", "pb" or none), the line after it, the meter in force."""

    break_before: str
    line_after: str
    meter: MeterSigns


@dataclass(frozen=True)
class Notation:
    """The notation of a passage, by index of the bar or by xml:id of the event or note.

    `keys` are the steps that the key signature alters. `stems` are as stated or, where nothing is,
    as is usual; `stated_stems` are the events that state theirs. `beams` number the beams of the
    passage, `chords` rank the notes of a chord from low to high in the order of the file, `sides`
    are what an event states of its articulations.
    """

    bars: list[BarNotation] = field(default_factory=list)
    clefs: dict[str, Clef | None] = field(default_factory=dict)
    keys: dict[str, KeySigns] = field(default_factory=dict)
    stems: dict[str, str] = field(default_factory=dict)
    stated_stems: set[str] = field(default_factory=set)
    beams: dict[str, int] = field(default_factory=dict)
    chords: dict[str, tuple[int, ...]] = field(default_factory=dict)
    brackets: dict[str, str] = field(default_factory=dict)
    sides: dict[tuple[str, str], str] = field(default_factory=dict)


@dataclass(frozen=True)
class _Staff:
    """What is in force on a staff."""

    clef: Clef | None = None
    definition: StaffDefinition = field(default_factory=StaffDefinition)
    meter: MeterSigns = ("", "", "")


def notation_of(passage: Passage) -> Notation:
    """Return how a passage is written; empty for one without MEI. Linear in its elements."""
    root = parse_xml(passage.mei, passage.file).value if passage.mei else None
    score = None if root is None else next(root.iter(tag("score")), None)
    return Notation() if score is None else _Reader(passage).read(score)


class _Reader:
    """Walks one score and fills a notation as it goes."""

    def __init__(self, passage: Passage) -> None:
        self._passage = passage
        self._notation = Notation()
        self._common = _Staff()
        self._staves: dict[int, _Staff] = {}
        self._break = ""
        self._numbers = count()
        self._spans: list[Element] = []

    def read(self, score: Element) -> Notation:
        """Read everything."""
        self._walk(score)
        for span in self._spans:
            number = next(self._numbers)
            self._notation.beams.update(dict.fromkeys(self._spanned(span), number))
        return self._notation

    def _walk(self, parent: Element) -> None:
        for child in chosen_children(parent):
            name = local(child)
            if name == "measure":
                self._measure(child)
            elif name in {"sb", "pb"}:
                self._break = "pb" if "pb" in {name, self._break} else "sb"
            elif name == "scoreDef":
                self._common = _after(self._common, child)
                self._staves = {n: _after(staff, child) for n, staff in self._staves.items()}
                self._walk(child)
            elif name == "staffDef":
                n = whole_number(child.get("n", ""))
                if n is not None:
                    self._staves[n] = _after(self._staves.get(n, self._common), child)
            elif name in _NESTED:
                self._walk(child)

    def _measure(self, measure: Element) -> None:
        index = len(self._notation.bars)
        held = list(chosen_children(measure))
        meters = []
        for position, staff in enumerate((e for e in held if local(e) == "staff"), 1):
            written = whole_number(staff.get("n", ""))
            n = position if written is None else written
            state = self._staves.get(n, self._common)
            for child in chosen_children(staff):
                if local(child) == "staffDef":
                    state = _after(state, child)
            meters.append(state.meter)
            self._staves[n] = self._staff(staff, n, index, state)
        line = measure.get("right", "").replace("single", "")
        meter = meters[0] if meters else self._common.meter
        self._notation.bars.append(BarNotation(self._break, line, meter))
        self._break = ""
        self._spans += [e for e in held if local(e) == "beamSpan"]

    def _staff(self, staff: Element, n: int, index: int, state: _Staff) -> _Staff:
        layers = [
            written_layer(child, self._numbers)
            for child in chosen_children(staff)
            if local(child) == "layer"
        ]
        changes = self._changes(layers)
        current = state
        for event in self._passage.events_in.get((n, index), ()):
            while changes and changes[0][0] is not None and changes[0][0] <= event.onset:
                current = _after(current, changes.pop(0)[1])
            self._notation.clefs[event.xml_id] = current.clef
            altered = current.definition.key.alterations.items()
            self._notation.keys[event.xml_id] = tuple(sorted(altered))
        for layer in layers:
            self._signs(layer)
        self._notation.stems.update(stems_of_staff([self._stem_groups(one) for one in layers]))
        for _, element in changes:
            current = _after(current, element)
        return current

    def _changes(self, layers: list[WrittenLayer]) -> list[tuple[Fraction | None, Element]]:
        """Return changes of clef and key by the onset of what follows; None at the bar's end."""
        found: list[tuple[Fraction | None, Element]] = []
        for layer in layers:
            for before, element in layer.changes:
                event = self._passage.by_id.get(before)
                found.append((None if event is None else event.onset, element))
        return sorted(found, key=lambda row: (row[0] is None, row[0] or Fraction(0)))

    def _signs(self, layer: WrittenLayer) -> None:
        graces = {number for e in layer.events if e.grace for number in e.beams[-1:]}
        graces -= {number for e in layer.events if not e.grace for number in e.beams[-1:]}
        for event in layer.events:
            if event.grace:
                beam = next((one for one in event.beams[-1:] if one in graces), None)
            else:
                beam = event.beams[0] if event.beams else None
            if beam is not None and event.notes:
                self._notation.beams[event.xml_id] = beam
            if event.stated("stem.dir"):
                self._notation.stated_stems.add(event.xml_id)
            if len(event.notes) > 1:
                steps = steps_of(event)
                self._notation.chords[event.xml_id] = tuple(sorted(steps).index(s) for s in steps)
            for bearer in (event.element, *event.notes):
                self._small_signs(bearer, event)

    def _small_signs(self, bearer: Element, event: WrittenEvent) -> None:
        for child in chosen_children(bearer):
            if local(child) == "accid" and child.get("enclose"):
                self._notation.brackets[bearer.get(XML_ID, "")] = child.get("enclose", "")
            elif local(child) == "artic" and child.get("place"):
                for sign in child.get("artic", "").split():
                    self._notation.sides[event.xml_id, sign] = child.get("place", "")

    def _stem_groups(self, layer: WrittenLayer) -> list[StemGroup]:
        beams, clefs = self._notation.beams, self._notation.clefs
        rows = []
        for event in layer.events:
            clef = clefs.get(event.xml_id)
            middle = None if clef is None else clef.middle
            rows.append((event, beams.get(event.xml_id), middle))
        return grouped(rows)

    def _spanned(self, span: Element) -> Iterator[str]:
        """Yield the notes under a `beamSpan`: those it lists, or all of a voice from end to end."""
        by_id = self._passage.by_id
        listed = [by_id[one] for one in referred(span.get("plist", "")) if one in by_id]
        ends = [
            by_id[one]
            for name in ("startid", "endid")
            for one in referred(span.get(name, ""))[:1]
            if one in by_id
        ]
        if not listed and len(ends) == 2:
            first, last = ends
            listed = [
                event
                for bar in range(first.bar, last.bar + 1)
                for event in self._passage.events_in.get((first.staff, bar), ())
                if event.voice == first.voice and first.start <= event.start <= last.start
            ]
        return (event.xml_id for event in listed if event.heads and not event.grace)


def _after(state: _Staff, element: Element) -> _Staff:
    """Return what is in force after a clef, a key signature or a definition."""
    name = local(element)
    if name == "clef":
        return replace(state, clef=_clef(element) or state.clef)
    if name == "keySig":
        key: Key | None = key_element(element)
        known = replace(state.definition, key=key) if key is not None else state.definition
        return replace(state, definition=known)
    clef, meter = state.clef, state.meter
    if element.get("clef.shape"):
        signs = (element.get(f"clef.{part}", "") for part in ("shape", "line", "dis", "dis.place"))
        clef = _named_clef(*signs)
    if element.get("meter.count") or element.get("meter.sym"):
        meter = _meter(element, "meter.")
    for child in chosen_children(element):
        if local(child) == "clef":
            clef = _clef(child) or clef
        elif local(child) == "meterSig":
            meter = _meter(child, "")
    return _Staff(clef, redefined(state.definition, element), meter)


def _clef(element: Element) -> Clef | None:
    if not element.get("shape"):
        return None
    return _named_clef(*(element.get(part, "") for part in ("shape", "line", "dis", "dis.place")))


def _named_clef(shape: str, line: str, dis: str, side: str) -> Clef:
    return Clef(shape, line, f"{dis} {side}".strip())


def _meter(element: Element, prefix: str) -> MeterSigns:
    count_, unit, symbol = (element.get(f"{prefix}{part}", "") for part in ("count", "unit", "sym"))
    return count_, unit, symbol
