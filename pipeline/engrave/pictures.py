"""Staves in, pictures for the page out: one SVG for each line of music."""

from __future__ import annotations

from functools import lru_cache

from pipeline.engrave.house_style import HouseStyle
from pipeline.engrave.svg_for_print import Svg, svg_for_print
from pipeline.engrave.systems import System, label_lines, must_be_drawn, system_document
from pipeline.engrave.verovio import (
    UNITS_PER_STAFF,
    Engraving,
    EngravingFault,
    Layout,
    engrave,
    line_width,
)

_LABEL_OVERHANG = 0.06
"""Staff heights that a character may be wider in the page's face than Verovio reckons."""
_WIDE_SPACING = (0.33, 0.68)
"""Linear and non-linear spacing where every note has a digit in brackets above it."""


def pictures(
    system: System, style: HouseStyle, width_mm: float, text: str, text_face: str
) -> tuple[tuple[Svg, ...], tuple[EngravingFault, ...]]:
    """Engrave staves that stand one above the other; a long place makes several lines.

    `text` describes the pictures for readers who cannot see them.
    """
    longest = max((len(line) for staff in system.staves for line in label_lines(staff)), default=0)
    overhang = round(longest * _LABEL_OVERHANG * UNITS_PER_STAFF)
    layout = Layout(line_width(width_mm, style.staff_height_mm) - overhang)
    if system.widely_spaced:
        linear, non_linear = _WIDE_SPACING
        layout = Layout(layout.line_width, spacing_linear=linear, spacing_non_linear=non_linear)
    engraving = _engraved(system_document(system), layout, must_be_drawn(system))
    made = tuple(
        svg_for_print(svg, style.staff_height_mm, text, text_face) for svg in engraving.systems
    )
    return made, engraving.faults


@lru_cache(maxsize=256)
def _engraved(document: str, layout: Layout, ids: frozenset[str]) -> Engraving:
    """Engrave each document once in a run, in however many languages the page is set."""
    return engrave(document, layout, ids)
