"""Digits, strings, bow signs and slurs of one layer, added to an excerpt as house style says.

An excerpt is never changed: each function returns a new one. MEI 5.1: `fing`, `dir`, `artic`,
`slur`; the layer goes into `@type`, which Verovio hands on as a class of the SVG.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from copy import deepcopy
from dataclasses import replace
from typing import Literal

from lxml import etree

from pipeline.edition.fingers import THUMB, Finger, Fingering
from pipeline.edition.layer import Layer
from pipeline.engrave.excerpts import Excerpt
from pipeline.engrave.house_style import Brackets, LayerLook, TextLook
from pipeline.engrave.mei_tree import XML_ID, local, mei, referred
from pipeline.engrave.string_names import string_names
from pipeline.score.model import Event
from pipeline.strings.instruments import Instrument

ENCLOSE: Mapping[Brackets, str | None] = {"none": None, "square": "brack", "round": "paren"}
"""The brackets of the house style as MEI data.ENCLOSURE names them."""
_BOW_SIGN: Mapping[Literal["down", "up"], str] = {"down": "dnbow", "up": "upbow"}


def layer_class(layer: Layer) -> str:
    """Return the class that everything of this layer carries in MEI (`@type`) and in the SVG."""
    return f"layer-{layer.value}"


def has_fingerings(excerpt: Excerpt, events: Iterable[Event]) -> bool:
    """Return whether the text has digits at any of these notes."""
    held = tuple(events)
    before = sum(len(bar.markings) for bar in excerpt.bars)
    return sum(len(bar.markings) for bar in without_fingerings(excerpt, held).bars) < before


def has_bow_signs(events: Iterable[Event]) -> bool:
    """Return whether any of these notes has a bow sign in the text."""
    return any(sign in event.articulations for event in events for sign in _BOW_SIGN.values())


def without_fingerings(excerpt: Excerpt, events: Iterable[Event]) -> Excerpt:
    """Return the excerpt without the digits that the text has at these notes."""
    return _without(excerpt, events, frozenset({"fing", "fingGrp"}))


def with_digits_kept(excerpt: Excerpt, run: Sequence[tuple[Event, Fingering]]) -> Excerpt:
    """Return the excerpt with the text's digits at notes whose fingering keeps them all."""
    changed = [
        event
        for event, fingering in run
        if _digits_there(excerpt, event)
        - Counter(digit for _, digit in _digits(event, fingering.fingers))
    ]
    return without_fingerings(excerpt, changed)


def without_bow_signs(excerpt: Excerpt, events: Iterable[Event]) -> Excerpt:
    """Return the excerpt without the bow signs that the text has at these notes."""
    copy = _copied(excerpt)
    notes = copy.by_id()
    for event in events:
        note = notes.get(event.xml_id)
        if note is None:
            continue
        for artic in list(note.iter(mei("artic"))):
            if artic.get("artic") in _BOW_SIGN.values():
                _remove(artic)
        kept = [a for a in note.get("artic", "").split() if a not in _BOW_SIGN.values()]
        if note.get("artic") is not None:
            note.set("artic", " ".join(kept))
            if not kept:
                del note.attrib["artic"]
    return copy


def with_fingering(
    excerpt: Excerpt,
    run: Sequence[tuple[Event, Fingering]],
    layer: Layer,
    look: LayerLook,
    instrument: Instrument | None = None,
) -> Excerpt:
    """Return the excerpt with the digits of a run of notes above the staff, and their strings.

    What the excerpt has already at the note is not put there again: neither a digit nor a string.
    """
    added: list[tuple[int, etree._Element]] = []
    names = {name.event.xml_id: name for name in string_names(run, instrument)}
    for event, fingering in run:
        there = _digits_there(excerpt, event)
        for note_id, digit in _digits(event, fingering.fingers):
            if there[digit]:
                there[digit] -= 1
                continue
            fing = _attached("fing", excerpt, note_id, layer)
            fing.append(styled(look.fingering, digit))
            added.append((event.bar, fing))
        name = names.get(event.xml_id)
        if name is not None and not _text_names(excerpt, event, name.strings):
            element = _attached("dir" if name.in_words else "fing", excerpt, event.xml_id, layer)
            element.append(styled(look.words if name.in_words else look.fingering, name.text))
            added.append((event.bar, element))
    return with_markings(excerpt, added)


def with_bow_signs(
    excerpt: Excerpt,
    signs: Iterable[tuple[Event, Literal["down", "up"]]],
    layer: Layer,
    look: LayerLook,
) -> Excerpt:
    """Return the excerpt with bow signs above these notes."""
    copy = _copied(excerpt)
    notes = copy.by_id()
    for event, sign in signs:
        artic = etree.Element(mei("artic"), artic=_BOW_SIGN[sign], place="above")
        artic.set("type", layer_class(layer))
        if (enclose := ENCLOSE[look.bow_sign]) is not None:
            artic.set("enclose", enclose)
        notes[event.xml_id].append(artic)
    return copy


def in_text_look(excerpt: Excerpt, look: LayerLook) -> Excerpt:
    """Return the excerpt with the digits that the text itself has in the look of its layer."""
    copy = _copied(excerpt)
    for fing in (e for bar in copy.bars for m in bar.markings for e in m.iter(mei("fing"))):
        if len(fing) == 0 and fing.text:
            rend = styled(look.fingering, fing.text.strip())
            fing.text = None
            fing.append(rend)
    return copy


def with_slur(
    excerpt: Excerpt, first: Event, last: Event, layer: Layer, look: LayerLook
) -> Excerpt:
    """Return the excerpt with one more slur, drawn in the layer's kind of line."""
    slur = _attached("slur", excerpt, first.xml_id, layer)
    slur.set("endid", f"#{excerpt.prefix}{last.xml_id}")
    slur.set("curvedir", "above")
    if look.slur != "solid":
        slur.set("lform", look.slur)
    return with_markings(excerpt, [(first.bar, slur)])


def _digits(event: Event, fingers: tuple[Finger, ...]) -> list[tuple[str, str]]:
    """Each digit with the id it is attached to: the note of a chord, lowest first, or the event.

    A stopped harmonic has its touching finger above the stopping one.
    """
    by_height = sorted(event.heads, key=lambda head: head.pitch.midi)
    one_each = len(by_height) == len(fingers) > 1
    found: list[tuple[str, str]] = []
    for number, finger in enumerate(fingers):
        target = by_height[number].xml_id if one_each else event.xml_id
        found.append((target, "T" if finger.digit == THUMB else finger.digit))
        if finger.touched:
            found.append((target, finger.touched))
    return found


def _digits_there(excerpt: Excerpt, event: Event) -> Counter[str]:
    """The digits that stand in the excerpt at a note or chord."""
    ids = {excerpt.prefix + one for one in (event.xml_id, *(h.xml_id for h in event.heads))}
    bar = event.bar - excerpt.first_bar
    markings = excerpt.bars[bar].markings if 0 <= bar < len(excerpt.bars) else ()
    return Counter(
        "".join(str(text) for text in fing.itertext()).strip()
        for marking in markings
        for fing in marking.iter(mei("fing"))
        if {referred(marking, "startid"), referred(fing, "startid")} & ids
    )


def _text_names(excerpt: Excerpt, event: Event, strings: tuple[str, ...]) -> bool:
    """Return whether the text itself names that string at this note."""
    said = {f"sul {strings[0].lower()}", strings[0].lower()} if len(strings) == 1 else set()
    return any(
        " ".join("".join(str(t) for t in marking.itertext()).lower().split()).rstrip(".") in said
        for marking in excerpt.bars[event.bar - excerpt.first_bar].markings
        if referred(marking, "startid") == excerpt.prefix + event.xml_id
    )


def _attached(name: str, excerpt: Excerpt, to: str, layer: Layer) -> etree._Element:
    element = etree.Element(mei(name), startid=f"#{excerpt.prefix}{to}")
    element.set("type", layer_class(layer))
    if name != "slur":
        element.set("place", "above")
    return element


def styled(look: TextLook, text: str) -> etree._Element:
    """Return text in that look, its brackets around it, as MEI `rend`."""
    rend = etree.Element(mei("rend"))
    rend.set("fontstyle", "italic" if look.slant == "italic" else "normal")
    rend.set("fontweight", "bold" if look.weight == "bold" else "normal")
    rend.text = look.bracketed(text)
    return rend


def _copied(excerpt: Excerpt) -> Excerpt:
    return replace(
        excerpt,
        bars=tuple(
            replace(
                bar,
                layers=tuple(deepcopy(layer) for layer in bar.layers),
                markings=tuple(deepcopy(marking) for marking in bar.markings),
            )
            for bar in excerpt.bars
        ),
    )


def with_markings(excerpt: Excerpt, added: Iterable[tuple[int, etree._Element]]) -> Excerpt:
    """Return the excerpt with more markings, each given with its bar's index in the passage.

    Every marking gets an xml:id of its own, so that its loss in engraving is noticed.
    """
    by_bar: dict[int, list[etree._Element]] = {}
    for bar, element in added:
        by_bar.setdefault(bar - excerpt.first_bar, []).append(element)
    count = sum(len(bar.markings) for bar in excerpt.bars)
    for elements in by_bar.values():
        for element in elements:
            count += 1
            element.set(XML_ID, f"{excerpt.prefix}added{count}")
    return replace(
        excerpt,
        bars=tuple(
            replace(bar, markings=(*bar.markings, *by_bar.get(index, ())))
            for index, bar in enumerate(excerpt.bars)
        ),
    )


def _without(excerpt: Excerpt, events: Iterable[Event], names: frozenset[str]) -> Excerpt:
    ids = {
        excerpt.prefix + one
        for event in events
        for one in (event.xml_id, *(head.xml_id for head in event.heads))
    }
    return replace(
        excerpt,
        bars=tuple(
            replace(
                bar,
                markings=tuple(
                    marking
                    for marking in bar.markings
                    if local(marking) not in names or referred(marking, "startid") not in ids
                ),
            )
            for bar in excerpt.bars
        ),
    )


def _remove(element: etree._Element) -> None:
    parent = element.getparent()
    if parent is not None:
        parent.remove(element)
