"""Witnesses that are not what they are said to be, made of a real work: elsewhere in pitch, with
staves or bars missing or in another order, with much of it written anew."""

from __future__ import annotations

import random
from collections.abc import Callable

from lxml import etree

from pipeline.score.model import Passage
from tests.planting.ground import MEI, XML_ID, Element, say_sound

Distortion = Callable[[Element, Passage], None]

_FOURTH_UP = {"c": "f", "d": "g", "e": "a", "f": "b", "g": "c", "a": "d", "b": "e"}


def octave_higher(root: Element, _: Passage) -> None:
    for note in root.iter(f"{MEI}note"):
        note.set("oct", str(int(note.get("oct", "0")) + 1))


def fourth_higher(root: Element, work: Passage) -> None:
    """Every note sounds five semitones higher; key signatures are left, each note says its own."""
    heads = {h.xml_id: h.pitch for event in work.events for h in event.heads}
    for note in root.iter(f"{MEI}note"):
        pitch = heads.get(note.get(XML_ID, ""))
        if pitch is None:
            continue
        step = note.get("pname", "")
        up = _FOURTH_UP[step]
        note.set("pname", up)
        note.set("oct", str(int(note.get("oct", "0")) + (step in "gab")))
        for accid in note.findall(f"{MEI}accid"):
            note.remove(accid)
        note.attrib.pop("accid", None)
        note.attrib.pop("accid.ges", None)
        say_sound(note, pitch.alter - (up == "b"))


def without_last_staff(root: Element, work: Passage) -> None:
    last = str(work.staves[-1].n)
    for name in ("staff", "staffDef"):
        for one in list(root.iter(f"{MEI}{name}")):
            if one.get("n") == last:
                _remove(one)
    _drop_lost_signs(root)


def without_notes(root: Element, _: Passage) -> None:
    for layer in root.iter(f"{MEI}layer"):
        for child in list(layer):
            layer.remove(child)
        etree.SubElement(layer, f"{MEI}mRest")
    _drop_lost_signs(root)


def every_second_bar_missing(root: Element, _: Passage) -> None:
    for measure in list(root.iter(f"{MEI}measure"))[1::2]:
        _remove(measure)
    _drop_lost_signs(root)


def second_half_missing(root: Element, _: Passage) -> None:
    measures = list(root.iter(f"{MEI}measure"))
    for measure in measures[len(measures) // 2 :]:
        _remove(measure)
    _drop_lost_signs(root)


def bars_reversed(root: Element, _: Passage) -> None:
    measures = list(root.iter(f"{MEI}measure"))
    contents = [list(measure) for measure in measures]
    for measure, content in zip(measures, reversed(contents), strict=True):
        measure.extend(content)


def three_in_ten_notes_changed(root: Element, _: Passage) -> None:
    """Notes chosen by chance have the name of another step; `type` marks them."""
    chance = random.Random(1)
    for note in root.iter(f"{MEI}note"):
        if chance.random() < 0.3:
            note.set("pname", chance.choice("abcdefg".replace(note.get("pname", ""), "")))
            note.set("type", "changed")


def _remove(element: Element) -> None:
    parent = element.getparent()
    assert parent is not None
    parent.remove(element)


def _drop_lost_signs(root: Element) -> None:
    """Remove signs whose notes are gone."""
    names = {one.get(XML_ID) for one in root.iter("*")}
    for measure in root.iter(f"{MEI}measure"):
        for sign in list(measure):
            ends = [sign.get(name, "#") for name in ("startid", "endid") if sign.get(name)]
            if any(end[1:] not in names for end in ends):
                measure.remove(sign)
