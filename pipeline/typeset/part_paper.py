"""The paper of the part: its size, its margins, and what a printer needs around it.

A page has an inner and an outer margin, since a part is bound or folded: odd pages lie on the right
of an opening, even ones on the left.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from math import isfinite

_MM_PER_INCH = 25.4

SIZES_MM: Mapping[str, tuple[float, float]] = {
    "A4": (210.0, 297.0),
    "9x12in": (9 * _MM_PER_INCH, 12 * _MM_PER_INCH),
}
"""Sizes that have a name: ISO 216, and the inch size that orchestral parts are printed on."""

LEAST_MM, MOST_MM = 120.0, 1000.0
"""The shortest and the longest side of a page that anybody plays from (common practice, no
source)."""

STAFF_LEAST_MM, STAFF_MOST_MM = 4.0, 12.0
STAFF_MM = 6.5
"""Height of a staff: the usual one, and the smallest and largest that can be read at a stand and
still fill a line (common practice, no source)."""

MARKS_MM = 7.0
"""Room for crop marks outside the bleed."""

_SIZE = re.compile(r"(\d+(?:\.\d+)?)\s*[x×]\s*(\d+(?:\.\d+)?)\s*(mm|in)?", re.IGNORECASE)


@dataclass(frozen=True)
class Margins:
    """White on the four sides of a page, in millimetres; `inside` is towards the fold."""

    top: float = 16.0
    bottom: float = 12.0
    inside: float = 15.0
    outside: float = 13.0


@dataclass(frozen=True)
class Paper:
    """A page after trimming, in millimetres.

    With `crop_marks` the sheet is larger on all sides: by the bleed, into which nothing of ours
    reaches yet, and by the marks that show where to cut.
    """

    width_mm: float = 210.0
    height_mm: float = 297.0
    margins: Margins = Margins()
    crop_marks: bool = False
    bleed_mm: float = 3.0

    @property
    def line_width_mm(self) -> float:
        """The width of a line of music."""
        return self.width_mm - self.margins.inside - self.margins.outside

    @property
    def text_height_mm(self) -> float:
        """The height between the margins."""
        return self.height_mm - self.margins.top - self.margins.bottom

    @property
    def around_mm(self) -> float:
        """How far the sheet reaches beyond the trimmed page."""
        return self.bleed_mm + MARKS_MM if self.crop_marks else 0.0


A4 = Paper()


def read_paper(written: str, crop_marks: bool = False) -> Paper | str:
    """Return the paper that `A4`, `9x12in` or `WxHmm` names, or why there is none of that size."""
    named = {name.lower(): size for name, size in SIZES_MM.items()}
    if written.strip().lower() in named:
        width, height = named[written.strip().lower()]
        return Paper(width, height, crop_marks=crop_marks)
    found = _SIZE.fullmatch(written.strip())
    if found is None:
        return (
            f"`{written}` is no size of paper; write {', '.join(SIZES_MM)}, or width and height "
            "such as 230x310mm."
        )
    unit = _MM_PER_INCH if (found[3] or "mm").lower() == "in" else 1.0
    width, height = float(found[1]) * unit, float(found[2]) * unit
    if not all(isfinite(side) and LEAST_MM <= side <= MOST_MM for side in (width, height)):
        return (
            f"a page of {width:g} x {height:g} mm cannot be set; a side is {LEAST_MM:g} to "
            f"{MOST_MM:g} mm long."
        )
    return Paper(width, height, crop_marks=crop_marks)


def staff_refused(staff_mm: float) -> str | None:
    """Return why a staff of that height cannot be set, None where it can."""
    if isfinite(staff_mm) and STAFF_LEAST_MM <= staff_mm <= STAFF_MOST_MM:
        return None
    return (
        f"a staff of {staff_mm:g} mm cannot be set; from its lowest to its highest line it is "
        f"{STAFF_LEAST_MM:g} to {STAFF_MOST_MM:g} mm high, {STAFF_MM:g} mm as a rule."
    )
