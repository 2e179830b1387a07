"""What a string player reads and the import of MusicXML loses, put into the MEI.

MusicXML 4.0 `technical`: string numbers become a `dir` of type "string" with the Roman numeral (I
is the highest) and `tab.course` on the note; the thumb becomes the fingering "T"; a finger that is
exchanged for another while the note sounds becomes one fingering, "2–3"; of a stopped harmonic,
each note is told apart by `type` ("harmonic base", "harmonic touching", "harmonic sounding"), the
touched one is a diamond, and the circle that means a natural harmonic is taken away; so is that of
any harmonic whose sign is not printed (`print-object`).
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from lxml import etree

from pipeline.score.identifiers import referred
from pipeline.score.mei_names import XML_ID, Element, local, tag, whole_number
from pipeline.score.trouble import Trouble

if TYPE_CHECKING:
    from pipeline.score.musicxml import Imported

THUMB = "T"
_ROMAN = ("I", "II", "III", "IV", "V", "VI")
_PARTS_OF_HARMONIC = ("base", "touching", "sounding")


def put_playing(imported: Imported, trouble: Trouble) -> None:
    """Put strings, thumbs, exchanged fingers and harmonics where the import left them out."""
    fingerings = _fingerings(imported.root)
    for technical in imported.source.iter("technical"):
        note = next(technical.iterancestors("note"), None)
        element = imported.mei_of.get(note) if note is not None else None
        if element is None:
            continue
        measure = next(element.iterancestors(tag("measure")))
        for string in technical.iterfind("string"):
            _put_string(string, element, measure, trouble)
        for _ in technical.iterfind("thumb-position"):
            _put_sign(measure, "fing", element, THUMB)
        _join_exchanged(technical, fingerings.get(element.get(XML_ID, ""), []), trouble)
        for harmonic in technical.iterfind("harmonic"):
            _put_harmonic(harmonic, element)


def _fingerings(root: Element) -> dict[str, list[Element]]:
    found: dict[str, list[Element]] = {}
    for element in root.iter(tag("fing")):
        for name in referred(element.get("startid", "")):
            found.setdefault(name, []).append(element)
    return found


def _put_string(string: Element, note: Element, measure: Element, trouble: Trouble) -> None:
    written = (string.text or "").strip()
    number = whole_number(written) or 0
    if not 1 <= number <= len(_ROMAN):
        trouble.warn(
            "unreadable-string",
            string,
            f'string "{written}" is not a number from 1 to {len(_ROMAN)}',
            "Number the strings from the highest, which is 1.",
        )
        return
    note.set("tab.course", written)
    direction = _put_sign(measure, "dir", note, _ROMAN[number - 1])
    direction.set("type", "string")


def _put_sign(measure: Element, name: str, note: Element, text: str) -> Element:
    sign = etree.SubElement(measure, tag(name))
    staff = next(note.iterancestors(tag("staff")))
    sign.set("staff", staff.get("n", "1"))
    sign.set("startid", f"#{note.get(XML_ID, '')}")
    sign.set("place", "above")
    sign.text = text
    return sign


def _join_exchanged(technical: Element, imported: list[Element], trouble: Trouble) -> None:
    written = technical.findall("fingering")
    if not any(one.get("substitution") == "yes" for one in written):
        return
    if [(one.text or "").strip() for one in written] != [f.text or "" for f in imported]:
        trouble.warn(
            "fingering-not-taken-over",
            written[0],
            "the exchanged fingers of this note were converted in another order than written",
            "Compare the fingering with the source.",
        )
        return
    kept = imported[0]
    for one, element in zip(written[1:], imported[1:], strict=True):
        if one.get("substitution") != "yes":
            kept = element
            continue
        kept.text = f"{kept.text}–{element.text}"
        parent = element.getparent()
        if parent is not None:
            parent.remove(element)


def _put_harmonic(harmonic: Element, note: Element) -> None:
    if harmonic.find("artificial") is None:
        if harmonic.get("print-object") == "no":
            _take_circle_away(note)
        return
    part = next(
        (p for p in _PARTS_OF_HARMONIC if harmonic.find(f"{p}-pitch") is not None), "stopped"
    )
    note.set("type", f"{note.get('type', '')} harmonic {part}".strip())
    if part == "touching":
        note.set("head.shape", "diamond")
    if part == "stopped":
        return
    _take_circle_away(note)


def _take_circle_away(note: Element) -> None:
    parent = note.getparent()
    bearers = (note, parent) if parent is not None and local(parent) == "chord" else (note,)
    for bearer in bearers:
        for artic in [child for child in bearer if child.get("artic") == "harm"]:
            bearer.remove(artic)
