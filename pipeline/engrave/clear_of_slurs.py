"""What Verovio lets a slur run through is moved above it: digits, words, corners at differences.

A drawing in and out. Verovio places a digit under a flat slur although there is no room for it.
Common practice, no source: fingerings stand outside the slur where they do not fit under it.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from itertools import pairwise

from pipeline.engrave.boxes import Box, points, words_box
from pipeline.engrave.difference_brackets import DIFFERENCE_CLASS
from pipeline.engrave.verovio_svg import Drawing, Shape, Words

_MOVED = frozenset({"fing", "dir"})
_FIXED = frozenset({"label", "labelAbbr", "mNum"})
_GAP = 45
"""Room between a slur and the digit above it (a staff space is 180)."""
_REACH = 450
"""How far below a slur a digit still belongs to it, and not to the staff underneath."""
_STACKED_FROM, _STACKED_TO = 0.4, 1.3
"""Lines of words this far apart, in parts of their size, are a stack and stay as they are."""
_DIGIT_IN_BRACKETS = 4
_STEPS = 24


@dataclass(frozen=True)
class Arch:
    """The outer line of a slur that arches upwards, as points from left to right."""

    points: tuple[tuple[float, float], ...]

    def span(self, left: float, right: float) -> tuple[float, float] | None:
        """Least and greatest y between two horizontal positions; None outside the slur."""
        if right < self.points[0][0] or left > self.points[-1][0]:
            return None
        inside = [y for x, y in self.points if left <= x <= right]
        heights = [*inside, self._height(left), self._height(right)]
        return min(heights), max(heights)

    def _height(self, x: float) -> float:
        """The height at one place, that of the nearer end outside the slur."""
        for (x1, y1), (x2, y2) in pairwise(self.points):
            if x <= x2:
                share = max(0.0, (x - x1) / (x2 - x1)) if x2 > x1 else 0.0
                return y1 + share * (y2 - y1)
        return self.points[-1][1]


def clear_of_slurs(drawing: Drawing) -> Drawing:
    """Return the drawing with digits, words and corners above the slurs that ran through them.

    What stood above a moved digit moves up with it. Cost: digits times slurs.
    """
    arches = [arch for shape in drawing.shapes if (arch := arch_of(shape)) is not None]
    from_below = sorted(drawing.words, key=lambda words: -words.y)
    done: list[tuple[Words, Words]] = []
    for words in from_below:
        moved = words
        if words.classes & _MOVED:
            moved = _above_arches(words, arches)
        if not words.classes & _FIXED:
            moved = _above_words(words, moved, done)
        done.append((words, moved))
    new = {id(old): moved for old, moved in done}
    return replace(
        drawing,
        shapes=_corners_above(drawing.shapes, arches),
        words=tuple(new[id(words)] for words in drawing.words),
    )


def _corners_above(shapes: tuple[Shape, ...], arches: list[Arch]) -> tuple[Shape, ...]:
    """The corners of a bracket above differing notes, both lifted where a slur runs through one."""
    corners = [s for s in shapes if s.name == "polyline" and DIFFERENCE_CLASS in s.classes]
    lifted = list(shapes)
    for left, right in zip(corners[::2], corners[1::2], strict=False):
        rise = _rise(_around(left, right), arches, reach=_GAP)
        for corner in (left, right) if rise else ():
            moved = " ".join(f"{x:g},{y - rise:g}" for x, y in points(corner))
            attributes = {**dict(corner.attributes), "points": moved}
            lifted[shapes.index(corner)] = replace(corner, attributes=tuple(attributes.items()))
    return tuple(lifted)


def _around(left: Shape, right: Shape) -> Box:
    found = [*points(left), *points(right)]
    xs, ys = [x for x, _ in found], [y for _, y in found]
    return Box(min(xs), min(ys), max(xs), max(ys))


def _rise(box: Box, arches: Iterable[Arch], reach: float) -> float:
    """How far a box must rise to stand above every slur that runs through it.

    A box that is less than `reach` below a slur counts as run through.
    """
    rise = 0.0
    for arch in sorted(arches, key=lambda arch: -min(y for _, y in arch.points)):
        span = arch.span(box.left, box.right)
        if span is None or box.top - rise > span[1] + reach or box.bottom - rise <= span[0] - _GAP:
            continue
        rise = box.bottom - (span[0] - _GAP)
    return rise


def arch_of(shape: Shape) -> Arch | None:
    """Return the outer line of a slur that arches upwards, None for anything else."""
    if "slur" not in shape.classes or shape.name != "path" or shape.transform:
        return None
    outer = points(shape)[:4]
    if len(outer) < 4:
        return None
    xs, ys = [x for x, _ in outer], [y for _, y in outer]
    if (ys[1] + ys[2]) >= (ys[0] + ys[3]):
        return None
    steps = (step / _STEPS for step in range(_STEPS + 1))
    return Arch(tuple((_bezier(xs, t), _bezier(ys, t)) for t in steps))


def _bezier(values: list[float], t: float) -> float:
    a, b, c, d = values
    u = 1 - t
    return u**3 * a + 3 * u**2 * t * b + 3 * u * t**2 * c + t**3 * d


def _above_arches(words: Words, arches: Iterable[Arch]) -> Words:
    return replace(words, y=words.y - _rise(words_box(words), arches, _REACH))


def _above_words(words: Words, moved: Words, done: Iterable[tuple[Words, Words]]) -> Words:
    """Keep the order from below: what was above another line of words stays above it."""
    size = max(run.size for run in words.runs)
    for was, now in done:
        nothing_moved = now.y == was.y and moved.y == words.y
        if was.classes & _FIXED or (nothing_moved and not _is_long(words)):
            continue
        apart = was.y - words.y
        box, below = words_box(moved), words_box(now)
        if (apart <= _STACKED_FROM * size and not _is_long(words)) or box.beside(below):
            continue
        if apart < _STACKED_TO * size:
            moved = replace(moved, y=min(moved.y, now.y - apart))
            box = words_box(moved)
        with_air = replace(box, bottom=box.bottom + _GAP)
        if with_air.meets(below) and (apart >= _STACKED_TO * size or _is_long(words)):
            moved = replace(moved, y=moved.y - (box.bottom - below.top) - _GAP)
    return moved


def _is_long(words: Words) -> bool:
    """Whether these are words or a pair of string numbers, for which Verovio may lack room."""
    return sum(len(run.text) for run in words.runs) > _DIGIT_IN_BRACKETS
