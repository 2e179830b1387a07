"""The relation of the sources as a drawing: who was copied from whom, oldest on top.

A source stands one row below the lowest source it was copied from; within a row, sources stand
near what they were copied from (barycentre heuristic: Sugiyama, Tagawa and Toda, "Methods for
Visual Understanding of Hierarchical System Structures", 1981). Linear in sources and copies.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from markupsafe import Markup

from pipeline.edition.head import Witness
from pipeline.engrave.svg_for_print import Svg
from pipeline.typeset.faces import TEXT_FAMILIES

_ROW_MM = 24.0
_COLUMN_MM = 34.0
_NODE_HALF_HEIGHT_MM = 6.2
_NODE_HALF_WIDTH_MM = 6.2
_MARGIN_MM = 3.0
_CAPTION_MM = 4.0
_ARROW_MM = 2.2


@dataclass(frozen=True)
class _Node:
    siglum: str
    caption: str
    principal: bool
    x: float
    y: float


def stemma(witnesses: Mapping[str, Witness], description: str) -> Svg | None:
    """Return the drawing, or None where no source was copied from another."""
    models = {
        siglum: tuple(m for m in witness.copied_from if m in witnesses)
        for siglum, witness in witnesses.items()
    }
    if not any(models.values()):
        return None
    nodes = _placed(witnesses, models)
    width = max(node.x for node in nodes.values()) + _COLUMN_MM / 2 + _MARGIN_MM
    height = max(node.y for node in nodes.values()) + _NODE_HALF_HEIGHT_MM + _CAPTION_MM * 1.5
    arrows = [
        _arrow(nodes[model], nodes[copy]) for copy, from_ in models.items() for model in from_
    ]
    drawn = Markup("").join([*arrows, *(_drawn(node) for node in nodes.values())])
    markup = Markup(
        '<svg xmlns="http://www.w3.org/2000/svg" width="{w}mm" height="{h}mm" '
        'viewBox="0 0 {w} {h}"><g font-family="{face}" text-anchor="middle">{drawn}</g></svg>'
    ).format(w=_mm(width), h=_mm(height), face=TEXT_FAMILIES, drawn=drawn)
    return Svg(str(markup), width, height, description)


def rows(models: Mapping[str, tuple[str, ...]]) -> dict[str, int]:
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


def _placed(
    witnesses: Mapping[str, Witness], models: Mapping[str, tuple[str, ...]]
) -> dict[str, _Node]:
    row_of = rows(models)
    depth = max(row_of.values()) + 1
    in_row = [[s for s in witnesses if row_of[s] == row] for row in range(depth)]
    widest = max(len(row) for row in in_row)
    x: dict[str, float] = {}
    for row in in_row:
        order = {s: (_mean(x, models[s], default=i), i) for i, s in enumerate(row)}
        row.sort(key=lambda s: order[s])
        left = _MARGIN_MM + _COLUMN_MM / 2 + (widest - len(row)) * _COLUMN_MM / 2
        x |= {s: left + i * _COLUMN_MM for i, s in enumerate(row)}
    return {
        s: _Node(
            s,
            witness.date,
            witness.principal,
            x[s],
            _MARGIN_MM + _NODE_HALF_HEIGHT_MM + row_of[s] * _ROW_MM,
        )
        for s, witness in witnesses.items()
    }


def _mean(x: Mapping[str, float], above: tuple[str, ...], default: float) -> float:
    known = [x[s] for s in above if s in x]
    return sum(known) / len(known) if known else default


def _drawn(node: _Node) -> Markup:
    frame = (
        Markup(
            '<circle cx="{x}" cy="{y}" r="{r}" fill="none" stroke="#000" stroke-width=".25"/>'
        ).format(x=_mm(node.x), y=_mm(node.y), r=_mm(_NODE_HALF_HEIGHT_MM - 1))
        if node.principal
        else Markup("")
    )
    siglum = Markup('<text x="{x}" y="{y}" font-size="5.4" font-weight="600">{s}</text>').format(
        x=_mm(node.x), y=_mm(node.y + 1.75), s=node.siglum
    )
    caption = (
        Markup('<text x="{x}" y="{y}" font-size="3.2">{c}</text>').format(
            x=_mm(node.x), y=_mm(node.y + _NODE_HALF_HEIGHT_MM + 2.6), c=node.caption
        )
        if node.caption
        else Markup("")
    )
    return frame + siglum + caption


def _arrow(model: _Node, copy: _Node) -> Markup:
    """Draw a straight arrow from below the model's caption to above the copy."""
    x1, y1 = model.x, model.y + _NODE_HALF_HEIGHT_MM + (4.2 if model.caption else 0)
    x2, y2 = copy.x, copy.y - _NODE_HALF_HEIGHT_MM
    length = max(((x2 - x1) ** 2 + (y2 - y1) ** 2) ** 0.5, 0.001)
    ux, uy = (x2 - x1) / length, (y2 - y1) / length
    base_x, base_y = x2 - ux * _ARROW_MM, y2 - uy * _ARROW_MM
    half = _ARROW_MM / 3.2
    points = (
        (x2, y2),
        (base_x - uy * half, base_y + ux * half),
        (base_x + uy * half, base_y - ux * half),
    )
    return Markup(
        '<path d="M{x1} {y1}L{bx} {by}" stroke="#000" stroke-width=".25" fill="none"/>'
        '<path d="M{head}Z" fill="#000"/>'
    ).format(
        x1=_mm(x1),
        y1=_mm(y1),
        bx=_mm(base_x),
        by=_mm(base_y),
        head="L".join(f"{_mm(x)} {_mm(y)}" for x, y in points),
    )


def _mm(value: float) -> str:
    return f"{value:.2f}"
