"""Whose a mark is: the layered MEI's tokens in, what MusicXML 4.0 has for it out.

The standard has two editorial means that every note, direction and group of notations may carry:
`level`, which names an editorial level and can ask for brackets, and `footnote`, which is printed.
A level here reads "layer-editor record-R12"; layers and records are described by fields of those
names under `identification/miscellaneous`. A sign has an `id` that begins with its layer. Colour is
never used.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace

from pipeline.edition.layer import Layer
from pipeline.engrave.house_style import Brackets, HouseStyle
from pipeline.engrave.part_staff import OPEN_RECORD, layer_of_text_mark, record_of
from pipeline.exchange.source import StaffMusic
from pipeline.exchange.xml import make
from pipeline.layers.names import Names
from pipeline.layers.tags import own_tokens
from pipeline.score.mei_names import XML_ID, Element, local

_OF_TRADITION = re.compile(rf"layer-{Layer.TRADITION} record-(\S+)")
_AROUND_THE_TEXT = frozenset({"app", "lem", "choice", "corr", "ossia"})
"""Mark-up of ours whose content is the text all the same."""


@dataclass(frozen=True)
class Provenance:
    """The decisions that speak of a mark, by layer and record; `added` says that they put it there.

    Without any it is simply the text's.
    """

    decisions: tuple[tuple[Layer, str], ...] = ()
    added: bool = False

    @property
    def layer(self) -> Layer:
        """The layer whose look the mark has."""
        return self.decisions[0][0] if self.added and self.decisions else Layer.TEXT

    @property
    def words(self) -> str:
        """What its `level` says: handles for programs, also readable."""
        return " ".join(f"layer-{layer} record-{record}" for layer, record in self.decisions)


TEXT = Provenance()
"""The text's own mark of which no decision speaks."""


def provenance_of(element: Element, names: Names) -> Provenance:
    """Return which decisions an element, or what is written around it, names."""
    around = element
    while True:
        layers = own_tokens(around, "class", names)
        records = own_tokens(around, "corresp", names)
        if layers:
            owned = names.owns(around.get(XML_ID, ""))
            found = [
                (
                    layer if owned else layer_of_text_mark(layer, around.get("type", "").split()),
                    record,
                )
                for layer, record in (
                    (names.layer_of_reference(one), record_of(two, names))
                    for one, two in zip(layers, records, strict=False)
                )
                if layer is not None and not record.startswith(OPEN_RECORD)
            ]
            added = owned and local(around) not in _AROUND_THE_TEXT
            return Provenance(tuple(dict.fromkeys(found)), added)
        parent = around.getparent()
        if parent is None or local(around) in {"measure", "staff"}:
            return TEXT
        around = parent


def provenance_on(music: StaffMusic, element: Element) -> Provenance:
    """Return whose a mark on a staff is. On the staff of an ossia it needs no look of its own.

    The small staff and its label tell whose all of it is.
    """
    found = provenance_of(element, music.names)
    return replace(found, added=False) if music.is_ossia else found


def put_footnotes(measures: Iterable[Element], footnotes: Mapping[str, str]) -> None:
    """Put each record's footnote, a text by id, at the first mark that is tradition by that record.

    What players do and the composer did not write is to say so wherever it is printed.
    """
    left = dict(footnotes)
    for measure in measures:
        for told in list(measure.iter("level")):
            named = [one for one in _OF_TRADITION.findall(told.text or "") if one in left]
            if named:
                told.addprevious(make("footnote", left.pop(named[0])))


def level(provenances: Iterable[Provenance], brackets: Brackets = "none") -> Element | None:
    """Return the `level` of marks, None where no decision speaks of them."""
    words = dict.fromkeys(one.words for one in provenances if one.decisions)
    if not words:
        return None
    return make(
        "level",
        " ".join(words),
        bracket="yes" if brackets == "square" else "",
        parentheses="yes" if brackets == "round" else "",
    )


def identifier(provenance: Provenance, mark: str) -> str:
    """Return the `id` of a mark of which a decision speaks: its layer, a dot, its xml:id."""
    if not provenance.decisions or not mark:
        return ""
    return f"layer-{provenance.decisions[0][0]}.{mark}"


def brackets_of(kind: str, provenance: Provenance, style: HouseStyle) -> Brackets:
    """Return the brackets that the house style puts around a mark of that kind."""
    if not provenance.added:
        return "none"
    look = style.look(provenance.layer)
    match kind:
        case "fingering":
            return look.fingering.brackets
        case "bow sign":
            return look.bow_sign
        case "words":
            return look.words.brackets
        case _:
            return "none"
