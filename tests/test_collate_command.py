"""The command `collate` as a person meets it: what is printed, what is written, how it ends."""

from __future__ import annotations

import json
import re
import shutil
from pathlib import Path

import pytest
from typer.testing import CliRunner, Result

from pipeline.cli import app

EXAMPLE = Path(__file__).parents[1] / "example_edition"


@pytest.fixture
def edition(tmp_path: Path) -> Path:
    """The example edition without the record on a wrong flat in E and S."""
    folder = tmp_path / "edition"
    shutil.copytree(EXAMPLE, folder, ignore=shutil.ignore_patterns("build", "pages"))
    file = folder / "records" / "movement-1-text.yaml"
    records = re.split(r"(?m)^(?=- id:)", file.read_text("utf-8"))
    kept = [one for one in records if not one.startswith("- id: I-024-piano\n")]
    assert len(kept) == len(records) - 1
    file.write_text("".join(kept), encoding="utf-8")
    return folder


def collate(*arguments: object) -> Result:
    return CliRunner().invoke(app, ["collate", *map(str, arguments)], catch_exceptions=False)


def row(result: Result, *words: str) -> list[str]:
    """Return the cells of the one line that has all these words."""
    lines = [line for line in result.stdout.splitlines() if all(word in line for word in words)]
    assert len(lines) == 1, lines
    return re.split(r"\s{2,}", lines[0].strip())


def test_every_difference_stands_with_its_record(edition: Path) -> None:
    result = collate(edition)
    assert result.exit_code == 0
    assert row(result, "I-048-tenuto", "3  ") == [
        "48", "3", "Violin", "E, S", "Articulation", "tenuto stroke", "staccato dot",
        "I-048-tenuto",
    ]  # fmt: skip
    assert row(result, "24 ", "staff 3")[-3:] == ["G/g", "E/e", "open"]
    assert row(result, "72 of 72", "E  ")[-2:] == ["35", "1"]
    assert "S, I: without Piano" in result.stdout
    assert result.stderr == ""


def test_what_is_open_is_not_told_again_as_a_warning(edition: Path) -> None:
    check = CliRunner().invoke(app, ["check", str(edition)])
    assert "difference-open" in check.stdout
    assert "difference-open" not in collate(edition).output


def test_only_what_is_open(edition: Path) -> None:
    result = collate(edition, "--open")
    assert "I-048-tenuto" not in result.stdout
    assert row(result, "24 ", "staff 3")[-1] == "open"


def test_only_some_witnesses(edition: Path) -> None:
    result = collate(edition, "--witness", "E", "--witness", "A")
    assert row(result, "I-048-tenuto", "3  ")[3] == "E"
    assert not re.search(r"^  S  ", result.stdout, re.M)


@pytest.mark.parametrize(
    ("siglum", "told"),
    [
        ("X", "there is no witness `X`\n    Encoded are `A`, `E` and `S`."),
        ("s", "there is no witness `s`\n    Did you mean `S`?"),
        ("H", "H has no encoding, so there is nothing to collate\n    Name its files"),
    ],
)
def test_a_witness_that_cannot_be_collated(siglum: str, told: str, edition: Path) -> None:
    result = collate(edition, "--witness", siglum)
    assert result.exit_code == 1
    assert told in result.stderr
    assert result.stdout == ""


def test_json_has_every_difference_with_words_and_ids(edition: Path) -> None:
    answer = json.loads(collate(edition, "--format", "json").stdout)
    assert answer["language"] == "en"
    (one,) = [d for d in answer["differences"] if d["open"]]
    assert one == {
        "movement": 1,
        "bar": "24",
        "beat": "2",
        "to": {"bar": "24", "beat": "3"},
        "staff": 3,
        "kind": "pitch",
        "change": "otherwise",
        "text": {"words": "G/g", "ids": one["text"]["ids"]},
        "reading": {"words": "E/e", "ids": {"E": one["reading"]["ids"]["E"]}},
        "witnesses": ["E"],
        "answered_by": [],
        "proposed_by": [],
        "open": True,
    }
    assert len(one["text"]["ids"]) == len(one["reading"]["ids"]["E"]) == 1
    of_e = next(c for c in answer["collations"] if (c["witness"], c["movement"]) == ("E", 1))
    assert of_e["bars_compared"] == of_e["bars"] == 72
    assert 0.99 < of_e["likeness"] < 1
    assert sum(of_e["differences"].values()) == 35
    assert of_e["open"] == 1
    assert of_e["obstacle"] is None


def test_json_names_the_bars_that_one_side_lacks(edition: Path) -> None:
    """A bar of E is taken out of its file: what only it had in that bar goes with it."""
    file = edition / "witnesses" / "E" / "movement-1.mei"
    written = file.read_text("utf-8")
    (bar,) = re.findall(r'(?s)<measure [^>]*n="50"[^>]*>.*?</measure>', written)
    file.write_text(written.replace(bar, ""), encoding="utf-8")
    answer = json.loads(collate(edition, "--witness", "E", "--format", "json").stdout)
    (one,) = [d for d in answer["differences"] if d["kind"] == "bars missing"]
    assert (one["bar"], one["beat"], one["staff"], one["change"]) == ("50", None, None, "missing")
    assert one["to"] == {"bar": "50", "beat": None}
    assert len(one["text"]["ids"]) == 1
    assert one["reading"] == {"words": "–", "ids": {"E": []}}


def test_json_speaks_the_main_language_of_the_edition(edition: Path) -> None:
    head = edition / "edition.yaml"
    head.write_text(head.read_text("utf-8").replace("[en, de]", "[de, en]"), encoding="utf-8")
    answer = json.loads(collate(edition, "--format", "json").stdout)
    assert answer["language"] == "de"
    assert "Akzent" in {d["text"]["words"] for d in answer["differences"]}


def test_html_is_one_page_with_music(edition: Path) -> None:
    result = collate(edition, "--witness", "E", "--open", "--format", "html")
    assert result.exit_code == 0
    assert result.stdout.startswith("<!DOCTYPE html>") or result.stdout.startswith(
        "<!doctype html>"
    )
    assert "<svg" in result.stdout


def test_a_record_that_cannot_be_read_keeps_nothing_from_being_collated(edition: Path) -> None:
    file = edition / "records" / "movement-1-text.yaml"
    file.write_text(file.read_text("utf-8").replace("lemma: [E, S]", "lema: [E, S]", 1), "utf-8")
    result = collate(edition)
    assert result.exit_code == 1
    assert "unknown-key" in result.stderr
    assert row(result, "Andante con passione")[-1] == "open"


def test_nothing_is_drafted_while_a_record_cannot_be_read(edition: Path) -> None:
    file = edition / "records" / "movement-1-text.yaml"
    right = file.read_text("utf-8")
    for slip in (
        right.replace("lemma: [E, S]", "lema: [E, S]", 1),
        right.replace("bar: 1}", "bar: 999}", 1),
    ):
        file.write_text(slip, "utf-8")
        result = collate(edition, "--draft", "records/new.yaml")
        assert result.exit_code == 1
        assert "records-not-read" in result.stderr
        assert not (edition / "records" / "new.yaml").exists()


def test_a_draft_names_what_it_wrote_and_is_not_written_twice(edition: Path) -> None:
    result = collate(edition, "--draft", "records/new.yaml")
    assert result.exit_code == 0
    assert result.stdout.splitlines() == [
        str(edition / "records" / "new.yaml"),
        "1 record for 1 difference",
        "  record          place",
        "  e-1-b024-pitch  movement 1, bar 24, note 2, staff 3",
    ]
    written = (edition / "records" / "new.yaml").read_text("utf-8")
    assert re.search(r"^  date: \d{4}-\d\d-\d\d$", written, re.M)
    again = collate(edition, "--draft", "records/new.yaml")
    assert again.stdout == "Nothing was written: no difference is left without a record.\n"
    assert (edition / "records" / "new.yaml").read_text("utf-8") == written
    shown = collate(edition)
    assert row(shown, "24 ", "staff 3")[-1] == "e-1-b024-pitch (proposed)"


def test_an_edition_without_a_problem_has_none_after_the_draft(edition: Path) -> None:
    collate(edition, "--draft", "records/new.yaml")
    check = CliRunner().invoke(app, ["check", str(edition)])
    assert (check.exit_code, check.stdout) == (0, "")


def test_a_draft_elsewhere_is_refused(edition: Path) -> None:
    result = collate(edition, "--draft", "new.yaml")
    assert result.exit_code == 1
    assert "new.yaml:1:1: error not-a-record-file: `new.yaml` is not in the folder" in result.stderr
    assert not (edition / "new.yaml").exists()


def test_without_an_editor_nobody_could_decide(edition: Path) -> None:
    head = edition / "edition.yaml"
    head.write_text(
        head.read_text("utf-8").replace("role: editor", "role: performer"), encoding="utf-8"
    )
    result = collate(edition, "--draft", "records/new.yaml")
    assert result.exit_code == 1
    assert "error no-editor: no agent has the role `editor`" in result.stderr


def test_an_edition_without_encodings(edition: Path) -> None:
    head = edition / "edition.yaml"
    cut = re.sub(r"    encodings:\n(      \d: .*\n)+", "", head.read_text("utf-8"))
    head.write_text(cut, encoding="utf-8")
    shutil.rmtree(edition / "records")
    (edition / "records").mkdir()
    result = collate(edition)
    assert result.exit_code == 0
    assert result.stdout.startswith("No witness of this edition is encoded")


def test_another_work_is_told_with_how_little_is_alike(edition: Path) -> None:
    shutil.copy(
        edition / "score" / "movement-2.mei", edition / "witnesses" / "E" / "movement-1.mei"
    )
    result = collate(edition, "--witness", "E")
    assert result.exit_code == 1
    assert re.search(
        r"E, I: Not compared, because it is hardly like the text: [\d.]+%", result.stdout
    )


def test_a_folder_that_is_none() -> None:
    assert collate("no/such/folder").exit_code == 2


@pytest.mark.parametrize("given", ["records", "records/", "."])
def test_a_draft_needs_a_file_not_a_folder(given: str, edition: Path) -> None:
    result = collate(edition, "--draft", given)
    assert result.exit_code == 1
    assert "a file is needed here, to which the records are appended" in result.stderr
    assert "Write for instance `--draft records/new.yaml`." in result.stderr


@pytest.mark.parametrize("form", ["text", "json", "html"])
def test_a_file_of_a_witness_that_cannot_be_read_ends_with_1_as_in_check(
    form: str, edition: Path
) -> None:
    """The other witnesses are collated all the same."""
    (edition / "witnesses" / "S" / "movement-1.mei").write_text("<mei>", encoding="utf-8")
    result = collate(edition, "--format", form)
    assert (result.exit_code, bool(result.stdout)) == (1, True)
    assert "witnesses/S/movement-1.mei" in result.stderr
