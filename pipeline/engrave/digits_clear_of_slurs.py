"""Digits and words that Verovio lets a slur run through are moved above it; a drawing in and out.

Verovio places a digit under a flat slur although there is no room for it. Common practice, no
source: fingerings stand outside the slur where they do not fit under it.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass, replace
from itertools import pairwise

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
_NUMBER = re.compile(r"-?\d+(?:\.\d+)?")
_ASCENT, _DESCENT, _CHARACTER = 0.68, 0.18, 0.42
"""Height above and below the line and mean width of digits and brackets, as parts of their size."""


@dataclass(frozen=True)
class _Arch:
    """The outer line of a slur that arches upwards, as points from left to right."""

    points: tuple[tuple[float, float], ...]

    def top(self, left: float, right: float) -> float | None:
        """The highest point (least y) between two horizontal positions; None outside the slur."""
        if right < self.points[0][0] or left > self.points[-1][0]:
            return None
        inside = [y for x, y in self.points if left <= x <= right]
        return min([*inside, self._height(left), self._height(right)])

    def _height(self, x: float) -> float:
        """The height at one place, that of the nearer end outside the slur."""
        for (x1, y1), (x2, y2) in pairwise(self.points):
            if x <= x2:
                share = max(0.0, (x - x1) / (x2 - x1)) if x2 > x1 else 0.0
                return y1 + share * (y2 - y1)
        return self.points[-1][1]


@dataclass(frozen=True)
class _Box:
    left: float
    top: float
    right: float
    bottom: float

    def beside(self, other: _Box) -> bool:
        """Whether the two are apart from left to right."""
        return self.right < other.left or other.right < self.left


def digits_clear_of_slurs(drawing: Drawing) -> Drawing:
    """Return the drawing with digits and words above the slurs that ran through them.

    What stood above a moved digit moves up with it. Cost: digits times slurs.
    """
    arches = [arch for shape in drawing.shapes if (arch := _arch(shape)) is not None]
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
    return replace(drawing, words=tuple(new[id(words)] for words in drawing.words))


def _arch(shape: Shape) -> _Arch | None:
    if "slur" not in shape.classes or shape.name != "path" or shape.transform:
        return None
    path = dict(shape.attributes).get("d", "")
    numbers = [float(number) for number in _NUMBER.findall(path)[:8]]
    if len(numbers) < 8:
        return None
    xs, ys = numbers[::2], numbers[1::2]
    if (ys[1] + ys[2]) >= (ys[0] + ys[3]):
        return None
    steps = (step / _STEPS for step in range(_STEPS + 1))
    return _Arch(tuple((_bezier(xs, t), _bezier(ys, t)) for t in steps))


def _bezier(values: list[float], t: float) -> float:
    a, b, c, d = values
    u = 1 - t
    return u**3 * a + 3 * u**2 * t * b + 3 * u * t**2 * c + t**3 * d


def _above_arches(words: Words, arches: Iterable[_Arch]) -> Words:
    for arch in sorted(arches, key=lambda arch: -min(y for _, y in arch.points)):
        box = _box(words)
        top = arch.top(box.left, box.right)
        if top is None or box.top > top + _REACH or box.bottom <= top - _GAP:
            continue
        words = replace(words, y=words.y - (box.bottom - (top - _GAP)))
    return words


def _above_words(words: Words, moved: Words, done: Iterable[tuple[Words, Words]]) -> Words:
    """Keep the order from below: what was above another line of words stays above it."""
    size = max(run.size for run in words.runs)
    for was, now in done:
        nothing_moved = now.y == was.y and moved.y == words.y
        if was.classes & _FIXED or (nothing_moved and not _is_long(words)):
            continue
        apart = was.y - words.y
        if (apart <= _STACKED_FROM * size and not _is_long(words)) or _box(moved).beside(_box(now)):
            continue
        if apart < _STACKED_TO * size:
            moved = replace(moved, y=min(moved.y, now.y - apart))
        elif _box(now).top < _box(moved).bottom and _box(moved).top < _box(now).bottom:
            moved = replace(moved, y=moved.y - (_box(moved).bottom - _box(now).top))
    return moved


def _is_long(words: Words) -> bool:
    """Whether these are words or a pair of string numbers, for which Verovio may lack room."""
    return sum(len(run.text) for run in words.runs) > _DIGIT_IN_BRACKETS


def _box(words: Words) -> _Box:
    size = max(run.size for run in words.runs)
    width = sum(len(run.text) * run.size * _CHARACTER for run in words.runs)
    left = {"end": words.x - width, "middle": words.x - width / 2}.get(words.anchor, words.x)
    return _Box(left, words.y - _ASCENT * size, left + width, words.y + _DESCENT * size)
