"""The relation of the sources as a drawing: who was copied from whom, oldest on top.

A source stands one row below the lowest source it was copied from, and under the first one named;
a copy that passes over rows is led past what stands there (layered drawing after Sugiyama, Tagawa
and Toda, "Methods for Visual Understanding of Hierarchical System Structures", 1981). Where nobody
has two models it is a tree (`tidy_tree`). Linear in sources and copies times rows.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise

from markupsafe import Markup

from pipeline.edition.head import Witness
from pipeline.engrave.svg_for_print import Svg
from pipeline.typeset.faces import TEXT_FAMILIES
from pipeline.typeset.tidy_tree import tidy

_ROW_MM = 15.0
_LEAST_COLUMN_MM = 34.0
_CAPTION_MM = 7.0
_LETTER_MM = 1.5
_LANE_MM = 9.0
_RADIUS_MM = 4.4
_MARGIN_MM = 1.0
_ARROW_MM = 2.0
_UNDER_WORD_MM = 2.0
_LABEL_MM = 3.0
LABEL_AT = 0.55
"""How far down a line its figures stand."""

_DASHES = ' stroke-dasharray="1.2 .9"'

Models = Mapping[str, tuple[str, ...]]


@dataclass(frozen=True)
class Place:
    """What stands at a place of the drawing: a siglum, with its date at its right.

    `framed` draws a circle around it; `bold` is for sources that exist, not for lost ones, `small`
    for a word.
    """

    name: str
    date: str = ""
    framed: bool = False
    bold: bool = True
    small: bool = False


@dataclass(frozen=True)
class Line:
    """How the line from a model to its copy is drawn: figures on it, and whether it is dashed."""

    label: str = ""
    dashed: bool = False


@dataclass(frozen=True)
class _Spot:
    """Where a source stands, or where the line of a copy passes a row: `siglum` is then empty."""

    key: str
    siglum: str
    above: tuple[str, ...]


@dataclass(frozen=True)
class _Point:
    x: float
    y: float


def stemma(
    witnesses: Mapping[str, Witness], description: str, height_mm: float = 0.0
) -> Svg | None:
    """Return the drawing, or None where no source was copied from another."""
    models = {
        siglum: tuple(m for m in witness.copied_from if m in witnesses)
        for siglum, witness in witnesses.items()
    }
    if not any(models.values()):
        return None
    places = {s: Place(s, w.date, w.principal) for s, w in witnesses.items()}
    return draw(places, models, {}, description, _LEAST_COLUMN_MM, height_mm)


def draw(
    places: Mapping[str, Place],
    models: Models,
    lines: Mapping[tuple[str, str], Line],
    description: str,
    column_mm: float,
    height_mm: float = 0.0,
) -> Svg:
    """Draw places by key, each with a line from each of its models.

    `lines` are by model and copy where they are not plain; figures on them take more height. The
    drawing is stretched to `height_mm` where it would be lower.
    """
    row_of = rows(models)
    dates = max(len(place.date) for place in places.values())
    column = max(column_mm, _CAPTION_MM + _LETTER_MM * dates) if dates else column_mm
    edges = 2 * (_RADIUS_MM + _MARGIN_MM)
    least = _ROW_MM + (_LABEL_MM if any(line.label for line in lines.values()) else 0)
    row_mm = max(least, (height_mm - edges) / max(1, *row_of.values()))
    tree = all(len(from_) < 2 and _above(from_, key, row_of) for key, from_ in models.items())
    x = tidy(models, column) if tree else _layered(_spots(models, row_of), column)
    points = _placed(x, row_of, row_mm, places)
    width = max(
        point.x + (_reach(places[key]) + _MARGIN_MM if not dates else column)
        for key, point in points.items()
        if key in places
    )
    height = max(height_mm, max(point.y for point in points.values()) + edges / 2)
    ways = {
        (model, copy): [_foot(places[model], points[model])]
        + [points[key] for key in _way(model, copy, row_of)[1:]]
        for copy, from_ in models.items()
        for model in from_
        if _above([model], copy, row_of)
    }
    drawn = [_line(way, lines.get(ends, Line())) for ends, way in ways.items()]
    drawn += [_label(lines[ends].label, way) for ends, way in ways.items() if ends in lines]
    drawn += [_node(place, points[key]) for key, place in places.items()]
    markup = Markup(
        '<svg xmlns="http://www.w3.org/2000/svg" width="{w}mm" height="{h}mm" '
        'viewBox="0 0 {w} {h}"><g font-family="{face}">{drawn}</g></svg>'
    ).format(w=_mm(width), h=_mm(height), face=TEXT_FAMILIES, drawn=Markup("").join(drawn))
    return Svg(str(markup), width, height, description)


def _above(from_: Sequence[str], copy: str, row_of: Mapping[str, int]) -> bool:
    """Return whether all models stand above their copy: not so where a circle was cut."""
    return all(row_of[model] < row_of[copy] for model in from_)


def rows(models: Models) -> dict[str, int]:
    """Return the row of each source, 0 on top. A circle (told by the check) is cut where met."""
    found: dict[str, int] = {}

    def row(siglum: str, above: tuple[str, ...]) -> int:
        if siglum not in found:
            from_ = [m for m in models[siglum] if m not in above]
            found[siglum] = max((row(m, (*above, siglum)) + 1 for m in from_), default=0)
        return found[siglum]

    for siglum in models:
        row(siglum, (siglum,))
    return found


def _way(model: str, copy: str, row_of: Mapping[str, int]) -> list[str]:
    """Return the keys of the spots that the line from a model to its copy runs through."""
    passed = range(row_of[model] + 1, row_of[copy])
    return [model, *(f"{model}>{copy}@{row}" for row in passed), copy]


def _spots(models: Models, row_of: Mapping[str, int]) -> list[list[_Spot]]:
    """Return what each row holds: its sources, then the lines that pass it."""
    sources: list[list[_Spot]] = [[] for _ in range(max(row_of.values()) + 1)]
    passing: list[list[_Spot]] = [[] for _ in sources]
    for copy, from_ in models.items():
        ways = [_way(model, copy, row_of) for model in from_ if row_of[model] < row_of[copy]]
        sources[row_of[copy]].append(_Spot(copy, copy, tuple(way[-2] for way in ways)))
        for way in ways:
            for before, key in pairwise(way[:-1]):
                passing[int(key.rpartition("@")[2])].append(_Spot(key, "", (before,)))
    return [here + lanes for here, lanes in zip(sources, passing, strict=True)]


def _foot(place: Place, at: _Point) -> _Point:
    """Return where the lines to copies come from: below a word, which is wide."""
    return _Point(at.x, at.y + _UNDER_WORD_MM) if place.small else at


def _reach(place: Place) -> float:
    """Return how far a name reaches from the middle of its place, or the circle around it."""
    return max(_RADIUS_MM, len(place.name) * (0.9 if place.small else 1.6))


def _placed(
    x: Mapping[str, float],
    row_of: Mapping[str, int],
    row_mm: float,
    places: Mapping[str, Place],
) -> dict[str, _Point]:
    """Return the point of each spot; what passes a row has the row at the end of its key."""
    left = _MARGIN_MM - min(
        at - (_reach(places[key]) if key in places else _RADIUS_MM) for key, at in x.items()
    )
    top = _MARGIN_MM + _RADIUS_MM
    return {
        key: _Point(
            at + left,
            top + row_mm * (row_of[key] if key in row_of else int(key.rpartition("@")[2])),
        )
        for key, at in x.items()
    }


def _layered(spots: Sequence[Sequence[_Spot]], column_mm: float) -> dict[str, float]:
    """Return where each spot stands from the left."""
    x: dict[str, float] = {}
    for row in spots:
        wanted = _wanted(row, x, column_mm)
        reach: float | None = None
        for spot in sorted(row, key=lambda spot: wanted[spot.key]):
            least = wanted[spot.key] if reach is None else max(wanted[spot.key], reach)
            x[spot.key] = least
            reach = least + (column_mm if spot.siglum else _LANE_MM)
    return x


def _wanted(row: Sequence[_Spot], x: Mapping[str, float], column_mm: float) -> dict[str, float]:
    """Return where each spot would stand: sources spread evenly below the model they share.

    Lines pass at the left of sources, whose dates stand at their right.
    """
    siblings: dict[str, list[_Spot]] = {}
    for spot in row:
        siblings.setdefault(spot.above[0] if spot.above else "", []).append(spot)
    wanted: dict[str, float] = {}
    for above, group in siblings.items():
        middle = x.get(above, 0.0)
        sources = [spot for spot in group if spot.siglum]
        for number, spot in enumerate(sources):
            wanted[spot.key] = middle + (number - (len(sources) - 1) / 2) * column_mm
        for spot in group:
            if not spot.siglum:
                wanted[spot.key] = middle - (_LANE_MM if "@" not in above else 0)
    return wanted


def _node(place: Place, at: _Point) -> Markup:
    size, weight = "3.6" if place.small else "5", "600" if place.bold else "400"
    drawn = Markup(
        '<text x="{x}" y="{y}" font-size="{size}" font-weight="{weight}" '
        'text-anchor="middle">{name}</text>'
    ).format(x=_mm(at.x), y=_mm(at.y + 1.6), size=size, weight=weight, name=place.name)
    if place.framed:
        drawn += Markup(
            '<circle cx="{x}" cy="{y}" r="{r}" fill="none" stroke="#000" stroke-width=".25"/>'
        ).format(x=_mm(at.x), y=_mm(at.y), r=_mm(_RADIUS_MM - 0.4))
    if place.date:
        drawn += Markup('<text x="{x}" y="{y}" font-size="3.1">{date}</text>').format(
            x=_mm(at.x + _reach(place) + 1), y=_mm(at.y + 1.1), date=place.date
        )
    return drawn


def _line(way: Sequence[_Point], line: Line) -> Markup:
    """Draw a line through points, from below the first to an arrow head above the last."""
    first, last = _towards(way[0], way[1], _RADIUS_MM), _towards(way[-1], way[-2], _RADIUS_MM)
    neck = _towards(last, way[-2] if len(way) > 2 else first, _ARROW_MM)
    half_x, half_y = (neck.y - last.y) / 3.4, (last.x - neck.x) / 3.4
    path = "L".join(_at(point) for point in (first, *way[1:-1], neck))
    head = "L".join(
        _at(point)
        for point in (
            last,
            _Point(neck.x + half_x, neck.y + half_y),
            _Point(neck.x - half_x, neck.y - half_y),
        )
    )
    dashes = Markup(_DASHES) if line.dashed else ""
    return Markup(
        '<path d="M{path}" stroke="#000" stroke-width=".25" stroke-linejoin="round" fill="none"'
        '{dashes}/><path d="M{head}Z" fill="#000"/>'
    ).format(path=path, head=head, dashes=dashes)


def label_mm(label: str) -> float:
    """Return how wide figures on a line are, with a little room around them."""
    return 1.0 + sum(0.5 if sign == "\u2009" else 1.45 for sign in label)


def _label(label: str, way: Sequence[_Point]) -> Markup:
    """Write figures on a line, which is broken off around them.

    They stand below its middle, where lines from one model are further apart.
    """
    start, end = _towards(way[-2], way[-1], _RADIUS_MM), _towards(way[-1], way[-2], _RADIUS_MM)
    at = _Point(
        start.x + LABEL_AT * (end.x - start.x), start.y + LABEL_AT * (end.y - start.y) - 1.0
    )
    width = label_mm(label)
    return Markup(
        '<rect x="{x}" y="{y}" width="{w}" height="{h}" fill="#fff"/>'
        '<text x="{middle}" y="{base}" font-size="{size}" text-anchor="middle">{label}</text>'
    ).format(
        x=_mm(at.x - width / 2),
        y=_mm(at.y - _LABEL_MM / 2),
        w=_mm(width),
        h=_mm(_LABEL_MM),
        middle=_mm(at.x),
        base=_mm(at.y + 1.0),
        size=_mm(_LABEL_MM),
        label=label,
    )


def _towards(start: _Point, end: _Point, distance: float) -> _Point:
    length = ((end.x - start.x) ** 2 + (end.y - start.y) ** 2) ** 0.5 or 1.0
    share = distance / length
    return _Point(start.x + (end.x - start.x) * share, start.y + (end.y - start.y) * share)


def _at(point: _Point) -> str:
    return f"{_mm(point.x)} {_mm(point.y)}"


def _mm(value: float) -> str:
    return f"{value:.2f}"
