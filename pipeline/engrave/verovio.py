"""Verovio at one edge: MEI in, one SVG for each system out, with everything Verovio complained of.

Verovio drops what it cannot place with a line on the process's standard error that its own log
does not hold, so that stream is caught at the file descriptor, and every xml:id that has to be
drawn is looked for in the SVG. `toolkit.select()` is never used: with ossias in the document it
ends the process.
"""

from __future__ import annotations

import os
import re
import tempfile
from collections.abc import Collection, Iterator
from contextlib import contextmanager
from dataclasses import asdict, dataclass
from functools import cache
from typing import IO, Any, Literal

from pipeline.engrave.number_attributes import without_broken_numbers

UNITS_PER_STAFF = 72
"""Height of a staff in Verovio's page units: eight times the MEI unit of 9."""

SVG_UNITS_PER_STAFF = 720
"""The same in the coordinates of the SVG inside `definition-scale`."""

ENDLESS_LINE = 100_000
"""The longest line that Verovio knows, in its page units: about 7 metres at a staff of 5 mm."""

_USUAL_PAGE_HEIGHT = 2970
"""Verovio's own, named because the toolkit keeps the height of the engraving before."""
_ONE_LINE_A_PAGE = 100
"""The lowest page that Verovio knows: no second line has room on it."""

_DRAWN_ID = re.compile(r'<\w+ id="([^"]+)"[^>]*(?<!/)>')
"""An element with something in it: what Verovio gives up on it leaves as an empty group."""
_COMPRESSED = "Justification is highly compressed"
_CRAMPED = re.compile(
    rf"^({_COMPRESSED}|System full width|Non-justifiable width|Drawing justifiable width)"
)
"""Verovio tells in four lines that music hardly fits into the line."""
_LOG_LEVEL = re.compile(r"^(\[\w+\]|\w+:)\s*")


@dataclass(frozen=True)
class Layout:
    """The line that music is set on. Widths in Verovio's page units (see `UNITS_PER_STAFF`).

    `breaks`: all in one line, a new line at each `pb` of the document, or where Verovio finds it
    best; each line is a page of its own.
    """

    line_width: int
    margin: int = 0
    staff_distance: int = 9
    spacing_linear: float = 0.28
    spacing_non_linear: float = 0.65
    justify_last_from: float = 0.7
    breaks: Literal["none", "encoded", "auto"] = "none"


@dataclass(frozen=True)
class EngravingFault:
    """What went wrong in engraving: a message of Verovio's, or an xml:id that it did not draw.

    `cramped` is its remark that a bar hardly fits into the line.
    """

    kind: Literal["refused", "complaint", "cramped", "not drawn"]
    detail: str


@dataclass(frozen=True)
class Engraving:
    """One SVG for each system, from the first to the last."""

    systems: tuple[str, ...]
    faults: tuple[EngravingFault, ...] = ()


def line_width(width_mm: float, staff_height_mm: float) -> int:
    """Return a width on paper in Verovio's page units, for a staff of that height."""
    return round(width_mm / staff_height_mm * UNITS_PER_STAFF)


def engrave(mei: str, layout: Layout, must_be_drawn: Collection[str] = ()) -> Engraving:
    """Engrave a small document, one system a page, cropped in height only: with its
    cropping in width Verovio would not fill the line.

    Nothing is raised for music that Verovio cannot read: the fault says so and no system is there.
    """
    toolkit = _toolkit()
    mei, broken = without_broken_numbers(mei)
    with _standard_error_caught() as caught:
        toolkit.setOptions(_options(layout))
        loaded = toolkit.loadData(mei)
        pages = toolkit.getPageCount() if loaded else 0
        systems = tuple(toolkit.renderToSVG(page) for page in range(1, pages + 1))
        complaints = _lines(caught)
    if not systems:
        why = "; ".join(complaints) or "Verovio made no page of it and did not say why"
        return Engraving((), (EngravingFault("refused", why),))
    complaints = [*(f"{one} is no number and is passed over" for one in broken), *complaints]
    faults = [EngravingFault("complaint", line) for line in complaints if not _CRAMPED.match(line)]
    faults.extend(EngravingFault("cramped", line) for line in complaints if _COMPRESSED in line)
    drawn = {found for svg in systems for found in _DRAWN_ID.findall(svg)}
    faults.extend(EngravingFault("not drawn", lost) for lost in sorted(set(must_be_drawn) - drawn))
    return Engraving(systems, tuple(faults))


def version() -> str:
    """Return Verovio's version as it names itself."""
    return str(_toolkit().getVersion())


@cache
def _toolkit() -> Any:
    """One toolkit for the whole run: making one reads the music fonts again."""
    import verovio  # late: check and --help never need it

    return verovio.toolkit()


def _options(layout: Layout) -> dict[str, object]:
    values = asdict(layout)
    height = {"pageHeight": _ONE_LINE_A_PAGE} if values["breaks"] == "auto" else {}
    margins = {f"pageMargin{side}": values["margin"] for side in ("Top", "Bottom", "Left", "Right")}
    return (
        margins
        | {"pageHeight": _USUAL_PAGE_HEIGHT}
        | height
        | {
            "pageWidth": values["line_width"],
            "spacingStaff": values["staff_distance"],
            "spacingLinear": values["spacing_linear"],
            "spacingNonLinear": values["spacing_non_linear"],
            "minLastJustification": values["justify_last_from"],
            "adjustPageHeight": True,
            "breaks": values["breaks"],
            "header": "none",
            "footer": "none",
            "mnumInterval": 0,
            "fingeringScale": 0.82,
            "defaultBottomMargin": 0.8,
            "smuflTextFont": "none",
            "svgFormatRaw": True,
            "xmlIdChecksum": True,
        }
    )


@contextmanager
def _standard_error_caught() -> Iterator[IO[bytes]]:
    """Send file descriptor 2 into a file for a while; Verovio writes there from C++."""
    with tempfile.TemporaryFile() as caught:
        kept = os.dup(2)
        try:
            os.dup2(caught.fileno(), 2)
            yield caught
        finally:
            os.dup2(kept, 2)
            os.close(kept)


def _lines(caught: IO[bytes]) -> list[str]:
    caught.seek(0)
    written = caught.read().decode("utf-8", errors="replace")
    return [_LOG_LEVEL.sub("", line) for line in written.splitlines() if line.strip()]
