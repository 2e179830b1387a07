"""The score in, one staff of it out: what stands on other staves goes, what all parts have stays.

A movement's own tree is changed. Tempo and rehearsal marks stay, whichever staff they stand on.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping, Sequence

from lxml import etree

from pipeline.engrave.mei_tree import XML_ID, drop, local, mei, referred
from pipeline.layers.sheet import make, remove
from pipeline.score.bars import ScoreReader
from pipeline.score.mei_names import Element, written_text
from pipeline.score.trouble import Trouble

OF_THE_WHOLE_SCORE = frozenset({"tempo", "reh", "repeatMark"})
"""Signs that every part has, on whichever staff of the score they stand."""

_FORKS = frozenset({"app", "choice"})
_WRAPPERS = frozenset({"supplied", "add", "corr", "sic", "reg", "orig", "unclear", "lem", "rdg"})
_NO_SIGNS = frozenset({"staff", "ossia", "oStaff", "mNum"})
_BREAKS = ("sb", "pb", "cb", "annot")


def keep_staff(movement: Element, staff: int) -> None:
    """Take out the other staves, what hangs on them, their definitions, and breaks of the score."""
    for definition in list(movement.iter(mei("scoreDef"))):
        _keep_definition(definition, staff)
    for single in list(movement.iter(mei("staffDef"))):
        if single.get("n", str(staff)) != str(staff):
            remove(single)
    for name in _BREAKS:
        for one in list(movement.iter(mei(name))):
            remove(one)
    beats = _beats_of_common_signs(movement)
    gone: set[str] = set()
    for held in list(movement.iter(mei("staff"), mei("oStaff"))):
        if held.get("n", "1").lstrip("0") != str(staff) and not _hidden_alternative(held, staff):
            gone.update(e.get(XML_ID, "") for e in held.iter(etree.Element))
            around = held.getparent()
            remove(held)
            if around is not None and local(around) == "ossia" and len(around) == 0:
                remove(around)
    gone.discard("")
    for measure in movement.iter(mei("measure")):
        common: list[Element] = []
        for sign in list(_signs(measure)):
            if local(sign) in OF_THE_WHOLE_SCORE:
                common.append(sign)
            elif not _belongs(sign, staff, gone):
                remove(sign)
        _keep_once(common, staff, gone, beats)


def _beats_of_common_signs(movement: Element) -> dict[str, str]:
    """The beats at which notes stand that a tempo or rehearsal mark hangs on."""
    hung = {
        referred(sign, "startid")
        for name in OF_THE_WHOLE_SCORE
        for sign in movement.iter(mei(name))
        if sign.get("startid")
    }
    score = movement.find(f".//{mei('score')}")
    if not hung or score is None:
        return {}
    printed = ScoreReader(score, Trouble("")).read()
    return {
        xml_id: f"{float(event.onset / printed.units[event.bar] + 1):.6g}"
        for event in printed.events
        for xml_id in (event.xml_id, *(head.xml_id for head in event.heads))
        if xml_id in hung
    }


def _keep_once(
    signs: Sequence[Element], staff: int, gone: Collection[str], beats: Mapping[str, str]
) -> None:
    """Set tempo and rehearsal marks over this staff, each once though several staves have it."""
    seen: set[tuple[str, str, str]] = set()
    for sign in sorted(signs, key=lambda sign: sign.get("staff") != str(staff)):
        start = referred(sign, "startid")
        beat = beats.get(start, sign.get("tstamp", ""))
        if start in gone:
            drop(sign, "startid", "endid")
            sign.set("tstamp", beats.get(start, "1"))
        what = local(sign), written_text(sign), beat
        if what in seen:
            remove(sign)
        seen.add(what)
        sign.set("staff", str(staff))


def _hidden_alternative(held: Element, staff: int) -> bool:
    """An alternative under a number that no staff has is one of this staff's (`layers.undrawn`)."""
    n = int(held.get("n", "1"))
    return local(held) == "oStaff" and n > staff and (n - staff) % 100 == 0


def _keep_definition(definition: Element, staff: int) -> None:
    """Leave one staffDef, without label, straight below the group; brackets and braces go."""
    kept = [d for d in definition.iter(mei("staffDef")) if d.get("n") == str(staff)]
    for group in definition.findall(mei("staffGrp")):
        remove(group)
    for one in kept[:1]:
        for label in [*one.findall(mei("label")), *one.findall(mei("labelAbbr"))]:
            remove(label)
        group = make("staffGrp")
        group.append(one)
        definition.append(group)


def _signs(parent: Element) -> Iterator[Element]:
    """Yield the signs of a measure beside its staves, editorial mark-up looked through."""
    for child in parent.iterchildren(etree.Element):
        name = local(child)
        if name in _FORKS or name in _WRAPPERS:
            yield from _signs(child)
        elif name not in _NO_SIGNS:
            yield child


def _belongs(sign: Element, staff: int, gone: Collection[str]) -> bool:
    written = sign.get("staff")
    if written:
        return str(staff) in written.split()
    ends = [referred(sign, name) for name in ("startid", "endid") if sign.get(name)]
    ends += [token.removeprefix("#") for token in sign.get("plist", "").split()]
    if ends:
        return not any(end in gone for end in ends)
    return staff == 1
