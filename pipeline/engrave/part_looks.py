"""Each layer's look on the marks of the part: digits, words, bow signs, slurs, small staves.

The part's own tree is dressed in place, by the same house style as the music examples. Only black
and white are used; the layer itself is read off the classes in `@type`.
"""

from __future__ import annotations

from collections.abc import Mapping
from itertools import pairwise

from lxml import etree

from pipeline.edition.layer import Layer
from pipeline.engrave.house_style import HouseStyle, LayerLook, TextLook
from pipeline.engrave.markings import ENCLOSE, layer_class, styled
from pipeline.engrave.mei_tree import XML_ID, drop, local, mei, referred
from pipeline.engrave.part_staff import CORRECTED, records_of
from pipeline.score.mei_names import Element
from pipeline.strings.instruments import ROMAN, Instrument

_LAYER_OF_CLASS = {layer_class(layer): layer for layer in Layer}
_STRING, _LABEL = "string", "label"
_WORDS = frozenset({"dir", "dynam", "tempo"})
_RUN = 3
"""From so many notes on, a string is named by words (see `engrave.string_names`)."""
_CIRCLE_OF_A_HARMONIC = "harm"
_QUICK = frozenset({"16", "32", "64", "128"})
"""Note values so near to each other that digits in brackets would stand in steps ..."""
_SMALL_DIGITS = "80%"
"""... and are set smaller."""


def dress(
    movement: Element,
    style: HouseStyle,
    labels: Mapping[str, str],
    instrument: Instrument | None,
) -> None:
    """Set every mark in the look of its layer.

    `labels` are what stands above ossias and traditions, by record; where one is missing, the
    words of the layered document stay.
    """
    beside = on_small_staves(movement)
    _name_strings(movement, instrument)
    quick = _quick_notes(movement)
    for element in list(movement.iter(*(mei(n) for n in ("fing", "artic", "slur", *_WORDS)))):
        layer = layer_of_classes(element)
        small = referred(element, "startid") in beside
        match local(element):
            case "fing":
                look = style.look(layer or Layer.TEXT).fingering
                _set_text(element, beside_look(look) if small else look)
                if look.brackets != "none" and referred(element, "startid") in quick:
                    _set_smaller(element)
            case "artic" if layer is not None and element.get("artic") != _CIRCLE_OF_A_HARMONIC:
                _enclose(element, style.look(layer))
            case "slur" if layer is not None and not small:
                _draw_line(element, style.look(layer))
            case "dir" | "dynam" | "tempo" if layer is not None:
                _set_words(element, style.look(layer), labels, small)
            case _:
                pass
    _dress_corrected(movement, style.look(Layer.EDITOR))
    for other in movement.iter(mei("oStaff")):
        layer = layer_of_classes(other)
        if layer is not None:
            other.set("scale", f"{round(style.look(layer).staff * 100)}%")


def _dress_corrected(movement: Element, look: LayerLook) -> None:
    """Set what an emendation changed in the editor's look: brackets, or another line."""
    for element in movement.iter(*(mei(name) for name in ("note", "hairpin", "slur", "tie"))):
        if CORRECTED not in element.get("type", "").split():
            continue
        if local(element) != "note":
            if look.slur != "solid":
                element.set("lform", look.slur)
            continue
        accidental = element.find(mei("accid"))
        if accidental is None:
            accidental = etree.SubElement(element, mei("accid"), accid=element.get("accid", ""))
            drop(element, "accid")
        enclosed = ENCLOSE[look.bow_sign]
        if enclosed is not None:
            accidental.set("enclose", enclosed)


def layer_of_classes(element: Element) -> Layer | None:
    """Return the layer a mark is dressed as: the last named that is not the text itself."""
    named = [
        layer for word in element.get("type", "").split() if (layer := _LAYER_OF_CLASS.get(word))
    ]
    others = [layer for layer in named if layer is not Layer.TEXT]
    return others[0] if others else None


def beside_look(look: TextLook) -> TextLook:
    """Return the look of a digit on a small staff, which needs no brackets: its staff tells."""
    return look.model_copy(update={"brackets": "none"})


def on_small_staves(movement: Element) -> frozenset[str]:
    """Return the xml:ids of small staves and of all that stands on them."""
    ids = {
        e.get(XML_ID, "")
        for other in movement.iter(mei("oStaff"))
        for e in other.iter(etree.Element)
    }
    return frozenset(ids - {""})


def signs_of_small_staves(movement: Element) -> frozenset[str]:
    """Return the xml:ids of small staves and of the signs that hang on their notes."""
    held = on_small_staves(movement)
    if not held:
        return held
    signs = {
        sign.get(XML_ID, "")
        for measure in movement.iter(mei("measure"))
        for sign in measure.iterchildren(etree.Element)
        if referred(sign, "startid") in held
    }
    staves = {other.get(XML_ID, "") for other in movement.iter(mei("oStaff"))}
    return frozenset((signs | staves) - {""})


def _quick_notes(movement: Element) -> frozenset[str]:
    """Return the xml:ids of notes, and of chords and their notes, that are quick."""
    events = movement.iter(mei("note"), mei("chord"))
    ids = {
        one.get(XML_ID, "")
        for event in events
        if event.get("dur") in _QUICK and event.get("grace") is None
        for one in event.iter(mei("note"), mei("chord"))
    }
    return frozenset(ids - {""})


def _set_smaller(digit: Element) -> None:
    for rend in digit.iterchildren(mei("rend")):
        rend.set("fontsize", _SMALL_DIGITS)


def _set_text(element: Element, look: TextLook) -> None:
    """Set what is written as one `rend`; what has a style of its own keeps it inside."""
    written = "".join(str(t) for t in element.itertext()).strip()
    for child in list(element):
        element.remove(child)
    element.text = None
    if written:
        element.append(styled(look, written))


def _enclose(sign: Element, look: LayerLook) -> None:
    enclosed = ENCLOSE[look.bow_sign]
    if enclosed is not None:
        sign.set("enclose", enclosed)


def _draw_line(slur: Element, look: LayerLook) -> None:
    """Draw an added slur in the layer's line; one of the text stays as it is."""
    if slur.get("lform") is None:
        return
    drop(slur, "lform")
    if look.slur != "solid":
        slur.set("lform", look.slur)


def _set_words(words: Element, look: LayerLook, labels: Mapping[str, str], small: bool) -> None:
    classes = words.get("type", "").split()
    if _LABEL in classes:
        record = next(iter(records_of(words)), "")
        if record in labels:
            words.text = labels[record]
        _set_text(words, look.label)
    elif not small and local(words) == "dynam":
        _enclose(words, look)  # in a `rend` its letters would no longer be those of dynamics
    elif not small:
        _set_text(words, look.words)


def _name_strings(movement: Element, instrument: Instrument | None) -> None:
    """Name strings as players read them: `sul G` over a run, a Roman number over a few notes."""
    order = _places(movement)
    runs: dict[tuple[str, ...], list[Element]] = {}
    ends: dict[tuple[str, ...], int] = {}
    for element in movement.iter(mei("dir"), mei("fing")):
        classes = element.get("type", "").split()
        key = tuple(w for w in classes if w.startswith(("record-", "alternative-")))
        if not key:
            continue
        if _STRING in classes:
            runs.setdefault(key, []).append(element)
        ends[key] = max(ends.get(key, 0), order.get(referred(element, "startid"), 0))
    for key, held in runs.items():
        begins = [order.get(referred(one, "startid"), 0) for one in held]
        for element, (first, after) in zip(held, pairwise([*begins, ends[key] + 1]), strict=True):
            written = "".join(str(t) for t in element.itertext()).strip()
            _name(element, written.split("+"), after - first >= _RUN, instrument)


def _name(element: Element, strings: list[str], run: bool, instrument: Instrument | None) -> None:
    for child in list(element):
        element.remove(child)
    if len(strings) == 1 and run:
        element.text = f"sul {strings[0]}"
        return
    element.tag = mei("fing")
    element.text = "/".join(_number(one, instrument) for one in reversed(strings))


def _number(string: str, instrument: Instrument | None) -> str:
    if instrument is None or string in ROMAN:
        return string
    steps = [pitch.step for pitch in instrument.strings]
    return ROMAN[steps.index(string)] if string in steps else string


def _places(movement: Element) -> dict[str, int]:
    """Number notes and chords in document order; the notes of a chord share its number.

    Those of small staves are numbered by themselves: they stand between two notes of the text.
    """
    found: dict[str, int] = {}
    beside = on_small_staves(movement)
    numbers = {False: 0, True: 0}
    for event in movement.iter(mei("note"), mei("chord")):
        xml_id = event.get(XML_ID, "")
        around = event.getparent()
        small = xml_id in beside
        if around is None or local(around) != "chord":
            numbers[small] += 1
        found[xml_id] = numbers[small]
    return found
