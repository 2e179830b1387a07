"""A movement cut down to what an encoding holds: its bars, its staves, its bar numbers.

In come a movement in which the witness's branches are chosen, and what its encoding holds; the
movement is changed in place. Definitions before the first bar stay: they are in force there.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable

from lxml import etree

from pipeline.layers.holdings import Holding
from pipeline.layers.sheet import remove, unwrap
from pipeline.layers.strands import references_of
from pipeline.score.identifiers import referred
from pipeline.score.mei_names import XML_ID, Element, local, tag, whole_number

_TWO_ENDED = frozenset({"beamSpan", "bend", "gliss", "hairpin", "lv", "phrase", "slur", "tie"})


def hold(movement: Element, holding: Holding) -> bool:
    """Leave what the encoding holds; False where the movement has not the bars it names."""
    measures = list(movement.iter(tag("measure")))
    ids = [measure.get(XML_ID, "") for measure in measures]
    if holding.first not in ids or holding.last not in ids:
        return False
    first, last = ids.index(holding.first), ids.index(holding.last)
    for measure in (*measures[:first], *measures[last + 1 :]):
        remove(measure)
    _drop_empty(movement)
    kept = measures[first : last + 1]
    _keep_staves(movement, kept, holding.staves)
    for measure, number in zip(kept, holding.numbers, strict=False):
        measure.set("n", number)
    return True


def let_go(movement: Element, gone: Collection[str]) -> None:
    """Take off references to elements that are gone, and signs that have no place without them."""
    for element in list(movement.iter(etree.Element)):
        for name in references_of(element):
            tokens = element.get(name, "").split()
            left = [token for token in tokens if token.removeprefix("#") not in gone]
            if len(left) == len(tokens):
                continue
            if left:
                element.set(name, " ".join(left))
                continue
            del element.attrib[name]
            placeless = name == "startid" and "tstamp" not in element.attrib
            endless = name == "endid" and "tstamp2" not in element.attrib
            if placeless or (endless and local(element) in _TWO_ENDED):
                remove(element)
                break


def _drop_empty(movement: Element) -> None:
    """Take out endings and sections without a bar, but not the definitions in them."""
    for element in reversed(list(movement.iter(tag("ending"), tag("section")))):
        if next(element.iter(tag("measure")), None) is not None:
            continue
        for child in list(element):
            if local(child) not in {"scoreDef", "staffDef"}:
                remove(child)
        unwrap(element, element)


def _keep_staves(movement: Element, measures: Iterable[Element], staves: Collection[int]) -> None:
    defined = {_number(one) for one in movement.iter(tag("staffDef"))}
    if defined <= set(staves):
        return
    staff_of = _staves_by_id(measures)
    for measure in measures:
        for child in list(measure.iter(etree.Element)):
            if local(child) == "staff":
                if _number(child) not in staves:
                    ossia = next(child.iterancestors(tag("ossia")), None)
                    remove(child if ossia is None else ossia)
            elif not any(local(one) == "staff" for one in child.iterancestors()):
                _keep_sign(child, staff_of, staves, min(defined, default=1))
    for definition in list(movement.iter(tag("staffDef"))):
        if _number(definition) not in staves:
            remove(definition)
    for group in reversed(list(movement.iter(tag("staffGrp")))):
        if next(group.iter(tag("staffDef")), None) is None:
            remove(group)


def _keep_sign(
    sign: Element, staff_of: dict[str, int], staves: Collection[int], otherwise: int
) -> None:
    """Take out a sign whose staff, the first that it names or hangs on, is not held."""
    written = sign.get("staff", "").split()
    hung_on = [xml_id for name in ("startid", "plist") for xml_id in referred(sign.get(name, ""))]
    if not written and not hung_on and "tstamp" not in sign.attrib:
        return
    numbers = [n for n in map(whole_number, written) if n is not None]
    staff = numbers[0] if numbers else staff_of.get(hung_on[0], otherwise) if hung_on else otherwise
    if staff not in staves:
        remove(sign)
    elif numbers:
        sign.set("staff", " ".join(str(n) for n in numbers if n in staves))


def _staves_by_id(measures: Iterable[Element]) -> dict[str, int]:
    return {
        one.get(XML_ID, ""): _number(staff)
        for measure in measures
        for staff in measure.iter(tag("staff"))
        for one in staff.iter(etree.Element)
    }


def _number(element: Element) -> int:
    number = whole_number(element.get("n", ""))
    return 1 if number is None else number
