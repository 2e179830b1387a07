"""A sign as it stands in `notations` of a note, and how signs of one note are put together.

MusicXML 4.0 would let a note have one `notations` for each editorial level, but programs read only
the first (Verovio 6.4 does). So a note has one; its `level` names every layer and record that
speaks of one of the signs, and a sign that a decision speaks of has, alone in its group, an `id`
that begins with its layer: `<technical id="layer-editor.mark-R12-3">`.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field

from pipeline.engrave.house_style import Brackets
from pipeline.exchange.provenance import TEXT, Provenance, identifier, level
from pipeline.exchange.xml import make, put
from pipeline.score.mei_names import Element

PLAIN = ""
TECHNICAL = "technical"
ARTICULATIONS = "articulations"
ORNAMENTS = "ornaments"

_STRUCTURE = frozenset({"tied", "tuplet", "tremolo"})


@dataclass(frozen=True)
class Sign:
    """What is written in `notations`, or in the group in it, with whose it is.

    `mark` is the xml:id that it has in the layered MEI, empty for what has none of its own.
    """

    group: str
    elements: tuple[Element, ...]
    provenance: Provenance = TEXT
    brackets: Brackets = "none"
    mark: str = ""


@dataclass
class Hung:
    """The signs of notes by the xml:id of the note (or rest) that they are written on."""

    signs: dict[str, list[Sign]] = field(default_factory=dict)

    def add(self, note: str, sign: Sign) -> None:
        """Hang a sign on a note after those that it has."""
        self.signs.setdefault(note, []).append(sign)


def notations(signs: Sequence[Sign]) -> list[Element]:
    """Return the `notations` of a note, none where nothing hangs on it."""
    if not signs:
        return []
    made = make("notations")
    told = level([sign.provenance for sign in signs], _brackets_of_all(signs))
    if told is not None:
        made.append(told)
    shared: dict[str, Element] = {}
    for sign in signs:
        xml_id = identifier(sign.provenance, sign.mark)
        if not sign.group:
            if xml_id:
                sign.elements[0].set("id", xml_id)
            made.extend(sign.elements)
        elif xml_id:
            put(made, sign.group, id=xml_id).extend(sign.elements)
        else:
            if sign.group not in shared:
                shared[sign.group] = put(made, sign.group)
            shared[sign.group].extend(sign.elements)
    return [made]


def _brackets_of_all(signs: Iterable[Sign]) -> Brackets:
    """Return the brackets of the signs where all have the same: `level` speaks of all of them."""
    found = {
        sign.brackets for sign in signs if not {str(e.tag) for e in sign.elements} & _STRUCTURE
    }
    return found.pop() if len(found) == 1 else "none"
