"""Boxes around what a drawing holds, to see what meets what; coordinates of Verovio's SVG."""

from __future__ import annotations

import re
from dataclasses import dataclass

from pipeline.engrave.verovio_svg import Shape, Words

_NUMBER = re.compile(r"-?\d+(?:\.\d+)?")
ASCENT, DESCENT, CHARACTER = 0.68, 0.18, 0.42
"""Height above and below the line and mean width of digits and brackets, as parts of their size."""
_LOW_DESCENT = 0.28
"""How far letters such as g and p reach below the line (EB Garamond)."""
_LOW_LETTERS = frozenset("gjpqyQ")


@dataclass(frozen=True)
class Box:
    """Left, top, right and bottom; y grows downwards."""

    left: float
    top: float
    right: float
    bottom: float

    @property
    def middle(self) -> float:
        """Half way from top to bottom."""
        return (self.top + self.bottom) / 2

    def beside(self, other: Box) -> bool:
        """Whether the two are apart from left to right."""
        return self.right < other.left or other.right < self.left

    def meets(self, other: Box) -> bool:
        """Whether the two overlap."""
        return not self.beside(other) and self.top < other.bottom and other.top < self.bottom


def points(shape: Shape) -> list[tuple[float, float]]:
    """Return the points of a path or polygon, control points of curves among them."""
    attributes = dict(shape.attributes)
    written = attributes.get("d") or attributes.get("points") or ""
    numbers = [float(number) for number in _NUMBER.findall(written)]
    return list(zip(numbers[::2], numbers[1::2], strict=False))


def shape_box(shape: Shape) -> Box | None:
    """Return the box of a path or polygon; None for anything else."""
    found = points(shape)
    if not found:
        return None
    xs, ys = [x for x, _ in found], [y for _, y in found]
    return Box(min(xs), min(ys), max(xs), max(ys))


def words_box(words: Words) -> Box:
    """Return the box of a line of words or of a digit."""
    size = max(run.size for run in words.runs)
    width = sum(len(run.text) * run.size * CHARACTER for run in words.runs)
    left = {"end": words.x - width, "middle": words.x - width / 2}.get(words.anchor, words.x)
    low = any(_LOW_LETTERS.intersection(run.text) for run in words.runs if not run.music_face)
    descent = _LOW_DESCENT if low else DESCENT
    return Box(left, words.y - ASCENT * size, left + width, words.y + descent * size)
