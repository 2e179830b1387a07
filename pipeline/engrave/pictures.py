"""Staves in, pictures for the page out: one SVG for each line of music."""

from __future__ import annotations

from dataclasses import replace
from functools import lru_cache

from pipeline.engrave.drawing_extent import extent
from pipeline.engrave.house_style import HouseStyle
from pipeline.engrave.line_breaks import bar_widths, line_breaks
from pipeline.engrave.svg_for_print import Svg, svg_for_print
from pipeline.engrave.systems import System, label_lines, must_be_drawn, system_document
from pipeline.engrave.verovio import (
    ENDLESS_LINE,
    SVG_UNITS_PER_STAFF,
    UNITS_PER_STAFF,
    Engraving,
    EngravingFault,
    Layout,
    engrave,
    line_width,
)
from pipeline.engrave.verovio_svg import read_drawing

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
    engraving = _engraved(system, _line(system, style, width_mm))
    made = tuple(
        svg_for_print(svg, style.staff_height_mm, text, text_face) for svg in engraving.systems
    )
    return made, engraving.faults


def _line(system: System, style: HouseStyle, width_mm: float) -> Layout:
    """The line for the music, less what a wider face may need for the labels."""
    longest = max((len(line) for staff in system.staves for line in label_lines(staff)), default=0)
    overhang = round(longest * _LABEL_OVERHANG * UNITS_PER_STAFF)
    layout = Layout(line_width(width_mm, style.staff_height_mm) - overhang)
    if system.widely_spaced:
        linear, non_linear = _WIDE_SPACING
        return replace(layout, spacing_linear=linear, spacing_non_linear=non_linear)
    return layout


def _engraved(system: System, layout: Layout) -> Engraving:
    """Engrave in one line; where that is longer than the line given, break it evenly."""
    ids = must_be_drawn(system)
    endless = replace(layout, line_width=ENDLESS_LINE)
    one_line = _once(system_document(system), endless, ids)
    if len(one_line.systems) != 1:
        return one_line
    svg = one_line.systems[0]
    width = layout.line_width * SVG_UNITS_PER_STAFF / UNITS_PER_STAFF
    if extent(read_drawing(svg))[2] <= width:
        return one_line
    starts = line_breaks(bar_widths(svg), width)
    return _once(system_document(system, starts), replace(layout, breaks="encoded"), ids)


@lru_cache(maxsize=256)
def _once(document: str, layout: Layout, ids: frozenset[str]) -> Engraving:
    """Engrave each document once in a run, in however many languages the page is set."""
    return engrave(document, layout, ids)
