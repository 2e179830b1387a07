"""What a line's SVG holds, piece by piece: boxes around the ink, and room above it.

The tree is walked once. Coordinates are those of Verovio's SVG; y grows downwards.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace

from lxml import etree

from pipeline.engrave.boxes import Box, words_box
from pipeline.engrave.clear_of_slurs import Arch, arch_of
from pipeline.engrave.fonts import glyph_boxes
from pipeline.engrave.verovio_svg import SVG, Run, Shape, Words

_HREF = "{http://www.w3.org/1999/xlink}href"
_NUMBER = re.compile(r"-?\d+(?:\.\d+)?")
_MOVED = re.compile(r"translate\(([-\d.]+), ([-\d.]+)\)")
_BOLD = frozenset({"ending", "fing", "reh", "tempo"})
_G, _USE, _TEXT, _TSPAN = (f"{SVG}{name}" for name in ("g", "use", "text", "tspan"))
_NO_INK = frozenset({"placeholder"})
_SHAPES = {f"{SVG}{name}" for name in ("path", "polygon", "polyline", "rect", "ellipse", "line")}


@dataclass
class Ink:
    """One leaf of the drawing: its element, its box, the classes of the groups around it.

    `arch` is the outer line of a slur that arches upwards, `words` what a text element says.
    """

    element: etree._Element
    box: Box
    classes: frozenset[str]
    groups: tuple[str, ...]
    arch: Arch | None = None
    words: Words | None = None

    def scale_words(self, share: float) -> None:
        """Set the words of a text element smaller, in the drawing and in what is known of it."""
        if self.words is None:
            return
        for span in self.element.iter(_TSPAN):
            if (size := span.get("font-size")) is not None:
                span.set("font-size", f"{float(size.removesuffix('px')) * share:.4g}px")
        runs = tuple(replace(run, size=run.size * share) for run in self.words.runs)
        self.words = replace(self.words, runs=runs)
        self.box = words_box(self.words)

    def move(self, down: float) -> None:
        """Move it up or down, in the drawing and in what is known of it."""
        if self.words is not None:
            for one in self.element.iter(_TEXT, _TSPAN):
                if one.get("y") is not None:
                    one.set("y", f"{float(one.get('y', '0')) + down:g}")
            self.words = replace(self.words, y=self.words.y + down)
            self.box = words_box(self.words)
        else:
            self.shift(0.0, down)

    def shift(self, right: float, down: float) -> None:
        """Move a glyph or a shape, in the drawing and in what is known of it."""
        before = self.element.get("transform", "")
        at = _MOVED.match(before)
        x, y = (float(at[1]), float(at[2])) if at else (0.0, 0.0)
        rest = before[at.end() :] if at else before
        self.element.set("transform", f"translate({x + right:g}, {y + down:g}){rest}")
        self.box = _beside(self.box, right, down)
        if self.arch is not None:
            self.arch = Arch(tuple((x + right, y + down) for x, y in self.arch.points))


def _beside(box: Box, right: float, down: float) -> Box:
    return Box(box.left + right, box.top + down, box.right + right, box.bottom + down)


def ink_of(body: etree._Element) -> list[Ink]:
    """Return every piece of ink in document order. Turned pieces are left out."""
    found: list[Ink] = []
    _walk(body, frozenset(), (), found)
    return found


def _walk(
    group: etree._Element, classes: frozenset[str], ids: tuple[str, ...], found: list[Ink]
) -> None:
    for child in group:
        name = child.tag
        if name == _G:
            written = child.get("class")
            own = frozenset(written.split()) if written else frozenset()
            moved = child.get("transform", "")
            if own & _NO_INK or (moved and moved != "translate(0, 0)"):
                continue
            inner = ids
            if (xml_id := child.get("id")) is not None:
                inner = (*ids, xml_id)
            _walk(child, classes | own, inner, found)
        elif name == _USE:
            box = _glyph_box(child)
            if box is not None:
                found.append(Ink(child, box, classes, ids))
        elif name in _SHAPES:
            box = _shape_box(child)
            if box is not None and not child.get("transform"):
                found.append(Ink(child, box, classes, ids, _arch(child, classes)))
        elif name == _TEXT:
            words = _words(child, classes)
            if words is not None:
                found.append(Ink(child, words_box(words), classes, ids, words=words))


def _glyph_box(use: etree._Element) -> Box | None:
    code = use.get(_HREF, "").lstrip("#").partition("-")[0]
    metrics = glyph_boxes().get(code)
    numbers = [float(n) for n in _NUMBER.findall(use.get("transform", ""))]
    if metrics is None or len(numbers) != 4:
        return None
    x, y, across, up = numbers
    left, bottom, width, height = metrics
    return Box(
        x + left * across, y - (bottom + height) * up, x + (left + width) * across, y - bottom * up
    )


def _shape_box(shape: etree._Element) -> Box | None:
    written = shape.get("d") or shape.get("points")
    if written:
        numbers = [float(n) for n in _NUMBER.findall(written)]
        xs, ys = numbers[::2], numbers[1::2]
        return Box(min(xs), min(ys), max(xs), max(ys)) if ys else None
    if shape.get("cx") is not None:
        x, y = float(shape.get("cx", "0")), float(shape.get("cy", "0"))
        rx, ry = float(shape.get("rx", "0")), float(shape.get("ry", "0"))
        return Box(x - rx, y - ry, x + rx, y + ry)
    if shape.get("width") is not None:
        x, y = float(shape.get("x", "0")), float(shape.get("y", "0"))
        return Box(x, y, x + float(shape.get("width", "0")), y + float(shape.get("height", "0")))
    return None


def _arch(path: etree._Element, classes: frozenset[str]) -> Arch | None:
    if "slur" not in classes and "tie" not in classes:
        return None
    return arch_of(Shape("path", (("d", path.get("d", "")),), frozenset({"slur"})))


def _words(text: etree._Element, classes: frozenset[str]) -> Words | None:
    """Return the words of a text element; the first line where there are several."""
    runs: list[Run] = []
    for span in text.iter(_TEXT, _TSPAN):
        if span.text and span.text.strip():
            around = (span, *span.iterancestors(_TSPAN))
            size = next((found for e in around if (found := e.get("font-size"))), "0")
            bold = bool(classes & _BOLD)
            runs.append(Run(span.text, float(size.removesuffix("px")), False, bold, False))
    if not runs:
        return None
    x, y = float(text.get("x", "0")), float(text.get("y", "0"))
    return Words(x, y, text.get("text-anchor", "start"), tuple(runs), classes)


class Sky:
    """The ink over each stretch of a line, to find room above a place. Boxes may be added."""

    _WIDTH = 240.0

    def __init__(self, pieces: Iterable[Box]) -> None:
        self._columns: dict[int, list[Box]] = {}
        for box in pieces:
            self.add(box)

    def add(self, box: Box) -> None:
        """Let one more box take up room."""
        for column in self._across(box.left, box.right):
            self._columns.setdefault(column, []).append(box)

    def room_above(self, left: float, right: float, start: float, height: float) -> float:
        """Return the lowest bottom, at most `start`, at which a box of that height is free.

        Cost: the pieces of ink over that stretch, times the gaps between them that are too low.
        """
        near = {
            id(box): box
            for column in self._across(left, right)
            for box in self._columns.get(column, ())
            if box.left < right and left < box.right and box.top < start
        }
        bottom = start
        for box in sorted(near.values(), key=lambda box: -box.bottom):
            if box.bottom > bottom - height and box.top < bottom:
                bottom = box.top
        return bottom

    def _across(self, left: float, right: float) -> Iterator[int]:
        return iter(range(int(left // self._WIDTH), int(right // self._WIDTH) + 1))
