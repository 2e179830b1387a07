"""The list of codes in the guide is the list of codes that are told."""

from __future__ import annotations

import ast
from collections.abc import Iterator
from pathlib import Path

import pipeline.edition
from pipeline.edition.codes import CODES

# Which argument is the code, in what makes a problem.
_PLACE_OF_CODE = {"error": 0, "warning": 0, "refusal": 1, "_Slip": 2}


def codes_told() -> Iterator[str]:
    for path in Path(pipeline.edition.__path__[0]).glob("*.py"):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.Call):
                called = node.func.attr if isinstance(node.func, ast.Attribute) else node.func
                name = called.id if isinstance(called, ast.Name) else str(called)
                given = node.args[_PLACE_OF_CODE[name] :] if name in _PLACE_OF_CODE else []
                if given and isinstance(given[0], ast.Constant):
                    yield given[0].value


def test_every_code_is_explained_and_every_explained_code_is_used() -> None:
    assert set(codes_told()) == set(CODES)
    assert list(CODES) == sorted(CODES)
