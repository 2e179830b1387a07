"""`apparatus build --only part`: what it writes, and what it refuses without leaving a trace."""

from __future__ import annotations

import io
from pathlib import Path

import pytest
from pypdf import PdfReader
from typer.testing import CliRunner, Result

from pipeline.cli import app
from tests.score.drawn import mei

HEAD = """\
title: Study
scoring: for violin
languages: [en]
agents:
  c: {name: A. Composer, role: composer}
  e: {name: An Editor, role: editor}
witnesses:
  A: {kind: autograph, title: Autograph, principal: true}
movements:
  - {n: 1, title: Allegro, base: score/1.mei}
"""
RECORDS = """\
- id: hand
  kind: fingering
  place: {movement: 1, bar: 1}
  by: e
  date: 2026-01-01
  alternatives:
    - {name: first, fingers: [3 on A, 4, 1 on E, 2]}
    - {name: third, fingers: [1 on A, 2, 3, 4]}
  reason: Two ways.
- id: bow
  kind: bowing
  place: {movement: 1, bar: 2}
  by: e
  date: 2026-01-01
  status: proposed
  alternatives: [{name: plain, signs: {1: down}}]
  reason: Open.
"""


@pytest.fixture
def edition(tmp_path: Path) -> Path:
    folder = tmp_path / "edition"
    for name in ("score", "records"):
        (folder / name).mkdir(parents=True)
    (folder / "score" / "1.mei").write_bytes(mei("a=d5/4 b=e5/4 c=f5/4 d=g5/4", "e=a5/1"))
    (folder / "edition.yaml").write_text(HEAD, encoding="utf-8")
    (folder / "records" / "all.yaml").write_text(RECORDS, encoding="utf-8")
    return folder


def part(edition: Path, *options: str) -> Result:
    return CliRunner().invoke(app, ["build", str(edition), "--only", "part", *options])


def written(edition: Path, *options: str) -> PdfReader:
    result = part(edition, *options)
    assert result.exit_code == 0, result.output
    (file,) = (edition / "build").iterdir()
    assert file.name == "part.pdf"
    return PdfReader(io.BytesIO(file.read_bytes()))


def digits(pdf: PdfReader) -> set[str]:
    """Return the editor's digits; the legend shows 1 to 4, so those of the music are counted."""
    text = pdf.pages[0].extract_text()
    return {digit for digit in "01234" if text.count(f"[{digit}]") > 1}


def test_it_writes_the_part_alone(edition: Path) -> None:
    (page,) = written(edition).pages
    assert "A. Composer" in page.extract_text()


def test_the_paper_is_the_one_that_was_asked_for(edition: Path) -> None:
    (page,) = written(edition, "--paper", "9x12in").pages
    assert [float(page.mediabox.width), float(page.mediabox.height)] == pytest.approx([648, 864])


def test_marks_for_print_are_added_on_demand(edition: Path) -> None:
    (page,) = written(edition, "--crop-marks").pages
    assert page.trimbox != page.mediabox
    assert page.bleedbox not in (page.trimbox, page.mediabox)


def test_a_layer_that_is_not_named_is_not_shown(edition: Path) -> None:
    assert digits(written(edition)) == {"1", "2", "3", "4"}
    assert "[" not in written(edition, "--layers", "text").pages[0].extract_text()


def test_the_alternative_that_is_chosen_is_shown_or_none(edition: Path) -> None:
    before = written(edition).pages[0].extract_text()
    after = written(edition, "--choose", "hand=third").pages[0].extract_text()
    assert before != after
    assert "[" not in written(edition, "--choose", "hand=no").pages[0].extract_text()


@pytest.mark.parametrize(
    ("options", "words"),
    [
        (["--layers", "editr"], "did you mean `editor`?"),
        (["--paper", "letter"], "`letter` is no size of paper"),
        (["--paper", "5x5mm"], "a page of 5 x 5 mm cannot be set"),
        (["--staff", "-3"], "a staff of -3 mm cannot be set"),
        (["--choose", "hand"], "write RECORD=NAME"),
        (["--only", "commentary", "--choose", "hand=third"], "Choices are for a part alone"),
    ],
)
def test_a_call_that_cannot_be_is_refused_at_once(
    edition: Path, options: list[str], words: str
) -> None:
    result = part(edition, *options)
    assert result.exit_code == 2
    assert words in result.stderr
    assert "reading" not in result.stderr
    assert not (edition / "build").exists()


@pytest.mark.parametrize(
    ("choice", "words"),
    [
        ("hnad=third", "Did you mean `hand`?"),
        ("hand=thrid", "Did you mean `third`?"),
        ("bow=plain", "`bow` is only proposed"),
    ],
)
def test_a_choice_of_nothing_is_told_before_anything_is_computed(
    edition: Path, choice: str, words: str
) -> None:
    result = part(edition, "--choose", choice)
    assert result.exit_code == 1
    assert words in result.stderr
    assert "2 comparing" not in result.stderr
    assert not (edition / "build").exists()
