"""Verovio's SVG in, a flat drawing out: lines, shapes, music glyphs and words, no nesting.

What Verovio nests for the eyes of a program (a group for each note, stem, dot) costs a PDF renderer
more than the ink does. Positions are in the coordinates of Verovio's `definition-scale`, a
staff being `SVG_UNITS_PER_STAFF` high; a glyph is a character of SMuFL (Standard Music Font Layout
1.4), whose em is four staff spaces.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass

from lxml import etree

SVG = "{http://www.w3.org/2000/svg}"
_HREF = "{http://www.w3.org/1999/xlink}href"
_EM = 1000
"""Units of the em in which Verovio writes a glyph's outline."""
_PLACED = re.compile(r"^translate\(([-\d.]+), ([-\d.]+)\) scale\(([\d.]+), ([\d.]+)\)$")
_MOVED_NOWHERE = re.compile(r"^translate\(0, 0\)$")
_SHAPES = frozenset({"path", "polygon", "polyline", "ellipse", "rect", "circle", "line"})
_BOLD = frozenset({"ending", "fing", "reh", "tempo"})
_ITALIC = frozenset({"dir", "dynam", "mNum"})
"""Which groups Verovio's own style sheet sets bold and italic."""


@dataclass(frozen=True)
class Shape:
    """A line or area: SVG element name, attributes, the `classes` of its groups, `transform`."""

    name: str
    attributes: tuple[tuple[str, str], ...]
    classes: frozenset[str]
    transform: str = ""


@dataclass(frozen=True)
class Glyph:
    """A sign of the music face, `size` being the size of its em."""

    character: str
    x: float
    y: float
    size: float
    classes: frozenset[str] = frozenset()
    transform: str = ""


@dataclass(frozen=True)
class Run:
    """Words in one size and style; `dy` is the shift from the line before (superscripts)."""

    text: str
    size: float
    italic: bool
    bold: bool
    music_face: bool
    dy: float = 0.0


@dataclass(frozen=True)
class Words:
    """A line of words. `anchor` is SVG's `text-anchor`."""

    x: float
    y: float
    anchor: str
    runs: tuple[Run, ...]
    classes: frozenset[str]


@dataclass(frozen=True)
class Drawing:
    """Everything that Verovio drew on one page; `width` and `height` of its own crop."""

    width: float
    height: float
    shapes: tuple[Shape, ...]
    glyphs: tuple[Glyph, ...]
    words: tuple[Words, ...]


def read_drawing(svg: str) -> Drawing:
    """Return what an SVG of Verovio's draws.

    Raises ValueError where it is not built as Verovio builds it: nothing is left out in silence.
    """
    scaled = etree.fromstring(svg.encode()).find(f"{SVG}svg")
    if scaled is None:
        raise ValueError("this SVG was not made by Verovio with its usual options")
    _, _, width, height = (float(number) for number in scaled.get("viewBox", "").split())
    shapes: list[Shape] = []
    glyphs: list[Glyph] = []
    words: list[Words] = []
    _read_group(scaled, frozenset(), "", (shapes, glyphs, words))
    return Drawing(width, height, tuple(shapes), tuple(glyphs), tuple(words))


def _read_group(
    group: etree._Element,
    classes: frozenset[str],
    transform: str,
    drawn: tuple[list[Shape], list[Glyph], list[Words]],
) -> None:
    shapes, glyphs, words = drawn
    for child in group.iterchildren(etree.Element):
        name = etree.QName(child).localname
        own = frozenset((child.get("class") or "").split())
        if name in {"g", "svg"}:
            if "placeholder" not in own:
                moved = child.get("transform", "")
                inner = transform if _MOVED_NOWHERE.match(moved) else f"{transform} {moved}".strip()
                _read_group(child, classes | own, inner, drawn)
        elif name == "use":
            glyphs.append(_glyph(child, classes, transform))
        elif name in _SHAPES:
            kept = tuple((str(k), str(v)) for k, v in child.attrib.items() if k != "class")
            shapes.append(Shape(name, kept, classes, transform))
        elif name == "text":
            words.extend(_lines_of_words(child, classes))
        elif name not in {"title", "desc"}:
            raise ValueError(f"Verovio drew a `{name}`, which is not known here")


def _glyph(use: etree._Element, classes: frozenset[str], transform: str) -> Glyph:
    code = use.get(_HREF, "").lstrip("#").partition("-")[0]
    placed = _PLACED.match(use.get("transform", ""))
    if placed is None or placed[3] != placed[4]:
        raise ValueError(f"Verovio placed a glyph by `{use.get('transform')}`")
    size = float(placed[3]) * _EM
    return Glyph(chr(int(code, 16)), float(placed[1]), float(placed[2]), size, classes, transform)


def _lines_of_words(text: etree._Element, classes: frozenset[str]) -> Iterator[Words]:
    """Yield a text element line by line: a `tspan` with a position of its own begins a line."""
    x, y = float(text.get("x", "0")), float(text.get("y", "0"))
    anchor = text.get("text-anchor", "start")
    runs: list[Run] = []
    for span in text.iter(f"{SVG}tspan"):
        if span.get("y") is not None:
            if runs:
                yield Words(x, y, anchor, tuple(runs), classes)
            runs = []
            x, y = float(span.get("x", x)), float(span.get("y", y))
        if span.text:
            runs.append(_run(span, text, classes))
    if runs:
        yield Words(x, y, anchor, tuple(runs), classes)


def _run(span: etree._Element, text: etree._Element, classes: frozenset[str]) -> Run:
    """The run of a `tspan`; its own style counts before that of those around it."""
    around = [span]
    for outer in span.iterancestors():
        if outer is text:
            break
        around.append(outer)

    def styled(attribute: str, usual: str) -> str:
        return next((one.get(attribute, "") for one in around if one.get(attribute)), usual)

    return Run(
        text=span.text or "",
        size=float(styled("font-size", "0px").removesuffix("px")),
        italic=styled("font-style", "italic" if classes & _ITALIC else "normal") == "italic",
        bold=styled("font-weight", "bold" if classes & _BOLD else "normal") == "bold",
        music_face=bool(styled("font-family", "")),
        dy=sum(float(one.get("dy", "0")) for one in around),
    )
