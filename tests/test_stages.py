"""The architecture holds: a stage imports only from stages above it, and one edge per library."""

from __future__ import annotations

import ast
from collections.abc import Iterator
from pathlib import Path

import pytest

import pipeline

ROOT = Path(pipeline.__file__).parent

STAGES = (
    "edition",
    "score",
    "strings",
    "collation",
    "checks",
    "layers",
    "engrave",
    "exchange",
    "typeset",
)
"""From the top of the picture to the bottom; `problems` is above all, `build` and `cli` below."""

EDGES = {
    "verovio": {"engrave/verovio.py", "engrave/fonts.py", "score/musicxml_import.py"},
    "weasyprint": {"typeset/pdf.py", "typeset/overfull.py"},
    "typst": {"typeset/typst_pdf.py"},
    "typer": {"cli.py", "cli_answers.py", "cli_desk.py"},
    "rich": {"cli_answers.py"},
}


IMPORTER = {"score/musicxml.py", "score/musicxml_import.py"}
"""The importer's own process, which hands its MEI to its parent, and that parent."""


def imports(module: Path) -> Iterator[str]:
    for node in ast.walk(ast.parse(module.read_text("utf-8"))):
        if isinstance(node, ast.Import):
            yield from (name.name for name in node.names)
        elif isinstance(node, ast.ImportFrom) and node.module:
            yield node.module


@pytest.mark.parametrize("stage", STAGES)
def test_a_stage_imports_only_from_stages_above_it(stage: str) -> None:
    allowed = {"problems", *STAGES[: STAGES.index(stage) + 1]}
    reached = {
        (module.name, name)
        for module in (ROOT / stage).rglob("*.py")
        for name in imports(module)
        if name.startswith("pipeline.") and name.split(".")[1] not in allowed
    }
    assert reached == set()


@pytest.mark.parametrize("library", sorted(EDGES))
def test_a_library_is_touched_at_its_edge_only(library: str) -> None:
    users = {
        str(module.relative_to(ROOT))
        for module in ROOT.rglob("*.py")
        if any(name.split(".")[0] == library for name in imports(module))
    }
    assert users <= EDGES[library]


def test_only_the_edge_prints_or_exits() -> None:
    spoken = {
        str(module.relative_to(ROOT))
        for module in ROOT.rglob("*.py")
        for node in ast.walk(ast.parse(module.read_text("utf-8")))
        if (isinstance(node, ast.Name) and node.id in {"print", "exit"})
        or (isinstance(node, ast.Attribute) and node.attr in {"stdout", "stderr", "exit"})
    }
    assert spoken == EDGES["typer"] | IMPORTER


def test_no_module_grows_past_four_hundred_lines() -> None:
    long = {
        str(module.relative_to(ROOT)): lines
        for module in ROOT.rglob("*.py")
        if (lines := len(module.read_text("utf-8").splitlines())) > 400
    }
    assert long == {}
