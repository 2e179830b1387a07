"""Encodings that differ from a text in any way at all, drawn by chance: notes, signs, whole bars.

Nothing is kept of what was changed, for the law of extraction asks for the encoding, not for the
differences. Changes are made in the tree; a sign that has lost its note goes with it.
"""

from __future__ import annotations

import random
from collections.abc import Callable, Sequence
from copy import deepcopy

from lxml import etree

from pipeline.layers.sheet import unwrap
from pipeline.score.identifiers import referred
from pipeline.score.mei_names import XML_ID, Element, local, tag

Change = Callable[[Element, random.Random], None]

_STEPS = "cdefgab"


def changed(mei: bytes, chance: random.Random, changes: Sequence[Change], count: int) -> bytes:
    """Return the document with so many changes of those kinds."""
    root = etree.fromstring(mei)
    for _ in range(count):
        chance.choice(changes)(root, chance)
    _drop_placeless(root)
    return etree.tostring(root, encoding="UTF-8", xml_declaration=True)


def excerpt(mei: bytes, first: int, last: int) -> bytes:
    """Return the document with the bars of these indexes only."""
    root = etree.fromstring(mei)
    for index, measure in enumerate(list(root.iter(tag("measure")))):
        if not first <= index <= last:
            _take(measure)
    _drop_placeless(root)
    return etree.tostring(root, encoding="UTF-8", xml_declaration=True)


def excerpt_of(mei: bytes, missing: set[int]) -> bytes:
    """Return the document without the bars of these indexes."""
    root = etree.fromstring(mei)
    for index, measure in enumerate(list(root.iter(tag("measure")))):
        if index in missing:
            _take(measure)
    _drop_placeless(root)
    return etree.tostring(root, encoding="UTF-8", xml_declaration=True)


def plain(mei: bytes) -> bytes:
    """Return the document with editorial mark-up of its own resolved to the text."""
    root = etree.fromstring(mei)
    for element in list(root.iter(tag("rdg"), tag("sic"))):
        _take(element)
    for element in list(root.iter(*map(tag, ("app", "lem", "choice", "corr", "supplied")))):
        unwrap(element, element)
    return etree.tostring(root, encoding="UTF-8", xml_declaration=True)


def part(mei: bytes, n: int) -> bytes:
    """Return the document with one of its staves only, which becomes the first."""
    root = etree.fromstring(mei)
    for measure in root.iter(tag("measure")):
        for child in list(measure):
            if (local(child) == "staff" and child.get("n") != str(n)) or (
                local(child) != "staff" and child.get("staff", str(n)).split()[0] != str(n)
            ):
                _take(child)
            elif "staff" in child.attrib:
                child.set("staff", "1")
    for definition in list(root.iter(tag("staffDef"))):
        if definition.get("n") != str(n):
            _take(definition)
    for group in reversed(list(root.iter(tag("staffGrp")))):
        if next(group.iter(tag("staffDef")), None) is None:
            _take(group)
    for element in (*root.iter(tag("staffDef")), *root.iter(tag("staff"))):
        element.set("n", "1")
    _drop_placeless(root)
    return etree.tostring(root, encoding="UTF-8", xml_declaration=True)


def octave_higher(mei: bytes, by: int = 1) -> bytes:
    """Return the document with every note written and sounding so many octaves higher."""
    root = etree.fromstring(mei)
    for note in root.iter(tag("note")):
        for name in ("oct", "oct.ges"):
            if name in note.attrib:
                note.set(name, str(int(note.get(name, "4")) + by))
    return etree.tostring(root, encoding="UTF-8", xml_declaration=True)


def counted_from(mei: bytes, first: int) -> bytes:
    """Return the document with its bars numbered from another number."""
    root = etree.fromstring(mei)
    for n, measure in enumerate(root.iter(tag("measure")), first):
        measure.set("n", str(n))
    return etree.tostring(root, encoding="UTF-8", xml_declaration=True)


def voices_renumbered(mei: bytes) -> bytes:
    """Return the document with voice numbers that no other file has."""
    root = etree.fromstring(mei)
    for layer in root.iter(tag("layer")):
        layer.set("n", str(int(layer.get("n", "1")) + 4))
    return etree.tostring(root, encoding="UTF-8", xml_declaration=True)


def in_another_key(mei: bytes, sig: str, sounds: dict[str, str]) -> bytes:
    """Return the document under another signature; every note says in `accid.ges` how it sounds.

    `sounds` gives the alteration of each note of the text by its xml:id.
    """
    root = etree.fromstring(mei)
    for note in root.iter(tag("note")):
        written = "accid" in note.attrib or note.find(tag("accid")) is not None
        if not written:
            note.set("accid.ges", sounds[note.get(XML_ID, "")])
    for element in root.iter(tag("scoreDef"), tag("staffDef")):
        if "keysig" in element.attrib:
            element.set("keysig", sig)
    for key in root.iter(tag("keySig")):
        key.set("sig", sig)
    return etree.tostring(root, encoding="UTF-8", xml_declaration=True)


def another_pitch(root: Element, chance: random.Random) -> None:
    note = _one(root, chance, "note")
    if note is not None and note.get("pname", "") in _STEPS:
        note.set("pname", chance.choice(_STEPS))


def an_accidental(root: Element, chance: random.Random) -> None:
    note = _one(root, chance, "note")
    if note is None:
        return
    for accid in list(note.iter(tag("accid"))):
        _take(accid)
    for name in ("accid", "accid.ges"):
        note.attrib.pop(name, None)
    sign = chance.choice(["s", "f", "n", ""])
    if sign:
        note.set("accid", sign)


def another_value(root: Element, chance: random.Random) -> None:
    note = _one(root, chance, "note", "chord", "rest")
    if note is not None and note.get("dur") in {"2", "4", "8", "16"}:
        note.set("dur", chance.choice(["2", "4", "8", "16"]))


def a_rest_instead(root: Element, chance: random.Random) -> None:
    note = _one(root, chance, "note")
    if note is not None and local(note.getparent()) != "chord" and "grace" not in note.attrib:
        rest = etree.Element(tag("rest"), dur=note.get("dur", "4"))
        if "dots" in note.attrib:
            rest.set("dots", note.get("dots", ""))
        rest.tail = note.tail
        note.getparent().replace(note, rest)


def a_note_missing(root: Element, chance: random.Random) -> None:
    note = _one(root, chance, "note", "rest")
    if note is not None and local(note.getparent()) in {"layer", "beam"}:
        _take(note)


def a_note_more(root: Element, chance: random.Random) -> None:
    note = _one(root, chance, "note")
    if note is not None and local(note.getparent()) in {"layer", "beam"}:
        copy = etree.Element(tag("note"), pname=chance.choice(_STEPS), oct="5", dur="8")
        if chance.random() < 0.3:
            copy.set("grace", "acc")
        note.addprevious(copy)


def an_articulation(root: Element, chance: random.Random) -> None:
    note = _one(root, chance, "note")
    if note is not None and local(note.getparent()) != "chord":
        note.set("artic", chance.choice(["stacc", "acc", "dnbow", "stacc ten"]))


def a_head(root: Element, chance: random.Random) -> None:
    note = _one(root, chance, "note")
    if note is not None:
        note.set("head.shape", "diamond")


def a_tie(root: Element, chance: random.Random) -> None:
    """Take a tie out, or tie a note to the next one of its voice by attribute or by element."""
    ties = list(root.iter(tag("tie")))
    if ties and chance.random() < 0.5:
        _take(chance.choice(ties))
        return
    notes = [n for n in root.iter(tag("note")) if "grace" not in n.attrib]
    staffs = [next(n.iterancestors(tag("staff"))).get("n") for n in notes]
    if len(notes) < 2:
        return
    at = chance.randrange(len(notes) - 1)
    after = next((i for i in range(at + 1, len(notes)) if staffs[i] == staffs[at]), None)
    if after is None:
        return
    one, other = notes[at], notes[after]
    other.set("pname", one.get("pname", "c"))
    other.set("oct", one.get("oct", "4"))
    if chance.random() < 0.5:
        one.set("tie", "i")
        other.set("tie", "t")
    else:
        _sign(one, chance, "tie", endid=f"#{_id(other, chance)}")


def a_slur(root: Element, chance: random.Random) -> None:
    """Take a slur out, let it end elsewhere, divide it, or draw a new one."""
    slurs = list(root.iter(tag("slur"), tag("hairpin")))
    match chance.randrange(4):
        case 0 if slurs:
            _take(chance.choice(slurs))
        case 1 if slurs:
            note = _one(root, chance, "note")
            if note is not None:
                chance.choice(slurs).set("endid", f"#{_id(note, chance)}")
        case _:
            notes = [n for n in root.iter(tag("note")) if "grace" not in n.attrib]
            if len(notes) > 1:
                at = chance.randrange(len(notes) - 1)
                end = notes[min(at + chance.randrange(1, 12), len(notes) - 1)]
                name = chance.choice(["slur", "slur", "hairpin"])
                more = {"form": "cres"} if name == "hairpin" else {}
                _sign(notes[at], chance, name, endid=f"#{_id(end, chance)}", **more)


def a_word(root: Element, chance: random.Random) -> None:
    """Take a sign out, or write a new one on a note or at a beat."""
    signs = list(root.iter(tag("dynam"), tag("dir"), tag("tempo"), tag("fing"), tag("trill")))
    if signs and chance.random() < 0.4:
        _take(chance.choice(signs))
        return
    note = _one(root, chance, "note")
    if note is None:
        return
    if chance.random() < 0.3:
        measure = next(note.iterancestors(tag("measure")))
        staff = next(note.iterancestors(tag("staff"))).get("n", "1")
        sign = etree.SubElement(measure, tag("dynam"), staff=staff, tstamp="2.5")
        sign.text = "pp"
        if chance.random() < 0.5:
            sign.set("tstamp2", "1m+1")
        return
    name = chance.choice(["dynam", "dir", "fing", "trill", "mordent", "fermata", "octave"])
    sign = _sign(note, chance, name)
    if name in {"dynam", "dir", "fing"}:
        sign.text = {"dynam": "mf", "dir": "dolce", "fing": "3"}[name]
    if name == "octave":
        sign.set("endid", sign.get("startid", ""))
        sign.set("dis", "8")
        sign.set("dis.place", "above")


def a_bar_missing(root: Element, chance: random.Random) -> None:
    measures = list(root.iter(tag("measure")))
    if len(measures) > 2:
        _take(chance.choice(measures))


def a_bar_more(root: Element, chance: random.Random) -> None:
    """Put a bar made of another one anywhere, before the first and after the last too."""
    measures = list(root.iter(tag("measure")))
    copy = deepcopy(chance.choice(measures))
    suffix = f"x{chance.randrange(10**9)}"
    for one in copy.iter(etree.Element):
        for name in (XML_ID, "startid", "endid"):
            if one.get(name):
                one.set(name, f"{one.get(name)}{suffix}")
    for note in copy.iter(tag("note")):
        note.set("pname", chance.choice(_STEPS))
        note.attrib.pop("tie", None)
    copy.set("n", chance.choice(["", "x", "99"]))
    copy.tail = "\n"
    at = chance.choice([0, len(measures) - 1, chance.randrange(len(measures))])
    (measures[at].addprevious if at == 0 else measures[at].addnext)(copy)


def another_meter(root: Element, chance: random.Random) -> None:
    measure = chance.choice(list(root.iter(tag("measure"))))
    count, unit = chance.choice([("3", "4"), ("2", "2"), ("6", "8"), ("3+2", "8")])
    measure.addprevious(etree.Element(tag("scoreDef"), {"meter.count": count, "meter.unit": unit}))


def a_repeat(root: Element, chance: random.Random) -> None:
    measure = chance.choice(list(root.iter(tag("measure"))))
    if chance.random() < 0.5:
        measure.set("left", "rptstart")
    else:
        measure.set("right", chance.choice(["rptend", "rptboth", "single"]))


def an_ending(root: Element, chance: random.Random) -> None:
    measure = chance.choice(list(root.iter(tag("measure"))))
    if next(measure.iterancestors(tag("ending")), None) is None:
        ending = etree.Element(tag("ending"), n=chance.choice(["1", "2"]))
        measure.addprevious(ending)
        ending.append(measure)


FRAME: tuple[Change, ...] = (another_meter, a_repeat, an_ending)
NOTES: tuple[Change, ...] = (
    another_pitch, an_accidental, another_value, a_rest_instead, a_note_missing, a_note_more,
    an_articulation, a_head, a_tie,
)  # fmt: skip
SIGNS: tuple[Change, ...] = (a_slur, a_word, a_tie)
BARS: tuple[Change, ...] = (a_bar_missing, a_bar_more)
ALL: tuple[Change, ...] = (*NOTES, *SIGNS, *SIGNS, *BARS, *FRAME)


def _one(root: Element, chance: random.Random, *names: str) -> Element | None:
    found = [e for e in root.iter(*map(tag, names)) if next(e.iterancestors(tag("layer")), None)
             is not None]  # fmt: skip
    return chance.choice(found) if found else None


def _id(element: Element, chance: random.Random) -> str:
    if element.get(XML_ID) is None:
        element.set(XML_ID, f"new{chance.randrange(10**9)}")
    return element.get(XML_ID, "")


def _sign(note: Element, chance: random.Random, name: str, **attributes: str) -> Element:
    measure = next(note.iterancestors(tag("measure")))
    return etree.SubElement(measure, tag(name), startid=f"#{_id(note, chance)}", **attributes)


def _take(element: Element) -> None:
    parent = element.getparent()
    if parent is not None:
        parent.remove(element)


def _drop_placeless(root: Element) -> None:
    """Take out signs that refer to what is not there any more."""
    ids = {e.get(XML_ID, "") for e in root.iter(etree.Element)}
    for measure in root.iter(tag("measure")):
        for sign in list(measure):
            if local(sign) == "staff":
                continue
            names = [i for n in ("startid", "endid", "plist") for i in referred(sign.get(n, ""))]
            if not ids.issuperset(names):
                _take(sign)
