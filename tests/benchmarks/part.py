"""What the part costs beside Verovio alone, and what other ways to PDF would cost.

Processor time in this process: everything from the layered MEI to the finished PDF, held against
Verovio engraving the same documents and doing nothing else. The long part is the first violin of a
whole quartet with the key of a remark in every other bar.
"""

from __future__ import annotations

import io
import shutil
import tempfile
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any, TypeVar

import pypdf
import verovio

from pipeline import build_part
from pipeline.build import examine
from pipeline.checks.material import Material
from pipeline.engrave import part as engraving
from pipeline.engrave.house_style import read_house_style
from pipeline.engrave.legend import samples
from pipeline.engrave.part_model import EngravedPart
from pipeline.engrave.verovio import _options
from pipeline.layers.write import write_layers
from pipeline.problems import Origin
from pipeline.score.read import read_passage
from pipeline.typeset.example_labels import legend_words
from pipeline.typeset.faces import faces
from pipeline.typeset.part import PART_FAMILIES, part_pdf
from pipeline.typeset.part_paper import A4
from pipeline.typeset.part_wishes import PartWishes
from pipeline.typeset.pdf import html_to_pdf
from pipeline.typeset.remarks import remark_numbers
from tests.corpus import corpus_file

T = TypeVar("T")

QUARTET = tuple(f"beethoven/opus59no2/movement{n}.mxl" for n in (1, 2, 3, 4))
RUNS = 3


def part(edition: Path) -> None:
    """Print the cost for the example edition and for a part of more than twenty pages."""
    print("The part (processor time; Verovio and lines the quickest of three runs)")
    import typst  # noqa: F401 - imported before anything is measured
    import weasyprint  # noqa: F401

    begun = time.process_time()
    faces()
    print(f"  once: the faces are cut in {1000 * (time.process_time() - begun):.0f} ms")
    with tempfile.TemporaryDirectory() as folder:
        write_quartet(Path(folder))
        for name, source in ((edition.name, edition), ("a whole quartet", Path(folder))):
            material = examine(source).value
            assert material is not None, f"{name} has errors"
            _print_cost(name, material)


def _print_cost(name: str, material: Material) -> None:
    mei = write_layers(material.edition, material.score, material.decisions, material.collations)
    asked: list[tuple[str, Any]] = []
    plainly = engraving.engrave

    def kept(document: str, layout: Any, must_be_drawn: Any = ()) -> Any:
        asked.append((document, layout))
        return plainly(document, layout, must_be_drawn)

    engraving.engrave = kept
    try:
        engraved = _engraved(material, mei)
    finally:
        engraving.engrave = plainly
    alone = _quickest(lambda: _verovio_alone(asked))
    lines = _quickest(lambda: _engraved(material, mei))
    begun = time.process_time()  # once: Typst would remember the pictures of the run before
    pdf = _typeset(material, engraved)
    pages = time.process_time() - begun
    count = len(pypdf.PdfReader(io.BytesIO(pdf)).pages)
    whole = (lines + pages) / alone
    print(
        f"  {name:<20}{count:3d} pages, a page: Verovio alone {1000 * alone / count:5.1f} ms, "
        f"lines {1000 * lines / count:5.1f} ms, PDF {1000 * pages / count:5.1f} ms "
        f"({whole:.2f} times Verovio), {len(pdf) / count / 1000:.1f} kB"
    )
    html = "".join(line.svg for movement in engraved.movements for line in movement.lines)
    begun = time.process_time()
    other = html_to_pdf(_HTML.format(html), faces(), Origin("part"), b"0" * 16).value
    spent = time.process_time() - begun
    assert other is not None
    there = len(pypdf.PdfReader(io.BytesIO(other)).pages)
    print(
        f"  {'':<20}WeasyPrint, the same lines: {1000 * spent / there:5.0f} ms and "
        f"{len(other) / there / 1000:.0f} kB a page"
    )


_HTML = """<!doctype html><html lang="en"><title>part</title>
<style>@page {{size: A4; margin: 15mm}} svg {{display: block; margin-bottom: 6mm}}</style>
{}</html>"""


def _engraved(material: Material, mei: bytes) -> EngravedPart:
    made = build_part.engraved_part(material, mei, PartWishes(), "en").value
    assert made is not None
    return made


def _typeset(material: Material, engraved: EngravedPart) -> bytes:
    made = part_pdf(
        material.edition,
        material.score,
        material.decisions,
        engraved,
        samples(read_house_style(), legend_words("en"), PART_FAMILIES),
        remark_numbers(material.decisions),
        A4,
        "en",
    )
    assert made.value is not None
    return made.value


def _verovio_alone(asked: list[tuple[str, Any]]) -> None:
    toolkit = verovio.toolkit()
    for document, layout in asked:
        toolkit.setOptions(_options(layout))
        toolkit.loadData(document)
        for page in range(1, toolkit.getPageCount() + 1):
            toolkit.renderToSVG(page)


def _quickest(work: Callable[[], T]) -> float:
    spent = []
    for _ in range(RUNS):
        begun = time.process_time()
        work()
        spent.append(time.process_time() - begun)
    return min(spent)


def write_quartet(folder: Path) -> None:
    """Write an edition of the quartet with a remark on every other bar of the first violin."""
    (folder / "score").mkdir()
    (folder / "records").mkdir()
    heads, records = [], []
    for n, name in enumerate(QUARTET, start=1):
        base = f"score/{n}.mxl"
        shutil.copy(corpus_file(name), folder / base)
        heads.append(f"  - {{n: {n}, title: Movement {n}, base: {base}}}\n")
        passage = read_passage(folder, base, Origin("edition.yaml")).value
        assert passage is not None
        staff = passage.staves[0].n
        for bar in passage.bars[::2]:
            events = [e for e in passage.events_in.get((staff, bar.index), ()) if e.heads]
            if len(events) > 1 and bar.n in passage.bar_index:
                records.append(_RECORD.format(n=n, bar=bar.n, index=bar.index))
    (folder / "edition.yaml").write_text(_HEAD + "".join(heads), encoding="utf-8")
    (folder / "records" / "all.yaml").write_text("".join(records), encoding="utf-8")


_HEAD = """\
title: A quartet
scoring: for four strings
languages: [en]
agents:
  composer: {name: Somebody, role: composer}
  editor: {name: An Editor, role: editor}
witnesses:
  T: {kind: autograph, title: The text, principal: true}
movements:
"""
_RECORD = """\
- id: r-{n}-{index}
  kind: remark
  place: {{movement: {n}, bar: "{bar}"}}
  by: editor
  date: 2026-01-01
  reason: for the bench
"""
