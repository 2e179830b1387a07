"""Clef, key and meter that are valid where an excerpt begins, as MEI elements ready to be copied.

They may be set in `scoreDef` or `staffDef`, as attributes or as elements, anywhere before the bar,
and a clef may change inside a bar (MEI 5.1, `att.cleffing.log`, `att.keySigDefault.log`,
`att.meterSigDefault.log`; MEI 4 wrote `key.sig` for `keysig`).
"""

from __future__ import annotations

from collections.abc import Iterator
from copy import deepcopy
from dataclasses import dataclass, replace
from functools import lru_cache

from lxml import etree

from pipeline.engrave.mei_tree import XML_ID, MeiTree, drop, local, mei, mei_tree

_SIGN_OF_ATTRIBUTE = {
    "clef.shape": ("clef", "shape"),
    "clef.line": ("clef", "line"),
    "clef.dis": ("clef", "dis"),
    "clef.dis.place": ("clef", "dis.place"),
    "keysig": ("keySig", "sig"),
    "key.sig": ("keySig", "sig"),
    "meter.count": ("meterSig", "count"),
    "meter.unit": ("meterSig", "unit"),
    "meter.sym": ("meterSig", "sym"),
    "meter.form": ("meterSig", "form"),
}


@dataclass(frozen=True)
class Opening:
    """What stands at the beginning of a staff; None where the score never set it.

    `meter_is_new` tells whether the meter is set just before this bar, so that it is printed.
    """

    clef: etree._Element | None = None
    key: etree._Element | None = None
    meter: etree._Element | None = None
    lines: str = "5"
    meter_is_new: bool = False

    def signs(self, meter_shown: bool) -> Iterator[etree._Element]:
        """Yield fresh copies of clef, key and meter in the order in which a staffDef holds them."""
        for sign in (self.clef, self.key):
            if sign is not None:
                yield deepcopy(sign)
        if self.meter is not None:
            meter = deepcopy(self.meter)
            if not meter_shown:
                meter.set("visible", "false")
            yield meter

    @property
    def meter_text(self) -> str:
        """Count and unit, such as "3/4", or an empty text."""
        if self.meter is None:
            return ""
        count, unit = self.meter.get("count"), self.meter.get("unit")
        if count and unit:
            return f"{count}/{unit}"
        return {"common": "4/4", "cut": "2/2"}.get(self.meter.get("sym", ""), "")

    @property
    def beat_unit(self) -> int:
        """The note value that `@tstamp` counts in: 4 for a quarter note."""
        return int(self.meter_text.partition("/")[2] or 4)


@lru_cache(maxsize=128)
def openings(document: bytes, staff: int) -> tuple[Opening, ...]:
    """Return what is valid at the start of each bar of that staff, from the first bar to the last.

    `document` is a passage's MEI. The elements are shared: copy before changing them.
    """
    found: list[Opening] = []
    state = Opening()
    for element in _signs_in_order(mei_tree(document), staff):
        name = local(element)
        if name == "measure":
            found.append(state)
            state = replace(state, meter_is_new=False)
        elif name in {"scoreDef", "staffDef"}:
            state = _after_definition(state, element)
        else:
            state = _after_sign(state, element)
    return tuple(found)


def _signs_in_order(tree: MeiTree, staff: int) -> Iterator[etree._Element]:
    """Yield measures and whatever sets a sign for this staff, in document order."""
    names = [mei(n) for n in ("scoreDef", "staffDef", "measure", "clef", "keySig", "meterSig")]
    for element in tree.root.iter(*names):
        name = local(element)
        if name == "staffDef":
            if element.get("n", str(staff)) == str(staff):
                yield element
        elif name in {"scoreDef", "measure"} or _set_for(element, staff):
            yield element


def _set_for(sign: etree._Element, staff: int) -> bool:
    for above in sign.iterancestors(mei("staff"), mei("staffDef"), mei("scoreDef")):
        return local(above) == "scoreDef" or above.get("n", str(staff)) == str(staff)
    return False


def _after_definition(state: Opening, definition: etree._Element) -> Opening:
    """What an element's attributes change; its child elements follow in document order."""
    made: dict[str, etree._Element] = {}
    for attribute, (name, target) in _SIGN_OF_ATTRIBUTE.items():
        value = definition.get(attribute)
        if value is not None:
            made.setdefault(name, etree.Element(mei(name))).set(target, value)
    for sign in made.values():
        state = _after_sign(state, sign)
    lines = definition.get("lines")
    return replace(state, lines=lines) if lines else state


def _after_sign(state: Opening, sign: etree._Element) -> Opening:
    bare = deepcopy(sign)
    bare.tail = None
    drop(bare, XML_ID, "corresp", "facs", "tstamp", "layer", "staff", "sameas")
    match local(sign):
        case "clef":
            return replace(state, clef=bare) if bare.get("shape") else state
        case "keySig":
            return replace(state, key=bare)
        case _:
            return replace(state, meter=bare, meter_is_new=True)
