"""Elements of MusicXML 4.0, which has no namespace."""

from __future__ import annotations

from fractions import Fraction

from lxml import etree

from pipeline.score.mei_names import Element

MUSICXML_VERSION = "4.0"


def make(name: str, text: str | None = None, /, **attributes: str) -> Element:
    """Return a new element; a trailing underscore is cut off names, hyphens are underscores."""
    written = {key.rstrip("_").replace("_", "-"): v for key, v in attributes.items() if v}
    element = etree.Element(name, written)
    element.text = text
    return element


def put(parent: Element, name: str, text: str | None = None, /, **attributes: str) -> Element:
    """Append a new element to its parent and return it."""
    child = make(name, text, **attributes)
    parent.append(child)
    return child


def figures(number: Fraction) -> str:
    """Return a number as MusicXML writes it: whole, else with decimals."""
    if number.denominator == 1:
        return str(number.numerator)
    return f"{float(number):.6f}".rstrip("0")


def sentence(written: str) -> str:
    """Return text without what XML cannot hold."""
    return "".join(c for c in written if c in "\t\n" or c >= " ")
