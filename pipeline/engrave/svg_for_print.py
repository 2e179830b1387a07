"""A drawing in, a small SVG for the page out: cropped to the music, at the staff size wanted.

WeasyPrint draws nothing of a nested `svg` element and spends most of its time on groups and on
glyphs as outlines. So lines of one kind become one path and glyphs become characters of the music
face, which the document must bring (`pipeline.engrave.fonts`): a sixth of the time, half the bytes.
There are no ids, so any number of them can stand in one document.
"""

from __future__ import annotations

import re
from base64 import b64encode
from collections.abc import Iterable
from dataclasses import dataclass, replace

from lxml import etree

from pipeline.engrave.difference_brackets import DIFFERENCE_CLASS
from pipeline.engrave.drawing_extent import extent
from pipeline.engrave.fonts import MUSIC_FACE
from pipeline.engrave.verovio import SVG_UNITS_PER_STAFF
from pipeline.engrave.verovio_svg import SVG, Drawing, Glyph, Run, Shape, Words

_EMPTY = '<svg xmlns="http://www.w3.org/2000/svg" version="1.1" role="img"/>'
_STRAIGHT = re.compile(r"^M[-\d. ]+ L[-\d. ]+$")
_OPENING_ENCLOSURES = "\ue26a\ue26c"
_CLOSING_ENCLOSURES = "\ue26b\ue26d"
_ENCLOSURE_AIR = 28
"""How far brackets are moved away from the bow sign between them."""
_THIN_LINE = "13"
"""Width of the corners above differing notes: that of a staff line, so that they stay back."""
_DASH_WIDTH = 0.6
"""Dashed and dotted slurs are drawn thinner than Verovio does, which uses a slur's thickest."""


@dataclass(frozen=True)
class Svg:
    """A picture for the page. `text` describes it for those who cannot see it."""

    markup: str
    width_mm: float
    height_mm: float
    text: str

    @property
    def data_uri(self) -> str:
        """The picture as the source of an HTML `img`: a third quicker to set than inline SVG."""
        return f"data:image/svg+xml;base64,{b64encode(self.markup.encode()).decode()}"


def svg_for_print(
    drawing: Drawing, staff_height_mm: float, text: str, text_face: str = "serif"
) -> Svg:
    """Return a drawing as SVG for a page, its staves `staff_height_mm` high.

    `text_face` is a CSS font-family for everything that is words or digits.
    """
    left, top, right, bottom = extent(drawing)
    mm_per_unit = staff_height_mm / SVG_UNITS_PER_STAFF
    width_mm = round((right - left) * mm_per_unit, 2)
    height_mm = round((bottom - top) * mm_per_unit, 2)
    root = etree.XML(_EMPTY)
    root.set("aria-label", text)
    root.set("width", f"{width_mm}mm")
    root.set("height", f"{height_mm}mm")
    root.set("viewBox", f"{left:g} {top:g} {right - left:g} {bottom - top:g}")
    _append_shapes(root, drawing)
    _append_glyphs(root, [_with_air(glyph) for glyph in drawing.glyphs])
    words = etree.SubElement(root, f"{SVG}g", {"font-family": text_face})
    for line in drawing.words:
        words.append(_text(line))
    return Svg(etree.tostring(root, encoding="unicode"), width_mm, height_mm, text)


def _append_shapes(root: etree._Element, drawing: Drawing) -> None:
    """Draw lines that look alike as one path, everything else one by one."""
    group = etree.SubElement(root, f"{SVG}g", stroke="currentColor")
    lines: dict[tuple[tuple[str, str], ...], list[str]] = {}
    others: list[Shape] = []
    for shape in drawing.shapes:
        if shape.name == "path" and DIFFERENCE_CLASS in shape.classes:
            continue  # the corners stay; the whole bracket would look like a down bow
        attributes = dict(_styled(shape))
        path = attributes.pop("d", "")
        if shape.name == "path" and _STRAIGHT.match(path) and not shape.transform:
            lines.setdefault(tuple(attributes.items()), []).append(path.replace(" L", "L"))
        else:
            others.append(shape)
    for look, paths in lines.items():
        etree.SubElement(group, f"{SVG}path", {**dict(look), "d": "".join(paths)})
    for shape in others:
        attributes = dict(_styled(shape))
        if shape.transform:
            attributes["transform"] = shape.transform
        etree.SubElement(group, f"{SVG}{shape.name}", attributes)


def _styled(shape: Shape) -> tuple[tuple[str, str], ...]:
    attributes = dict(shape.attributes)
    if DIFFERENCE_CLASS in shape.classes:
        attributes["stroke-width"] = _THIN_LINE
    elif "stroke-dasharray" in attributes and shape.classes & {"slur", "tie"}:
        attributes["stroke-width"] = f"{float(attributes['stroke-width']) * _DASH_WIDTH:.4g}"
    return tuple(attributes.items())


def _with_air(glyph: Glyph) -> Glyph:
    if "artic" in glyph.classes and glyph.character in _OPENING_ENCLOSURES:
        return replace(glyph, x=glyph.x - _ENCLOSURE_AIR)
    if "artic" in glyph.classes and glyph.character in _CLOSING_ENCLOSURES:
        return replace(glyph, x=glyph.x + _ENCLOSURE_AIR)
    return glyph


def _append_glyphs(root: etree._Element, glyphs: Iterable[Glyph]) -> None:
    """Set all glyphs of one size as one text, each character with its own position."""
    face = etree.SubElement(root, f"{SVG}g", {"font-family": MUSIC_FACE})
    alike: dict[tuple[float, str], list[Glyph]] = {}
    for glyph in glyphs:
        alike.setdefault((glyph.size, glyph.transform), []).append(glyph)
    for (size, transform), held in alike.items():
        text = etree.SubElement(face, f"{SVG}text", {"font-size": f"{size:g}"})
        text.set("x", " ".join(f"{glyph.x:g}" for glyph in held))
        text.set("y", " ".join(f"{glyph.y:g}" for glyph in held))
        if transform:
            text.set("transform", transform)
        text.text = "".join(glyph.character for glyph in held)


def _text(line: Words) -> etree._Element:
    text = etree.Element(f"{SVG}text", x=f"{line.x:g}", y=f"{line.y:g}")
    if line.anchor != "start":
        text.set("text-anchor", line.anchor)
    if len(line.runs) == 1 and not line.runs[0].dy:
        _set_style(text, line.runs[0])
        text.text = line.runs[0].text
        return text
    for run in line.runs:
        span = etree.SubElement(text, f"{SVG}tspan")
        _set_style(span, run)
        if run.dy:
            span.set("dy", f"{run.dy:g}")
        span.text = run.text
    return text


def _set_style(element: etree._Element, run: Run) -> None:
    element.set("font-size", f"{run.size:g}")
    if run.italic:
        element.set("font-style", "italic")
    if run.bold:
        element.set("font-weight", "bold")
    if run.music_face:
        element.set("font-family", MUSIC_FACE)
