"""Verovio's SVG of one line in, the line for page and screen out: no nested svg, cropped, measured.

A renderer for print draws nothing of a nested `svg` element; so the inner one becomes a `g` and its
viewBox moves to the root, whose width and height are in millimetres. Ids and classes stay.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

from lxml import etree

from pipeline.engrave.verovio import SVG_UNITS_PER_STAFF
from pipeline.engrave.verovio_svg import SVG

_AIR = 40


@dataclass
class LineDrawing:
    """A line's SVG as a tree that may be added to. Coordinates are those of Verovio's SVG."""

    root: etree._Element
    body: etree._Element
    width: float
    top: float
    bottom: float

    @cached_property
    def groups(self) -> dict[str, etree._Element]:
        """The groups that have an id."""
        return {g.get("id", ""): g for g in self.body.iter(f"{SVG}g") if g.get("id")}

    @property
    def measures(self) -> list[str]:
        """The xml:ids of the measures from left to right."""
        return [
            g.get("id", "")
            for g in self.body.iter(f"{SVG}g")
            if "measure" in (g.get("class") or "").split()
        ]

    def svg(self, staff_height_mm: float) -> tuple[str, float, float]:
        """Return the markup, its width and its height in millimetres."""
        mm_per_unit = staff_height_mm / SVG_UNITS_PER_STAFF
        width_mm = round(self.width * mm_per_unit, 3)
        height_mm = round((self.bottom - self.top) * mm_per_unit, 3)
        self.root.set("width", f"{width_mm:g}mm")
        self.root.set("height", f"{height_mm:g}mm")
        height = self.bottom - self.top
        self.root.set("viewBox", f"0 {self.top:g} {self.width:g} {height:g}")
        return etree.tostring(self.root, encoding="unicode"), width_mm, height_mm


def line_drawing(svg: str, families: str) -> LineDrawing:
    """Return Verovio's SVG of a line, its words in these families (a CSS font-family)."""
    root = etree.fromstring(svg.encode())
    inner = root.find(f"{SVG}svg")
    if inner is None:
        raise ValueError("this SVG was not made by Verovio with its usual options")
    _, _, width, height = (float(number) for number in inner.get("viewBox", "").split())
    inner.tag = f"{SVG}g"
    del inner.attrib["viewBox"]
    inner.set("font-family", families)
    for one in root.findall(f"{SVG}desc"):
        root.remove(one)
    return LineDrawing(root, inner, width, -_AIR, height + _AIR)
