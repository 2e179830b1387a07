"""How far a drawing reaches: its crop for the page, so that no ink is cut off and no paper wasted.

Verovio crops in height only, and not to bar numbers; widths of words are reckoned generously, since
the face they will be set in is not known here.
"""

from __future__ import annotations

import re
from collections.abc import Iterator

from pipeline.engrave.verovio_svg import Drawing, Shape, Words

Box = tuple[float, float, float, float]

_AIR = 24
"""Room around the ink: line ends, italic overhang."""
_CHARACTER_WIDTH = 0.5
"""Mean width of a character as a part of its size, in a wide book face."""
_ASCENT, _DESCENT = 0.75, 0.25
_GLYPH_WIDTH = 0.3
"""Width of most glyphs as a part of their em (a notehead is a little narrower)."""
_NUMBER = re.compile(r"-?\d+(?:\.\d+)?")


def extent(drawing: Drawing) -> Box:
    """Return left, top, right and bottom of the ink, with a little air."""
    right = max(
        [
            *(x for shape in drawing.shapes for x in _xs(shape)),
            *(
                glyph.x + _GLYPH_WIDTH * glyph.size
                for glyph in drawing.glyphs
                if not glyph.transform
            ),
        ],
        default=drawing.width,
    )
    heights = [y for shape in drawing.shapes for y in _ys(shape)]
    left, top = 0.0, min([0.0, *heights])
    bottom = max([drawing.height, *heights])
    for words in drawing.words:
        word_left, word_top, word_right, word_bottom = _word_box(words)
        left, right = min(left, word_left), max(right, word_right)
        top, bottom = min(top, word_top), max(bottom, word_bottom)
    return left - _AIR, top - _AIR, right + _AIR, bottom + _AIR


def _xs(shape: Shape) -> Iterator[float]:
    """Yield the horizontal positions of a shape; a turned one stays inside its neighbours."""
    if shape.transform:
        return
    attributes = dict(shape.attributes)
    path = attributes.get("d") or attributes.get("points")
    if path:
        for number in _NUMBER.findall(path)[::2]:
            yield float(number)
    elif "x" in attributes:
        yield float(attributes["x"]) + float(attributes.get("width", "0"))
    elif "cx" in attributes:
        yield float(attributes["cx"]) + float(attributes.get("rx", attributes.get("r", "0")))


def _ys(shape: Shape) -> Iterator[float]:
    """Yield the heights of corners and of the middle of slurs, which may have been moved up."""
    attributes = dict(shape.attributes)
    if shape.name == "polyline":
        yield from (float(y) for y in _NUMBER.findall(attributes.get("points", ""))[1::2])
    elif shape.classes & {"slur", "tie"}:
        ys = [float(y) for y in _NUMBER.findall(attributes.get("d", ""))[1:8:2]]
        if len(ys) == 4:
            yield (ys[0] + 3 * ys[1] + 3 * ys[2] + ys[3]) / 8


def _word_box(words: Words) -> Box:
    width = sum(len(run.text) * run.size * _CHARACTER_WIDTH for run in words.runs)
    size = max(run.size for run in words.runs)
    start = {"end": words.x - width, "middle": words.x - width / 2}.get(words.anchor, words.x)
    return start, words.y - _ASCENT * size, start + width, words.y + _DESCENT * size
