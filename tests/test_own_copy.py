"""A player's own copy of the example edition: checked with it, and the part that is made for it."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from lxml import etree
from pypdf import PdfReader

from pipeline.build import examine
from pipeline.checks.material import Material
from pipeline.edition.choices import OwnCopy, read_choices
from pipeline.edition.layer import Layer
from pipeline.layers.profile import profile_faults
from pipeline.layers.write import write_layers
from tests.test_cli import apparatus

EXAMPLE = Path(__file__).parents[1] / "example_edition"
PLAYER = EXAMPLE / "players" / "lindqvarn.yaml"
MEI = "{http://www.music-encoding.org/ns/mei}"


@pytest.fixture(scope="module")
def own() -> OwnCopy:
    read = read_choices(PLAYER)
    assert read.problems == ()
    assert read.value is not None
    return read.value


@pytest.fixture(scope="module")
def joined(own: OwnCopy) -> Material:
    examined = examine(EXAMPLE, own=own)
    assert examined.problems == ()
    assert examined.value is not None
    return examined.value


def layered(material: Material) -> bytes:
    return write_layers(material.edition, material.score, material.decisions, material.collations)


def test_the_example_of_a_copy_has_no_problem() -> None:
    result = apparatus("check", EXAMPLE, "--with", PLAYER)
    assert (result.exit_code, result.output) == (0, "")


def test_own_marks_are_a_layer_of_their_own_in_the_layered_file(joined: Material) -> None:
    mei = layered(joined)
    assert profile_faults(mei) == ()
    marks = [
        one
        for one in etree.fromstring(mei).iter(f"{MEI}fing")
        if "layer-player" in one.get("class", "")
    ]
    digits = 18  # nine double stops in bars 15 to 17
    assert len(marks) == digits
    assert {one.get("resp") for one in marks} == {"#agent-lindqvarn"}


def test_what_was_chosen_is_in_the_layered_file_as_printed(joined: Material) -> None:
    hand = next(d for d in joined.decisions if d.id == "I-053-octaves").filed.record
    assert getattr(hand, "printed", None) == ("1–4 / 1–3",)


def test_the_edition_by_itself_knows_no_player(own: OwnCopy) -> None:
    alone = examine(EXAMPLE).value
    assert alone is not None
    mei = layered(alone)
    assert b"layer-player" not in mei
    assert Layer.PLAYER not in {decision.layer for decision in alone.decisions}
    assert own.records


def test_remarks_keep_the_numbers_of_the_commentary(joined: Material) -> None:
    alone = examine(EXAMPLE).value
    assert alone is not None
    assert [d.id for d in joined.decisions_of_edition] == [d.id for d in alone.decisions]


def test_the_part_is_made_for_the_player_and_nothing_else_is_touched(tmp_path: Path) -> None:
    before = {file: file.stat().st_mtime_ns for file in EXAMPLE.rglob("*") if file.is_file()}
    out = tmp_path / "out"
    result = apparatus("build", EXAMPLE, "--with", PLAYER, "--only", "part", "--out", out)
    assert result.exit_code == 0, result.output
    assert [file.name for file in out.iterdir()] == ["part.pdf"]
    words = " ".join(page.extract_text() for page in PdfReader(out / "part.pdf").pages)
    assert "Mareike Lindqvarn" in " ".join(words.split())
    after = {file: file.stat().st_mtime_ns for file in EXAMPLE.rglob("*") if file.is_file()}
    assert after == before


@pytest.mark.parametrize(
    "products", [(), ("--only", "edition"), ("--only", "part", "--only", "commentary")]
)
def test_nothing_but_a_part_is_made_for_a_player(tmp_path: Path, products: tuple[str, ...]) -> None:
    result = apparatus("build", EXAMPLE, "--with", PLAYER, *products, "--out", tmp_path / "out")
    assert result.exit_code == 2
    assert "Only a part is made for a player's own copy" in result.stderr
    assert not (tmp_path / "out").exists()


def test_a_text_editor_can_complete_a_copy() -> None:
    described = json.loads(apparatus("schema", "choices").stdout)
    assert described["title"] == "A player's own copy"
    assert set(described["properties"]) == {
        "player", "performance", "settled_days", "choices", "records",
    }  # fmt: skip


def test_a_file_that_is_not_there_is_refused(tmp_path: Path) -> None:
    for command in (("check",), ("build", "--only", "part")):
        result = apparatus(command[0], EXAMPLE, *command[1:], "--with", tmp_path / "none.yaml")
        assert result.exit_code == 2
        assert "is not a file; name a player's own copy after `--with`" in result.stderr


def test_a_choice_of_what_is_no_longer_there_leaves_nothing_written(tmp_path: Path) -> None:
    late = tmp_path / "late.yaml"
    late.write_text(
        PLAYER.read_text("utf-8").replace("of: I-060-scale", "of: I-060-scala"), encoding="utf-8"
    )
    out = tmp_path / "out"
    result = apparatus("build", EXAMPLE, "--with", late, "--only", "part", "--out", out)
    assert result.exit_code == 1
    assert (
        f"{late}:25:5: error choice-of-nothing: there is no record `I-060-scala` in this edition\n"
        "    Did you mean `I-060-scale`?\n"
    ) in result.stderr
    assert not out.exists()


def test_what_is_changed_shortly_before_the_performance_is_a_warning(tmp_path: Path) -> None:
    late = tmp_path / "late.yaml"
    late.write_text(
        PLAYER.read_text("utf-8").replace("performance: 2026-12-20", "performance: 2026-10-15"),
        encoding="utf-8",
    )
    result = apparatus("check", EXAMPLE, "--with", late)
    assert result.exit_code == 0
    assert "warning changed-before-performance: movement 1, bars 53 to 60: this fingering was " in (
        result.stdout
    )
    assert result.stdout.endswith("0 errors, 1 warning\n"), "an ossia is no matter of the hand"
