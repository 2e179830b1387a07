"""Staves in, pictures for the page out: one SVG for each line of music.

Verovio engraves in one line first; where that is too long it is broken evenly and engraved again,
and where lifting digits above slurs needs more room between the staves, once more.
"""

from __future__ import annotations

from dataclasses import replace
from functools import lru_cache

from pipeline.engrave.clear_of_slurs import clear_of_slurs
from pipeline.engrave.drawing_extent import extent
from pipeline.engrave.house_style import HouseStyle
from pipeline.engrave.line_breaks import bar_widths, line_breaks
from pipeline.engrave.open_slurs import open_slurs_raised
from pipeline.engrave.room_above import staff_distance_needed
from pipeline.engrave.svg_for_print import Svg, svg_for_print
from pipeline.engrave.systems import System, label_lines, must_be_drawn, system_document
from pipeline.engrave.verovio import (
    ENDLESS_LINE,
    SVG_UNITS_PER_STAFF,
    UNITS_PER_STAFF,
    EngravingFault,
    Layout,
    engrave,
    line_width,
)
from pipeline.engrave.verovio_svg import Drawing, read_drawing

_LABEL_OVERHANG = 0.06
"""Staff heights that a character may be wider in the page's face than Verovio reckons."""
_WIDE_SPACING = (0.33, 0.68)
"""Linear and non-linear spacing where every note has a digit in brackets above it."""

Faults = tuple[EngravingFault, ...]


def pictures(
    system: System, style: HouseStyle, width_mm: float, text: str, text_face: str
) -> tuple[tuple[Svg, ...], Faults]:
    """Engrave staves that stand one above the other; a long place makes several lines.

    `text` describes the pictures for readers who cannot see them.
    """
    drawings, faults = _drawings(system, _line(system, style, width_mm))
    made = tuple(
        svg_for_print(drawing, style.staff_height_mm, text, text_face) for drawing in drawings
    )
    return made, faults


def _line(system: System, style: HouseStyle, width_mm: float) -> Layout:
    """The line for the music, less what a wider face may need for the labels."""
    longest = max((len(line) for staff in system.staves for line in label_lines(staff)), default=0)
    overhang = round(longest * _LABEL_OVERHANG * UNITS_PER_STAFF)
    layout = Layout(line_width(width_mm, style.staff_height_mm) - overhang)
    if system.widely_spaced:
        linear, non_linear = _WIDE_SPACING
        return replace(layout, spacing_linear=linear, spacing_non_linear=non_linear)
    return layout


def _drawings(system: System, layout: Layout) -> tuple[tuple[Drawing, ...], Faults]:
    """Engrave the system, again with more room between the staves where that is needed."""
    placed, faults = _broken_into_lines(system, layout)
    lifted = tuple(clear_of_slurs(drawing) for drawing in placed)
    distances = [
        distance
        for before, after in zip(placed, lifted, strict=True)
        if (distance := staff_distance_needed(before, after)) is not None
    ]
    if not distances:
        return lifted, faults
    placed, faults = _broken_into_lines(system, replace(layout, staff_distance=max(distances)))
    return tuple(clear_of_slurs(drawing) for drawing in placed), faults


def _broken_into_lines(system: System, layout: Layout) -> tuple[tuple[Drawing, ...], Faults]:
    ids = must_be_drawn(system)
    endless = replace(layout, line_width=ENDLESS_LINE)
    svgs, drawings, faults = _engraved(system_document(system), endless, ids)
    width = layout.line_width * SVG_UNITS_PER_STAFF / UNITS_PER_STAFF
    if len(drawings) != 1 or extent(drawings[0])[2] <= width:
        return drawings, faults
    starts = line_breaks(bar_widths(svgs[0]), width)
    broken = replace(layout, breaks="encoded" if starts else "none")
    _, drawings, faults = _engraved(system_document(system, starts), broken, ids)
    return drawings, faults


@lru_cache(maxsize=256)
def _engraved(
    document: str, layout: Layout, ids: frozenset[str]
) -> tuple[tuple[str, ...], tuple[Drawing, ...], Faults]:
    """Engrave each document once in a run, in however many languages the page is set."""
    engraving = engrave(document, layout, ids)
    drawings = tuple(open_slurs_raised(read_drawing(svg)) for svg in engraving.systems)
    return engraving.systems, drawings, engraving.faults
