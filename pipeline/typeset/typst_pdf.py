"""Pages for Typst in, PDF out: the only module that touches `typst`.

For the part, which is lines of music one below the other and little text. Three ways were measured
(`make bench`, the same lines as SVG; CairoSVG in an earlier trial):

                ms a page   kB a page   text
    Typst              20    19 to 31   text; one subset of each face
    WeasyPrint      1,050   22 to 109   text; music signs as outlines, drawn anew each time
    CairoSVG          300           –   music signs among words turn into boxes

Verovio alone needs 40 ms for such a page. Prose of many pages (the commentary) stays with
WeasyPrint, whose HTML and CSS the other pages share, and whose pictures are few and small.

PDF/UA-1 (ISO 14289-1) by Typst's own exporter, which refuses what it cannot make accessible.
Nothing is read but the files given, nothing is fetched, and the time is fixed.
"""

from __future__ import annotations

import os
import re
import tempfile
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from itertools import pairwise
from pathlib import Path
from typing import TYPE_CHECKING, Any

from pipeline.problems import Origin, Outcome, error, warning
from pipeline.typeset.faces import Faces

if TYPE_CHECKING:
    import typst

MAIN = "main"
"""The file that Typst begins with, among those it is given."""

_CLOCK, _FIXED_TIME = "SOURCE_DATE_EPOCH", "1704067200"
_TRIMMED = re.compile(rb"(/TrimBox ?\[([-\d.]+) ([-\d.]+) ([-\d.]+) ([-\d.]+)\])")
_POINTS_IN_MM = 72 / 25.4


def typst_to_pdf(
    files: Mapping[str, bytes], faces: Faces, origin: Origin, bleed_mm: float = 0.0
) -> Outcome[bytes]:
    """Return the PDF/UA-1 of the document whose beginning is the file `main`.

    `bleed_mm` is how far the bleed box reaches beyond the trim box, where a page has one. What
    Typst complains of is a warning, what it refuses an error.
    """
    import typst

    with _fonts(faces) as fonts:
        try:
            made, complaints = typst.compile_with_warnings(
                _in_memory(files),
                format="pdf",
                font_paths=fonts,
                pdf_standards="ua-1",
                timestamp=int(os.environ.get(_CLOCK) or _FIXED_TIME),
            )
        except typst.TypstError as refused:
            return Outcome(
                None,
                (
                    error(
                        "typesetter-refuses",
                        origin,
                        f"the typesetter cannot set the page: {refused.message}",
                        "; ".join(refused.hints) or "look at the text or picture that it names",
                    ),
                ),
            )
    told = tuple(
        warning(
            "typesetter-complains",
            origin,
            f"the typesetter says: {complaint.message}",
            "; ".join(complaint.hints) or "look at the page; mend the text or style that it names",
        )
        for complaint in complaints
    )
    assert isinstance(made, bytes)
    return Outcome(with_bleed_box(made, bleed_mm) if bleed_mm else made, told)


def measured(files: Mapping[str, bytes], faces: Faces, label: str) -> object:
    """Return the value of the one `metadata` of that label in a document, as JSON has it.

    Raises RuntimeError where Typst refuses the document: a fault of the template.
    """
    import json

    import typst

    with _fonts(faces) as fonts:
        found = typst.query(
            _in_memory(files), f"<{label}>", field="value", one=True, font_paths=fonts
        )
    return json.loads(found)


def with_bleed_box(pdf: bytes, bleed_mm: float) -> bytes:
    """Return the PDF with a bleed box on each page that has a trim box (ISO 32000-1, 14.11.2).

    Typst writes the trim box alone. The table of positions at the end of the file (7.5.4) is
    brought up to date.
    """
    inserted: list[tuple[int, bytes]] = []
    for box in _TRIMMED.finditer(pdf):
        out = bleed_mm * _POINTS_IN_MM
        left, bottom, right, top = (float(number) for number in box.groups()[1:])
        corners = (left - out, bottom - out, right + out, top + out)
        written = " ".join(f"{corner:.4f}" for corner in corners)
        inserted.append((box.end(), f"/BleedBox[{written}]".encode()))
    body, marker, end = pdf.rpartition(b"\nxref")
    return _pieced(body, inserted) + marker + _moved(end, inserted, len(body))


def _pieced(body: bytes, inserted: list[tuple[int, bytes]]) -> bytes:
    cuts = [0, *(at for at, _ in inserted), len(body)]
    pieces = [body[start:stop] for start, stop in pairwise(cuts)]
    return b"".join(
        piece + added
        for piece, added in zip(pieces, [*(text for _, text in inserted), b""], strict=True)
    )


def _moved(end: bytes, inserted: list[tuple[int, bytes]], body: int) -> bytes:
    """Return the table and trailer with every position moved by what was inserted before it."""

    def now(position: int) -> int:
        return position + sum(len(text) for at, text in inserted if at <= position)

    def entry(found: re.Match[bytes]) -> bytes:
        return b"%010d %b" % (now(int(found[1])), found[2])

    table, start, rest = end.partition(b"startxref")
    moved = re.sub(rb"(\d{10}) (\d{5} n)", entry, table)
    return moved + start + rest.replace(b"%d" % (body + 1), b"%d" % (now(body) + 1), 1)


def _in_memory(files: Mapping[str, bytes]) -> Any:
    """Typst takes files by name as they are; its type hints know of paths only."""
    return dict(files)


@contextmanager
def _fonts(faces: Faces) -> Iterator[typst.Fonts]:
    """Give Typst the faces as files, which is the only way it takes them.

    Its own faces come in only where the text face is missing, so that there is some text at all.
    """
    import typst

    with tempfile.TemporaryDirectory() as folder:
        for name, data in faces.files.items():
            (Path(folder) / f"{name}.ttf").write_bytes(data)
        yield typst.Fonts(
            include_system_fonts=False,
            include_embedded_fonts=bool(faces.problems),
            font_paths=[folder],
        )
