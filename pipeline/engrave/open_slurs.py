"""Slurs that are cut at the edge of an excerpt look as if they went on: a drawing in and out.

Verovio begins a slur without a first note at the height of the staff, which over high notes becomes
an arch like a horseshoe. The open end is raised towards the height at which the slur passes.
"""

from __future__ import annotations

import re
from dataclasses import replace

from pipeline.engrave.open_ends import OPEN_LEFT, OPEN_RIGHT
from pipeline.engrave.verovio_svg import Drawing, Shape

_RAISED = 0.7
"""How far an open end is raised towards its control point."""
_POINT = re.compile(r"(-?\d+(?:\.\d+)?),(-?\d+(?:\.\d+)?)")
_CURVE = re.compile(r"^M\S+ C\S+ \S+ \S+( C\S+ \S+ \S+)?$")

Points = list[tuple[float, float]]


def open_slurs_raised(drawing: Drawing) -> Drawing:
    """Return the drawing with the open ends of slurs raised."""
    return replace(drawing, shapes=tuple(_raised(shape) for shape in drawing.shapes))


def _raised(shape: Shape) -> Shape:
    if not shape.classes & {OPEN_LEFT, OPEN_RIGHT} or shape.name != "path":
        return shape
    attributes = dict(shape.attributes)
    if not _CURVE.match(attributes.get("d", "")):
        return shape
    points = [(float(x), float(y)) for x, y in _POINT.findall(attributes["d"])]
    if OPEN_LEFT in shape.classes:
        points = _moved(points, end=0, controls=(1, 5))
    if OPEN_RIGHT in shape.classes:
        points = _moved(points, end=3, controls=(2, 4))
    attributes["d"] = _path(points)
    return replace(shape, attributes=tuple(attributes.items()))


def _moved(points: Points, end: int, controls: tuple[int, int]) -> Points:
    """Raise one end and lower the control points beside it, so that the middle stays where it was.

    In the middle of a cubic curve a control point weighs three times what an end weighs. A slur
    drawn as an area has a second curve, which comes back to the first point.
    """
    rise = _RAISED * (points[controls[0]][1] - points[end][1])
    moved = list(points)
    for number, (x, y) in enumerate(points):
        if (x, y) == points[end]:
            moved[number] = (x, y + rise)
        elif number in controls:
            moved[number] = (x, y - rise / 3)
    return moved


def _path(points: Points) -> str:
    written = [f"{x:g},{y:g}" for x, y in points]
    curves = (" ".join(written[n : n + 3]) for n in range(1, len(written), 3))
    return f"M{written[0]} " + " ".join(f"C{curve}" for curve in curves)
