"""Ossias and traditions written into the music: `ossia` around the main staff, bar by bar.

In come the sheet and the decision with its music; the alternative stands in an `oStaff` before the
staff, so that it is drawn above it, its notes in `supplied` because no source has them in this
place. Its signs stand in `supplied` in the measure. MEI Guidelines 5.1, chapter 11.6 (ossia).
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from copy import deepcopy
from dataclasses import dataclass
from fractions import Fraction

from lxml import etree

from pipeline.collation.bars import pair_bars
from pipeline.collation.model import Decision, Version
from pipeline.edition.records import Ossia, Tradition
from pipeline.edition.strict import in_language
from pipeline.layers.keys import keys_of, one_key, say_how_notes_sound
from pipeline.layers.names import Names
from pipeline.layers.sheet import Sheet, drop_attribute, make, parse, wrap
from pipeline.layers.strands import references_of
from pipeline.layers.supplied import supply
from pipeline.layers.tags import Provenance
from pipeline.layers.undrawn import is_drawn, number_alternatives, set_aside
from pipeline.score.mei_names import XML_ID, Element, chosen_children, local
from pipeline.score.model import Event, EventKind, Marking, Moment


def write_ossia(sheet: Sheet, decision: Decision, main_language: str) -> None:
    """Write the alternative over the bars of the place; without music there is nothing to write."""
    if decision.music is None:
        return
    record = decision.filed.record
    assert isinstance(record, Ossia | Tradition)
    provenance = Provenance(record.id, decision.layer, record.by)
    # The check names an ossia of another length; what has a bar to stand in is written.
    pairs = [
        _Pair(pair.text, pair.reading)
        for pair in pair_bars(sheet.movement.passage, decision.span, decision.music)
        if pair.text is not None and pair.reading is not None
    ]
    if not pairs:
        return
    source = _Music(sheet, decision, decision.music, [pair.reading for pair in pairs])
    for pair in pairs:
        _write_bar(sheet, decision, provenance, source, pair)
    for pair in pairs:
        _write_signs(sheet, decision, provenance, source, pair)
    _write_label(sheet, decision, provenance, source, pairs[0], _label(record, main_language))


@dataclass(frozen=True)
class _Pair:
    """A bar of the text and the bar of the alternative that stands above it, by index."""

    text: int
    reading: int


def _label(record: Ossia | Tradition, main_language: str) -> str:
    label = in_language(record.label, main_language, main_language)
    if label is None and isinstance(record, Tradition):
        label = in_language(record.note, main_language, main_language)
    return label or ""


class _Music:
    """The alternative's own music, its elements copied under ids of their own."""

    def __init__(
        self, sheet: Sheet, decision: Decision, version: Version, used: Sequence[int]
    ) -> None:
        self._used = sorted(used)
        self.hidden: set[int] = set()
        self._names: Names = sheet.names
        self._owner = decision.id
        self._staff = decision.span.staff
        self.version = version
        self._root = parse(version.passage.mei)
        self._same_key = one_key(sheet.keys, keys_of(self._root))
        self._by_id = {e.get(XML_ID, ""): e for e in self._root.iter(etree.Element)}
        measures = [self._by_id[bar.xml_id] for bar in version.passage.bars]
        inside: set[str] = {
            one.get(XML_ID, "")
            for index in self._used
            for staff in self._staves(measures[index])
            for one in staff.iter(etree.Element)
        }
        self._inside = inside - {""}

    def _staves(self, measure: Element) -> list[Element]:
        return [
            child
            for child in chosen_children(measure)
            if local(child) == "staff" and child.get("n", "1") == str(self.version.staff)
        ]

    def layers(self, bar: int) -> list[Element]:
        """Return copies of the layers of one bar."""
        measure = self._by_id[self.version.passage.bars[bar].xml_id]
        found = [
            self._copy(layer)
            for staff in self._staves(measure)
            for layer in chosen_children(staff)
            if local(layer) == "layer"
        ]
        for number, layer in enumerate(found, start=1):
            layer.set("n", layer.get("n", str(number)))
        return found

    def signs(self, bar: int) -> list[tuple[Element, bool]]:
        """Return copies of the signs that begin in one bar, hung on notes of the alternative.

        With each goes whether any of the bars that it covers is not drawn.
        """
        found = []
        for marking in self.version.passage.markings:
            if marking.start.bar != bar or marking.staff != self.version.staff:
                continue
            sign = self._by_id.get(marking.xml_id)
            if sign is None or sign.getparent() is None:
                continue
            copy = self._hung(self._copy(sign), marking)
            if copy is not None:
                last = bar if marking.end is None else marking.end.bar
                found.append((copy, not self.hidden.isdisjoint(range(bar, last + 1))))
        return found

    def first_event(self, bar: int) -> str | None:
        """Return the copied id of the first event of one bar."""
        events = self.version.passage.events_in.get((self.version.staff, bar), ())
        drawn = [e for e in events if e.kind is not EventKind.SPACE]
        return self._names.music(drawn[0].xml_id, self._owner) if drawn else None

    def _copy(self, element: Element) -> Element:
        copy = deepcopy(element)
        copy.tail = None
        if not self._same_key:
            say_how_notes_sound(copy, self.version.passage)
        for one in copy.iter(etree.Element):
            if one.get(XML_ID) is not None:
                one.set(XML_ID, self._names.music(one.get(XML_ID, ""), self._owner))
            if one.get("staff") == str(self.version.staff):
                one.set("staff", str(self._staff))
            for name in references_of(one):
                self._turn(one, name)
        return copy

    def _turn(self, element: Element, name: str) -> None:
        tokens = element.get(name, "").split()
        turned = [
            f"#{self._names.music(token[1:], self._owner)}"
            for token in tokens
            if token.startswith("#") and token[1:] in self._inside
        ]
        if turned:
            element.set(name, " ".join(turned))
        else:
            del element.attrib[name]

    def _hung(self, copy: Element, marking: Marking) -> Element | None:
        """Hang the sign on notes alone: a beat or a staff number would mean the main staff."""
        drop_attribute(copy, "staff")
        if copy.get("startid") is None:
            event = self._event_at(marking.start)
            if event is None:
                return None
            copy.set("startid", f"#{self._names.music(event.xml_id, self._owner)}")
        drop_attribute(copy, "tstamp")
        if copy.get("endid") is None and marking.end is not None:
            event = self._event_at(marking.end)
            if event is None:
                return None
            end = f"#{self._names.music(event.xml_id, self._owner)}"
            if end == copy.get("startid") and copy.get("tstamp2") is not None:
                return copy  # a sign within one long note: only a time can say where it ends
            if end == copy.get("startid") and local(copy) == "slur":
                return None  # all but its first note lies beyond the bars that are written
            copy.set("endid", end)
        drop_attribute(copy, "tstamp2")
        return copy

    def _event_at(self, moment: Moment) -> Event | None:
        """Return the last note or rest that begins then or before it in its bar.

        What reaches beyond the bars that are written ends with them.
        """
        bar = min(moment.bar, self._used[-1])
        events = self.version.passage.events_in.get((self.version.staff, bar), ())
        before = [
            e
            for e in events
            if e.kind is not EventKind.SPACE
            and not e.grace
            and (e.onset <= moment.offset or bar < moment.bar)
        ]
        return max(before, key=lambda e: e.onset, default=None)


def _write_bar(
    sheet: Sheet, decision: Decision, provenance: Provenance, source: _Music, pair: _Pair
) -> None:
    staff = sheet.staff(pair.text, decision.span.staff)
    layers = source.layers(pair.reading)
    if staff is None or not layers or not _may_be_wrapped(staff):
        return
    other = sheet.create("oStaff", [provenance], type=f"layer-{provenance.layer}")
    holder = supply(sheet, decision, provenance, reason=decision.filed.record.kind)
    gap = _gap_before(sheet, decision, pair, source)
    for layer in layers:
        for number, space in enumerate(_spaces(gap)):
            layer.insert(number, space)
        holder.append(layer)
    other.append(holder)
    _beside(sheet, staff, other, provenance)
    sheet.record(other, [provenance])
    if not is_drawn(other):
        source.hidden.add(pair.reading)


def _write_signs(
    sheet: Sheet, decision: Decision, provenance: Provenance, source: _Music, pair: _Pair
) -> None:
    """Write the signs that begin in one bar; those of bars that are not drawn are set aside."""
    signs = source.signs(pair.reading)
    for hidden in (False, True):
        here = [sign for sign, out_of_sight in signs if out_of_sight is hidden]
        if here:
            holder = supply(sheet, decision, provenance, reason=decision.filed.record.kind)
            holder.extend(here)
            if hidden:
                holder = set_aside(sheet, holder, provenance)
            sheet.measure(pair.text).append(holder)


def _may_be_wrapped(staff: Element) -> bool:
    """Return whether an ossia may stand here: not inside editorial mark-up of the base text."""
    parent = staff.getparent()
    return parent is not None and local(parent) in {"measure", "ossia"}


def _beside(sheet: Sheet, staff: Element, other: Element, provenance: Provenance) -> None:
    """Put the alternative before the main staff, inside the ossia that is there or a new one."""
    parent = staff.getparent()
    if parent is not None and local(parent) == "ossia":
        ossia = parent
        if sheet.names.owns(ossia.get(XML_ID, "")):
            _name_too(sheet, ossia, provenance)
    else:
        ossia = sheet.create("ossia", [provenance])
        wrap([staff], ossia, ossia)
        sheet.record(ossia, [provenance])
    ossia.insert(ossia.index(staff), other)
    number_alternatives(ossia)


def _name_too(sheet: Sheet, ossia: Element, provenance: Provenance) -> None:
    """Let an ossia of ours speak of one more decision."""
    for name, token in (
        ("class", sheet.names.layer(provenance.layer)),
        ("corresp", sheet.names.decision(provenance.decision)),
        ("resp", sheet.names.agent(provenance.agent)),
    ):
        ossia.set(name, f"{ossia.get(name, '')} #{token}")


def _gap_before(sheet: Sheet, decision: Decision, pair: _Pair, source: _Music) -> Fraction:
    """Return the quarter notes before the alternative where it begins inside a bar."""
    span = decision.span
    if pair.text != span.start.bar or span.start.offset == 0:
        return Fraction(0)
    whole = sheet.movement.passage.bars[pair.text].filled
    held = source.version.passage.bars[pair.reading].filled
    return span.start.offset if held + span.start.offset <= whole else Fraction(0)


def _spaces(gap: Fraction) -> Iterable[Element]:
    """Yield spaces that fill the gap, the longest first; a gap of no plain value stays open."""
    for value in (1, 2, 4, 8, 16, 32, 64):
        length = Fraction(4, value)
        while gap >= length:
            yield make("space", dur=str(value))
            gap -= length


def _write_label(
    sheet: Sheet,
    decision: Decision,
    provenance: Provenance,
    source: _Music,
    first: _Pair,
    label: str,
) -> None:
    """Write the label as words over the first note of the alternative."""
    event = source.first_event(first.reading)
    if not label or event is None:
        return
    words = sheet.create(
        "dir",
        [provenance],
        startid=f"#{event}",
        place="above",
        type=f"layer-{provenance.layer} label",
    )
    words.text = label
    holder = supply(sheet, decision, provenance, reason=decision.filed.record.kind)
    holder.append(words)
    if first.reading in source.hidden:
        holder = set_aside(sheet, holder, provenance)
    sheet.measure(first.text).append(holder)
    sheet.record(words, [provenance])
