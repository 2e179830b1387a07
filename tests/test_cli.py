"""The command line as a person meets it: what is printed, what is written, how it ends."""

from __future__ import annotations

import json
import re
import subprocess
import sys
from pathlib import Path

import pytest
from typer.testing import CliRunner, Result

from pipeline.cli import app

MEI = """\
<?xml version="1.0" encoding="UTF-8"?>
<mei xmlns="http://www.music-encoding.org/ns/mei" meiversion="5.1"><meiHead><fileDesc><titleStmt>
<title>Two bars</title></titleStmt><pubStmt/></fileDesc></meiHead><music><body><mdiv><score>
<scoreDef meter.count="2" meter.unit="4" keysig="0"><staffGrp>
<staffDef n="1" lines="5" clef.shape="G" clef.line="2"><label>Violin</label></staffDef></staffGrp>
</scoreDef><section>
<measure xml:id="b1" n="1"><staff n="1"><layer n="1">
<note xml:id="n1" pname="g" oct="4" dur="4"/><note xml:id="n2" pname="b" oct="4" dur="4"/>
</layer></staff></measure>
<measure xml:id="b2" n="2" right="end"><staff n="1"><layer n="1">
<note xml:id="n3" pname="d" oct="5" dur="2"/></layer></staff></measure>
</section></score></mdiv></body></music></mei>
"""

HEAD = """\
title: Two bars
scoring: Violin
languages: [en]
agents:
  composer: {name: Somebody, role: composer}
  editor: {name: An Editor, role: editor}
witnesses:
  A: {kind: autograph, title: Autograph, by: composer, principal: true}
movements:
  - {n: 1, title: First, base: score/1.mei}
"""

RECORD = """\
- id: b1-fingers
  kind: fingering
  place: {movement: 1, bar: 1}
  by: editor
  date: 2026-02-03
  evidence: {witnesses: [A]}
  reason: The hand is there already.
  alternatives:
    - {name: a, fingers: [1, 3]}
"""


@pytest.fixture
def edition(tmp_path: Path) -> Path:
    folder = tmp_path / "edition"
    for name in ("score", "records"):
        (folder / name).mkdir(parents=True)
    (folder / "score" / "1.mei").write_text(MEI, encoding="utf-8")
    (folder / "edition.yaml").write_text(HEAD, encoding="utf-8")
    (folder / "records" / "all.yaml").write_text(RECORD, encoding="utf-8")
    return folder


def apparatus(*arguments: object) -> Result:
    return CliRunner().invoke(app, [str(a) for a in arguments], catch_exceptions=False)


def put_into(edition: Path, old: str, new: str) -> None:
    file = edition / "records" / "all.yaml"
    file.write_text(file.read_text("utf-8").replace(old, new), encoding="utf-8")


def test_a_sound_edition_has_nothing_to_report(edition: Path) -> None:
    result = apparatus("check", edition)
    assert (result.exit_code, result.stdout) == (0, "")


def test_a_wrong_bar_is_told_with_file_line_column_and_remedy(edition: Path) -> None:
    put_into(edition, "bar: 1}", "bar: 14}")
    result = apparatus("check", edition)
    assert result.exit_code == 1
    head, remedy, total = result.stdout.splitlines()
    assert head.startswith("records/all.yaml:3:24: error no-such-bar: ")
    assert "14" in head
    assert remedy.startswith("    ")
    assert total == "1 error, 0 warnings"


def test_a_record_that_cannot_be_read_is_not_told_twice(edition: Path) -> None:
    """`lender` is only named in the record that has the slip: he is not useless."""
    head = edition / "edition.yaml"
    lender = "agents:\n  lender: {name: A Lender, role: performer}\n"
    head.write_text(HEAD.replace("agents:\n", lender), encoding="utf-8")
    put_into(edition, "{name: a, ", "{name: a, by: lender, ")
    assert apparatus("check", edition).stdout == ""
    put_into(edition, "reason:", "raeson:")
    lines = apparatus("check", edition).stdout.splitlines()
    assert [line.split(": ")[1] for line in lines if line.startswith("rec")] == [
        "error unknown-key"
    ]
    assert not any("agent-unused" in line for line in lines)


def test_problems_as_json_name_the_same_line(edition: Path) -> None:
    put_into(edition, "by: editor", "by: editr")
    result = apparatus("check", edition, "--format", "json")
    assert result.exit_code == 1
    (row,) = [row for row in json.loads(result.stdout) if row["code"] == "unknown-agent"]
    assert (row["file"], row["line"], row["severity"]) == ("records/all.yaml", 4, "error")
    assert "editor" in row["message"] + row["remedy"]


@pytest.mark.parametrize(
    "arguments",
    [("check", "no/such/folder"), ("build", "no/such/folder"), ("check",), ("engrave", ".")],
)
def test_a_wrong_call_ends_with_two(arguments: tuple[str, ...]) -> None:
    assert apparatus(*arguments).exit_code == 2


def test_build_writes_all_files_and_names_them(edition: Path) -> None:
    result = apparatus("build", edition)
    assert result.exit_code == 0, result.output
    names = {
        "commentary.pdf",
        "part.pdf",
        "reading-copy.html",
        "part.musicxml",
        "edition.mei",
        "decisions.json",
        "decisions.csv",
        "problems.json",
    }
    assert {path.name for path in (edition / "build").iterdir()} == names
    assert {Path(line).name for line in result.stdout.splitlines()} == names
    assert (edition / "build" / "commentary.pdf").read_bytes().startswith(b"%PDF")
    assert json.loads((edition / "build" / "problems.json").read_text("utf-8")) == []


def test_build_twice_gives_the_same_bytes(edition: Path, tmp_path: Path) -> None:
    for name in ("first", "second"):
        assert apparatus("build", edition, "--out", tmp_path / name).exit_code == 0
    for path in (tmp_path / "first").iterdir():
        assert path.read_bytes() == (tmp_path / "second" / path.name).read_bytes(), path.name


def test_only_writes_what_is_named(edition: Path) -> None:
    result = apparatus("build", edition, "--only", "edition", "--only", "problems")
    assert result.exit_code == 0
    assert {path.name for path in (edition / "build").iterdir()} == {"edition.mei", "problems.json"}


def test_an_error_leaves_the_former_build_as_it_was(edition: Path) -> None:
    assert apparatus("build", edition, "--only", "decisions").exit_code == 0
    before = {path: path.read_bytes() for path in (edition / "build").iterdir()}
    put_into(edition, "fingers: [1, 3]", "fingers: [1, 3, 2]")
    result = apparatus("build", edition)
    assert result.exit_code == 1
    assert "Nothing was written." in result.output
    assert {path: path.read_bytes() for path in (edition / "build").iterdir()} == before


def test_a_language_without_wording_is_told(edition: Path) -> None:
    result = apparatus("build", edition, "--language", "tlh")
    assert result.exit_code == 1
    assert "there is no wording for the language `tlh`" in result.output
    assert not (edition / "build").exists()


def test_check_warns_of_a_language_that_no_commentary_can_be_set_in(edition: Path) -> None:
    head = edition / "edition.yaml"
    head.write_text(HEAD.replace("[en]", "[en, tlh]"), encoding="utf-8")
    result = apparatus("check", edition)
    assert "edition.yaml:3:17: warning no-wording: " in result.stdout
    assert "no wording for the language `tlh`" in result.stdout


def test_places_prints_beat_note_pitch_and_id(edition: Path) -> None:
    result = apparatus("places", edition, 1, 1)
    assert result.exit_code == 0
    rows = [line.split() for line in result.stdout.splitlines() if line.strip()]
    assert rows[0] == ["staff", "1", "Violin"]
    assert rows[2] == ["1", "1", "g′", "G4", "quarter", "n1"]
    assert rows[3] == ["2", "2", "b′", "B4", "quarter", "n2"]


def test_places_of_a_bar_that_is_not_there(edition: Path) -> None:
    result = apparatus("places", edition, 1, 3)
    assert result.exit_code == 1
    assert "movement 1 has no bar 3; it has bars 1 to 2" in result.output


def test_extract_takes_a_layer_out_and_leaves_the_text(edition: Path, tmp_path: Path) -> None:
    assert apparatus("build", edition, "--only", "edition").exit_code == 0
    layered = edition / "build" / "edition.mei"
    with_editor, without = tmp_path / "with.mei", tmp_path / "without.mei"
    assert (
        apparatus("extract", layered, "--layers", "text,editor", "-o", with_editor).exit_code == 0
    )
    assert apparatus("extract", layered, "--layers", "text", "-o", without).exit_code == 0
    assert with_editor.read_text("utf-8").count("<fing ") == 2
    assert without.read_text("utf-8").count("<fing ") == 0
    assert without.read_text("utf-8").count("<note ") == 3


def test_extract_names_the_layers_there_are(edition: Path, tmp_path: Path) -> None:
    assert apparatus("build", edition, "--only", "edition").exit_code == 0
    layered = edition / "build" / "edition.mei"
    result = apparatus("extract", layered, "--layers", "text,editr", "-o", tmp_path / "x.mei")
    assert result.exit_code == 1
    assert "there is no layer `editr`; the layers are text, composer" in result.output
    assert not (tmp_path / "x.mei").exists()


@pytest.fixture
def layered(edition: Path) -> Path:
    """An edition with a copy B of the first bar, which has another note, and a lost source L."""
    copy = (edition / "score" / "1.mei").read_text("utf-8").replace('pname="b"', 'pname="a"')
    (edition / "witnesses").mkdir()
    (edition / "witnesses" / "B.mei").write_text(copy, encoding="utf-8")
    head = (edition / "edition.yaml").read_text("utf-8")
    more = (
        "  B: {kind: copy, title: Copy, encodings: {1: witnesses/B.mei}}\n"
        "  L: {kind: copy, title: Lost copy}\nmovements:"
    )
    (edition / "edition.yaml").write_text(head.replace("movements:", more), encoding="utf-8")
    assert apparatus("build", edition, "--only", "edition").exit_code == 0
    return edition / "build" / "edition.mei"


def test_extract_gives_a_witness_back(layered: Path, tmp_path: Path) -> None:
    out = tmp_path / "B.mei"
    assert apparatus("extract", layered, "--witness", "B", "-o", out).exit_code == 0
    written = out.read_text("utf-8")
    assert re.findall(r'pname="(.)"', written) == ["g", "a", "d"]
    assert "<app" not in written
    again = apparatus("extract", layered, "--witness", "B", "--movement", 1, "-o", out)
    assert again.exit_code == 0
    assert out.read_text("utf-8") == written


@pytest.mark.parametrize(
    ("options", "code", "told"),
    [
        (
            ("--witness", "Z"),
            1,
            "error no-such-witness: no source has the siglum Z; there are A, B, L",
        ),
        (
            ("--witness", "L"),
            1,
            "error witness-not-carried: L is not encoded, so the file does not hold all that it "
            "has; encoded are B",
        ),
        (
            ("--witness", "B", "--movement", 2),
            1,
            "error witness-not-carried: movement 2 of B is not encoded; the file holds movement 1",
        ),
        (("--witness", "B", "--layers", "text"), 2, "either `--layers text,composer` or"),
        (("--layers", "text", "--movement", 1), 2, "`--movement` goes with `--witness`"),
    ],
)
def test_extract_refuses_a_witness_in_words(
    layered: Path, tmp_path: Path, options: tuple[str | int, ...], code: int, told: str
) -> None:
    result = apparatus("extract", layered, *options, "-o", tmp_path / "x.mei")
    assert result.exit_code == code
    assert told in " ".join(result.output.split())
    assert not (tmp_path / "x.mei").exists()


def test_extract_from_a_file_that_is_not_layered(edition: Path, tmp_path: Path) -> None:
    base = edition / "score" / "1.mei"
    result = apparatus("extract", base, "--layers", "text", "-o", tmp_path / "x.mei")
    assert result.exit_code == 1
    assert "Traceback" not in result.output
    assert "error not-layered" in result.output


def test_help_needs_none_of_the_heavy_packages() -> None:
    heavy = ("verovio", "weasyprint", "lxml", "pydantic", "jinja2", "ruamel", "music21", "rich")
    code = f"import pipeline.cli, sys; print([m for m in {heavy!r} if m in sys.modules])"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"


def test_extract_never_writes_over_the_layered_file(layered: Path) -> None:
    before = layered.read_bytes()
    result = apparatus("extract", layered, "--witness", "B", "-o", layered)
    assert result.exit_code == 2
    assert "is the layered file itself; name another file after `--out`." in result.stderr
    assert layered.read_bytes() == before
