"""An ossia instead of the text at its bars, for a player who has decided.

The part's own tree is changed: the small staff's notes move into the staff, what hung on the notes
that went goes with them, the label goes too. Tempo, and dynamics where the ossia has none of its
own in the bar, stay at their beats. Where an ossia begins or ends inside a bar, the text's notes
before and after it stay, if no beam or tuplet runs across.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping, Sequence
from copy import deepcopy
from fractions import Fraction

from lxml import etree

from pipeline.engrave.mei_tree import XML_ID, drop, local, mei, referred
from pipeline.engrave.part_staff import Solo, records_of
from pipeline.layers.sheet import make, remove, unwrap
from pipeline.score.bars import Printed, ScoreReader
from pipeline.score.mei_names import Element
from pipeline.score.model import Event
from pipeline.score.trouble import Trouble

_LABEL = "label"
_OSSIA = "ossia"
_ALWAYS = frozenset({"tempo", "reh"})
_UNLESS_THE_OSSIA_HAS = frozenset({"dynam", "hairpin"})


def put_instead(solo: Solo, records: Collection[str]) -> frozenset[str]:
    """Put the ossias of these records where the text is; return the records for which it failed.

    An ossia fails that begins or ends within a beam or tuplet of the text: it stays a small staff.
    """
    wanted = [
        ossia
        for ossia in solo.score.iter(mei(_OSSIA))
        if any(set(records_of(other)) & set(records) for other in ossia.iterfind(mei("oStaff")))
    ]
    if not wanted:
        return frozenset()
    printed = ScoreReader(solo.score, Trouble("")).read()
    text = {event.xml_id: event for event in printed.events}
    failed: set[str] = set()
    gone: set[str] = set()
    for ossia in wanted:
        staff, other = ossia.find(mei("staff")), ossia.find(mei("oStaff"))
        if staff is None or other is None:
            continue
        kept = _kept(solo.score, staff, other, text)
        if kept is None:
            failed.update(records_of(other))
            continue
        gone |= _replace(ossia, staff, other, kept)
    _Signs(solo, printed, frozenset(gone)).settle(set(records) - failed)
    return frozenset(failed)


def _kept(
    score: Element, staff: Element, other: Element, text: Mapping[str, Event]
) -> tuple[list[Element], list[Element]] | None:
    """The text's elements before and after the ossia, from its first voice; None where one is
    cut through."""
    layers = list(staff.iterfind(mei("layer")))
    begins, ends = _extent(score, other)
    before: list[Element] = []
    after: list[Element] = []
    for element in (child for layer in layers for child in layer.iterchildren(etree.Element)):
        held = [
            text[one] for e in element.iter(etree.Element) if (one := e.get(XML_ID, "")) in text
        ]
        if not held:
            continue
        onset = min(event.onset for event in held)
        end = max(event.onset + event.duration for event in held)
        if end <= begins:
            before.append(element)
        elif onset >= ends:
            after.append(element)
        elif onset < begins or end > ends:
            return None
    if (before or after) and len(layers) > 1:
        return None
    return before, after


def _extent(score: Element, other: Element) -> tuple[Fraction, Fraction]:
    """Where the music of a small staff begins and ends in its bar, in quarter notes."""
    alone = make("score")
    definition = score.find(mei("scoreDef"))
    if definition is not None:
        alone.append(deepcopy(definition))
    measure = make("measure", n="1")
    measure.set(XML_ID, "m")
    staff = make("staff", n=other.get("n", "1"))
    staff.extend(deepcopy(layer) for layer in other.iterfind(mei("layer")))
    section = make("section")
    alone.append(section)
    section.append(measure)
    measure.append(staff)
    events = ScoreReader(alone, Trouble("")).read().events
    music = [event for event in events if event.kind != "space"]
    if not music:
        return Fraction(0), Fraction(0)
    begins = min(event.onset for event in music)
    return begins, max(event.onset + event.duration for event in music)


def _replace(
    ossia: Element,
    staff: Element,
    other: Element,
    kept: tuple[Sequence[Element], Sequence[Element]],
) -> set[str]:
    """Move the ossia's voices into the staff; return the xml:ids of the text's that are gone."""
    before, after = kept
    stays = {one for element in (*before, *after) for one in element.iter(etree.Element)}
    gone = {
        e.get(XML_ID, "")
        for layer in staff.iterfind(mei("layer"))
        for e in layer.iter(etree.Element)
        if e not in stays
    }
    layers = list(other.iterfind(mei("layer")))
    if before and layers:
        for space in _leading_spaces(layers[0]):
            remove(space)
    for old in list(staff.iterfind(mei("layer"))):
        staff.remove(old)
    staff.extend(layers)
    if layers:
        for position, element in enumerate(before):
            layers[0].insert(position, element)
        layers[0].extend(after)
    staff.set(XML_ID, other.get(XML_ID, ""))
    staff.set("type", other.get("type", ""))
    ossia.remove(other)
    unwrap(ossia, ossia)
    return gone - {""}


def _leading_spaces(layer: Element) -> Iterator[Element]:
    for element in list(layer):
        if local(element) != "space":
            return
        yield element


class _Signs:
    """What hung on notes that are gone: it goes with them, or stays at its beat."""

    def __init__(self, solo: Solo, printed: Printed, gone: frozenset[str]) -> None:
        self._solo = solo
        self._printed = printed
        self._gone = gone
        self._events = {event.xml_id: event for event in printed.events}
        for event in printed.events:
            self._events.update((head.xml_id, event) for head in event.heads)

    def settle(self, records: Collection[str]) -> None:
        """Go through the signs; the labels of these records' ossias go in any case."""
        for measure in self._solo.score.iter(mei("measure")):
            signs = list(measure.iterchildren(etree.Element))
            own = {local(s) for s in signs if self._hangs_on_copy(s)}
            for sign in signs:
                if _LABEL in sign.get("type", "").split():
                    if set(records_of(sign)) & set(records):
                        remove(sign)
                elif not self._hangs_on_what_is_gone(sign):
                    continue
                elif local(sign) in _ALWAYS or (
                    local(sign) in _UNLESS_THE_OSSIA_HAS and local(sign) not in own
                ):
                    self._hang_on_beats(sign)
                else:
                    remove(sign)
        here = {element.get(XML_ID, "") for element in self._solo.score.iter(etree.Element)}
        marks = self._solo.marks
        marks[:] = [mark for mark in marks if not mark.xml_id or mark.xml_id in here]

    def _hangs_on_what_is_gone(self, sign: Element) -> bool:
        return any(referred(sign, name) in self._gone for name in ("startid", "endid"))

    def _hangs_on_copy(self, sign: Element) -> bool:
        """Whether a sign hangs on a note that the text did not have."""
        to = referred(sign, "startid")
        return bool(to) and to not in self._events

    def _hang_on_beats(self, sign: Element) -> None:
        start = self._events.get(referred(sign, "startid"))
        if start is None:
            return
        drop(sign, "startid")
        sign.set("tstamp", self._beat(start.bar, start.onset))
        end = self._events.get(referred(sign, "endid"))
        if end is not None:
            drop(sign, "endid")
            sign.set("tstamp2", f"{end.bar - start.bar}m+{self._beat(end.bar, end.onset)}")

    def _beat(self, bar: int, onset: Fraction) -> str:
        return f"{float(onset / self._printed.units[bar] + 1):.6g}"
