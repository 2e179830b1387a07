"""What a reader of the screen is told of a marking: "fingering 3, editor, bar 14, note 2"."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from lxml import etree

from pipeline.edition.layer import Layer
from pipeline.score.identifiers import referred
from pipeline.score.mei_names import XML_ID, Element, local
from pipeline.score.model import Event
from pipeline.typeset.pitches import chord_name
from pipeline.typeset.wording import Wording

_WITH_WORDS = frozenset({"dir", "dynam", "tempo"})


@dataclass(frozen=True)
class Sign:
    """A marking of the layered MEI: its element, what is written in it, its bar as printed."""

    element: Element
    written: str
    bar: str


def signs(layered: bytes) -> dict[str, Sign]:
    """Return everything in the bars of a layered MEI by its xml:id."""
    root = etree.fromstring(layered)
    found: dict[str, Sign] = {}
    for measure in root.iter("{*}measure"):
        bar = measure.get("n", "")
        for element in measure.iter(etree.Element):
            xml_id = element.get(XML_ID)
            if xml_id:
                found[xml_id] = Sign(element, "".join(map(str, element.itertext())).strip(), bar)
    return found


@dataclass(frozen=True)
class MarkNames:
    """Names the marks of an edition in one language.

    `events` are those of the text, by their own xml:id and by those of the notes in a chord.
    """

    wording: Wording
    events: Mapping[str, Event]
    kinds: Mapping[str, str]

    def name(self, xml_id: str, sign: Sign, records: tuple[str, ...], layer: Layer | None) -> str:
        """Return the name of a mark; `records` speak of it, `layer` is None for the text's own."""
        whose = self.wording.say(f"reading_copy.whose.{layer or Layer.TEXT}")
        what = self._what(xml_id, sign, records)
        told = self._plain("reading_copy.mark", what=what, layer=whose, bar=sign.bar)
        event = self._event(xml_id, sign.element)
        if event is None or event.number is None:
            return told
        return self._plain("reading_copy.mark_at_note", mark=told, note=event.number)

    def _event(self, xml_id: str, element: Element) -> Event | None:
        """Return the note or chord that a mark is, stands in or begins at, where there is one."""
        around = (one.get(XML_ID, "") for one in element.iterancestors("{*}note", "{*}chord"))
        ids = (xml_id, *referred(element.get("startid", "")), *around)
        return next((self.events[one] for one in ids if one in self.events), None)

    def _what(self, xml_id: str, sign: Sign, records: tuple[str, ...]) -> str:
        element, say = local(sign.element), self._plain
        if element == "fing":
            return say("reading_copy.marks.fing", digit=sign.written)
        if element == "artic":
            code = sign.element.get("artic", "").split(" ")[0]
            known = self.wording.has(f"articulations.{code}")
            return say(f"articulations.{code if known else 'unknown'}", n=1, name=code)
        if element in _WITH_WORDS and "string" in sign.element.get("type", "").split():
            return say("reading_copy.marks.string", string=sign.written)
        if element in _WITH_WORDS:
            kind = say(f"markings.{element}")
            return say("reading_copy.marks.words", kind=kind, words=sign.written)
        if element in {"oStaff", "ossia"}:
            return say(f"kinds.{self.kinds.get(records[0], 'ossia')}")
        event = self.events.get(xml_id)
        if event is not None and event.heads:
            return say("reading_copy.marks.note", pitch=chord_name(event, self.wording))
        return say(f"markings.{element if self.wording.has(f'markings.{element}') else 'other'}")

    def _plain(self, key: str, n: int | None = None, **values: object) -> str:
        return str(self.wording.say(key, n, **values).striptags())
