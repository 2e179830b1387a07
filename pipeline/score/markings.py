"""The control events of each bar in; markings with their moments out, slurs by attribute too.

MEI Guidelines 5.1, chapter 4.3. An extent ends at the moment to which the sign reaches: the onset
of the note that `endid` names, or `tstamp2`.
"""

from __future__ import annotations

from collections.abc import Mapping
from fractions import Fraction
from typing import Literal

from pipeline.score.bars import Printed
from pipeline.score.identifiers import referred
from pipeline.score.mei_names import (
    XML_ID,
    Element,
    amount,
    chosen_children,
    local,
    whole_number,
    written_text,
)
from pipeline.score.model import OF_BARS, Event, Marking, MarkingKind, Moment
from pipeline.score.trouble import Trouble

Side = Literal["above", "below", "within", "between", ""]

_KINDS: Mapping[str, MarkingKind] = {
    kind.value: kind for kind in MarkingKind if kind not in OF_BARS
}
# A `beamSpan` is no sign of its own: like any beam it is how notes are written.
_OTHER = frozenset(
    {"attacca", "bend", "bracketSpan", "caesura", "cpMark", "fb", "harm", "harpPedal"}
    | {"line", "lv", "metaMark", "ornam", "phrase", "reh", "repeatMark", "sp", "stageDir"}
)
_WITH_TWO_ENDS = frozenset({MarkingKind.SLUR, MarkingKind.TIE})
_SIDES: Mapping[str, Side] = {
    "above": "above",
    "below": "below",
    "within": "within",
    "between": "between",
}
_FORMS: Mapping[MarkingKind, tuple[str, ...]] = {
    MarkingKind.HAIRPIN: ("form",),
    MarkingKind.TURN: ("form",),
    MarkingKind.MORDENT: ("form",),
    MarkingKind.FERMATA: ("form", "shape"),
    MarkingKind.OCTAVE: ("dis", "dis.place"),
    MarkingKind.PEDAL: ("dir",),
    MarkingKind.ARPEGGIO: ("order",),
    MarkingKind.TRILL: ("accidupper", "accidlower"),
}


class MarkingReader:
    """Reads the markings of a score whose bars and events are known."""

    def __init__(self, printed: Printed, trouble: Trouble) -> None:
        self._printed = printed
        self._trouble = trouble
        self._by_id: dict[str, Event] = dict(printed.hidden)
        for event in printed.events:
            self._by_id[event.xml_id] = event
            for head in event.heads:
                self._by_id[head.xml_id] = event
        self._first_staff = printed.staves[0].n if printed.staves else 1

    def read(self) -> tuple[Marking, ...]:
        """Return the markings, by bar, in the order of the file."""
        found: list[Marking] = []
        for index, measure in enumerate(self._printed.measures):
            for child in chosen_children(measure):
                name = local(child)
                if name == "fingGrp":
                    found += self._finger_group(child, index)
                elif name in _KINDS or name in _OTHER:
                    marking = self._marking(child, name, index, child)
                    if marking is not None:
                        found.append(marking)
        return tuple(found)

    def _finger_group(self, group: Element, bar: int) -> list[Marking]:
        found = []
        for child in chosen_children(group):
            if local(child) == "fing":
                bearer = child if {"startid", "tstamp"} & set(child.attrib) else group
                marking = self._marking(child, "fing", bar, bearer)
                if marking is not None:
                    found.append(marking)
        return found

    def _marking(self, element: Element, name: str, bar: int, bearer: Element) -> Marking | None:
        """Return the marking, or None (told) where it has no place; `bearer` says where it is."""
        start_id = _first(bearer, "startid") or _first(bearer, "plist")
        end_id = _first(bearer, "endid")
        start_event = self._event(start_id, element, name, bar)
        end_event = self._event(end_id, element, name, bar)
        start = start_event.start if start_event else self._moment(bearer, "tstamp", bar)
        if start is None:
            if not start_id and "tstamp" not in bearer.attrib:
                self._trouble.warn(
                    "marking-without-place",
                    element,
                    f"this {name} says neither on which note nor at which beat it stands",
                    "Give it a `startid` or a `tstamp`.",
                    self._bar_name(bar),
                )
            return None
        end = end_event.start if end_event else self._moment(bearer, "tstamp2", bar)
        kind = _KINDS.get(name, MarkingKind.OTHER)
        if end is None and kind in _WITH_TWO_ENDS and not end_id:
            self._trouble.warn(
                f"{name}-without-end",
                element,
                f"this {name} begins but does not end",
                "Give it an `endid`.",
                self._bar_name(bar),
            )
        return Marking(
            element.get(XML_ID, ""),
            kind,
            self._staff(element, bearer, start_event),
            start,
            end,
            start_id if start_event else "",
            end_id if end_event else "",
            _content(element, kind),
            _side(element) or _side(bearer),
        )

    def _event(self, identifier: str, element: Element, name: str, bar: int) -> Event | None:
        if not identifier:
            return None
        event = self._by_id.get(identifier)
        if event is None:
            self._trouble.warn(
                "reference-to-nothing",
                element,
                f'this {name} is attached to "{identifier}", '
                "which is no note, chord or rest of the text",
                "Attach it to a note that is there.",
                self._bar_name(bar),
            )
        return event

    def _moment(self, element: Element, attribute: str, bar: int) -> Moment | None:
        written = element.get(attribute, "")
        if not written:
            return None
        bars, _, beat = written.rpartition("m+")
        ahead, stamp = whole_number(bars or "0"), amount(beat.strip())
        if ahead is None or stamp is None:
            self._trouble.error(
                "unreadable-time",
                element,
                f'{attribute}="{written}" is not a time',
                'Write a beat such as "2.5", or bars and a beat such as "1m+2".',
                self._bar_name(bar),
            )
            return None
        target = min(bar + ahead, len(self._printed.bars) - 1)
        if target != bar + ahead:
            self._trouble.warn(
                "time-after-the-end",
                element,
                f'{attribute}="{written}" reaches beyond the last bar',
                "Let it end in the last bar.",
                self._bar_name(bar),
            )
        offset = max((stamp.limit_denominator(3840) - 1) * self._printed.units[target], Fraction(0))
        return Moment(target, offset)

    def _staff(self, element: Element, bearer: Element, event: Event | None) -> int:
        for one in (element, bearer):
            written = one.get("staff", "").split()
            number = whole_number(written[0]) if written else None
            if number is not None:
                return number
        return event.staff if event else self._first_staff

    def _bar_name(self, index: int) -> str:
        return f"bar {self._printed.bars[index].n}"


def _first(element: Element, attribute: str) -> str:
    names = referred(element.get(attribute, ""))
    return names[0] if names else ""


def _content(element: Element, kind: MarkingKind) -> str:
    if kind in _FORMS:
        return " ".join(v for v in (element.get(name, "") for name in _FORMS[kind]) if v)
    return written_text(element)


def _side(element: Element) -> Side:
    return _SIDES.get(element.get("place") or element.get("curvedir") or "", "")
