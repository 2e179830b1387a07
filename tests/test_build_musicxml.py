"""`apparatus build --only musicxml` as a publisher calls it."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from lxml import etree
from typer.testing import CliRunner

from pipeline.cli import app
from tests.layers.letters import mei
from tests.layers.small_edition import Row, place, small

BAR = "a=c5/4 b=d5/4 c=e5/4 d=f5/4"
HAND: Row = {
    "id": "hand",
    "kind": "fingering",
    "place": place(1),
    "composer_fingering": "none",
    "alternatives": [
        {"name": "low", "fingers": "1, 2, 3, 4"},
        {"name": "high", "fingers": "1, 1, 2, 2"},
    ],
}


def build(edition: Path, *arguments: str) -> tuple[str, etree._Element | None]:
    """Build into a folder of its own; return what is said, and the file as a tree."""
    out = edition / "out"
    call = ["build", str(edition), "--out", str(out), "--only", "musicxml", *arguments]
    result = CliRunner().invoke(app, call)
    file = out / "part.musicxml"
    return result.output, etree.parse(file).getroot() if file.exists() else None


@pytest.fixture
def edition(tmp_path: Path) -> Path:
    signs = '<phrase startid="#a" endid="#d"/>'
    small(tmp_path, mei(BAR, signs={1: signs}), [HAND])
    return tmp_path


def digits(file: etree._Element | None) -> list[str | None]:
    assert file is not None
    return [one.text for one in file.iterfind(".//fingering")]


def test_what_the_file_cannot_hold_is_a_warning_with_its_bars(edition: Path) -> None:
    said, file = build(edition)
    assert digits(file) == ["1", "2", "3", "4"]
    assert (
        "part.musicxml:1:1: warning not-in-musicxml: movement 1: MusicXML cannot hold "
        "1 x phrase (there is no such sign): bar 1" in said
    )


def test_layers_and_choices_are_those_of_the_part(edition: Path) -> None:
    assert digits(build(edition, "--layers", "text,composer")[1]) == []
    assert digits(build(edition, "--choose", "hand=high")[1]) == ["1", "1", "2", "2"]
    assert digits(build(edition, "--choose", "hand=no")[1]) == []


def test_the_head_names_the_people_and_the_records(edition: Path) -> None:
    _, file = build(edition)
    assert file is not None
    assert file.findtext("work/work-title") == "A small edition"
    assert [one.text for one in file.iterfind(".//creator")] == ["A Composer", "An Editor"]
    fields = {one.get("name"): one.text for one in file.iterfind(".//miscellaneous-field")}
    assert fields["record-hand"] == "1: fingering, An Editor, 2026-01-31"
    assert fields["layer-editor"] == "editor's markings"
    assert file.findtext(".//encoding-date") == "2026-01-31"


def test_a_tradition_has_its_footnote(tmp_path: Path) -> None:
    row: Row = {
        "id": "played", "kind": "tradition", "place": place(1), "by": "custom",
        "music": {"file": "music/alt.mei"}, "label": "As played", "origin": "A school",
        "note": "Not by the composer",
    }  # fmt: skip
    small(tmp_path, mei(BAR), [row], music={"alt": mei("e6/2 f6/2")})
    _, file = build(tmp_path)
    assert file is not None
    (footnote,) = file.iterfind(".//footnote")
    assert footnote.text is not None
    assert footnote.text.startswith("As played: not the composer’s.")


def test_an_ossia_wanted_instead_of_the_text_is_told_to_stand_above(tmp_path: Path) -> None:
    row: Row = {
        "id": "higher", "kind": "ossia", "place": place(1), "sounds": "different",
        "music": {"file": "music/alt.mei"}, "label": "Ossia",
    }  # fmt: skip
    small(tmp_path, mei(BAR), [row], music={"alt": mei("e6/2 f6/2")})
    said, file = build(tmp_path, "--choose", "higher=instead")
    assert "warning ossia-above-in-musicxml: the ossia higher stands on its small staff" in said
    assert file is not None
    assert file.findtext(".//staves") == "2"


def test_problems_json_lists_what_is_not_held(edition: Path) -> None:
    build(edition, "--only", "problems")
    rows = json.loads((edition / "out" / "problems.json").read_text("utf-8"))
    assert "not-in-musicxml" in {row["code"] for row in rows}
