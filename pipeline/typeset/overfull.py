"""Laid-out pages in, lines that run out of the type area out.

WeasyPrint lets a line that cannot be broken run into the margin without a word. Only the boxes of
the pages are looked at; nothing is changed.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

_TOLERANCE_PX = 1.5
"""CSS pixels; a hanging hyphen or an italic's overhang is not an overfull line."""


@dataclass(frozen=True)
class OverfullLine:
    """A run of text or a picture that passes the margin: its page, and what it says."""

    page: int
    text: str


def overfull_lines(document: Any) -> Iterator[OverfullLine]:
    """Yield what passes the right margin of its page. `document` is a rendered WeasyPrint one."""
    from weasyprint.formatting_structure import boxes

    for number, page in enumerate(document.pages, start=1):
        page_box = page._page_box
        right = page_box.content_box_x() + page_box.width + _TOLERANCE_PX
        for box in _in_flow(page_box, boxes.MarginBox):
            if isinstance(box, boxes.TextBox):
                if box.position_x + box.width > right and box.text.strip():
                    yield OverfullLine(number, box.text.strip())
            elif isinstance(box, boxes.ReplacedBox) and box.content_box_x() + box.width > right:
                yield OverfullLine(number, str(box.element.get("alt") or ""))


def _in_flow(box: Any, left_out: type) -> Iterator[Any]:
    """Yield the boxes below a box; what is set into the page's margins on purpose is left out."""
    for child in getattr(box, "children", ()):
        inner = getattr(child, "_box", child)  # a placeholder of something positioned
        if not isinstance(inner, left_out):
            yield inner
            yield from _in_flow(inner, left_out)
