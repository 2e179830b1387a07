"""Planned pages in, pages with the place of every line, heading and footnote out."""

from __future__ import annotations

from collections.abc import Sequence

from pipeline.engrave.part_model import PartLine, PartMovement
from pipeline.typeset.part_plan import TURN_SECONDS, PlannedPage, Planner
from pipeline.typeset.part_view import PageItem, PageView
from pipeline.typeset.part_words import PartWords

_TITLE_ALONE = 0.22
"""How far down the page the title stands where there is no music below it."""


def page_views(
    planner: Planner,
    pages: Sequence[PlannedPage],
    lines: Sequence[tuple[PartMovement, PartLine]],
    words: PartWords,
    title_mm: float,
) -> tuple[PageView, ...]:
    """Return the pages; `title_mm` is the height of the title, below which the first one begins."""
    return tuple(_page_view(planner, page, lines, words, title_mm) for page in pages)


def _page_view(
    planner: Planner,
    page: PlannedPage,
    lines: Sequence[tuple[PartMovement, PartLine]],
    words: PartWords,
    title_mm: float,
) -> PageView:
    first = page.number == 1
    items: list[PageItem] = []
    y = title_mm if first else 0.0
    for index in range(page.start, page.end):
        movement, line = lines[index]
        planned = planner.lines[index]
        if planned.above_mm:
            items.append(PageItem(y, heading=str(movement.n)))
            y += planned.above_mm
        told = words.description(movement.n, line)
        items.append(PageItem(y, picture=f"line-{index}.svg", alt=told, width_mm=line.width_mm))
        y += line.height_mm + page.distance_mm
    room = planner.room
    below = room.first_mm + title_mm if first else room.page_mm
    hasty = page.is_turned and page.rest_seconds < TURN_SECONDS and page.end < len(lines)
    return PageView(
        items=tuple(items),
        notes=page.notes,
        notes_mm=below - planner.notes_mm(page.notes),
        quick_turn=hasty and bool(items),
        title_mm=0.0 if items else room.page_mm * _TITLE_ALONE,
    )
