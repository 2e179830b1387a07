"""The contributor's guide says what the code does: every code, every command."""

from __future__ import annotations

import ast
import re
from collections.abc import Iterator
from pathlib import Path

from typer.main import get_command

import pipeline
from pipeline.cli import app
from pipeline.edition.codes import CODES
from pipeline.edition.records import RECORD_OF_KIND, EditorialRecord

ROOT = Path(pipeline.__file__).parent
GUIDE = ROOT.parent / "DEVELOPERS.md"
README = ROOT.parent / "README.md"


CODE = re.compile(r"[a-z]+(-[a-z0-9]+)+")
BUILT = {f"{sign}-without-end" for sign in ("tie", "slur")}
"""Codes that are put together from the sign they are about."""


def codes_of_readers() -> Iterator[str]:
    """The first arguments that look like codes, in calls that tell a problem, checks left out."""
    for module in ROOT.rglob("*.py"):
        if module.parent.name == "checks":
            continue
        for node in ast.walk(ast.parse(module.read_text("utf-8"))):
            if isinstance(node, ast.Call) and node.args and TELLS.search(_called(node)):
                first = node.args[0]
                if isinstance(first, ast.Constant) and CODE.fullmatch(str(first.value)):
                    yield first.value


TELLS = re.compile(r"error|warn")


def _called(node: ast.Call) -> str:
    match node.func:
        case ast.Name(id=name) | ast.Attribute(attr=name):
            return name
        case _:
            return ""


def test_the_guide_lists_every_code_of_the_readers() -> None:
    section = GUIDE.read_text("utf-8").split("## What reading and building tell")[1]
    listed = re.findall(r"^\| `([a-z0-9-]+)` \|", section.split("\n## ")[0], re.M)
    assert listed == sorted(set(listed))
    told = set(codes_of_readers())
    assert told - set(listed) == set()
    assert set(listed) - told - set(CODES) - BUILT == set()


def test_the_readme_calls_commands_that_exist() -> None:
    named = set(re.findall(r"bin/apparatus ([a-z]+)", README.read_text("utf-8")))
    commands = get_command(app).commands  # type: ignore[attr-defined]
    assert named <= set(commands)
    assert {"check", "build", "places", "collate", "extract"} <= named


def test_the_guide_lists_the_fields_of_every_kind_of_record() -> None:
    section = GUIDE.read_text("utf-8").split("## The record kinds")[1].split("\n## ")[0]
    rows = re.findall(r"^\| `(\w+)` \| [^|]+ \| ([^|]+) \|$", section, re.M)
    listed = {kind: set(re.findall(r"`(\w+)`", fields)) for kind, fields in rows}
    of_all = set(EditorialRecord.model_fields) | {"kind"}
    assert listed == {
        kind: set(record.model_fields) - of_all for kind, record in RECORD_OF_KIND.items()
    }
