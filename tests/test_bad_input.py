"""Bad and hostile input at the command line: the first line that is printed, and what is not done.

One table a file that can be wrong. The small edition is sound; each case changes one thing in it.
Nothing may be read from outside the folder, nothing written, nothing left behind.
"""

from __future__ import annotations

import os
from pathlib import Path

import pytest
from typer.testing import CliRunner, Result

from pipeline.cli import app
from tests.test_cli import HEAD, MEI, RECORD

HEADS = "edition.yaml"
RECORDS = "records/all.yaml"
SCORE = "score/1.mei"
WHOLE = {HEADS: HEAD, RECORDS: RECORD, SCORE: MEI}
SECRET = "a-secret-beside-the-edition"

LAUGHS = "".join(
    f'<!ENTITY {this} "{f"&{before};" * 10}">'
    for before, this in zip("abcdefgh", "bcdefghi", strict=True)
)
FORBIDDEN_DECLARATIONS = (
    "error declarations-in-xml: the file declares entities or a document type of its own; "
    "such declarations can pull in other files or fill the memory"
)


@pytest.fixture
def edition(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    folder = tmp_path / "edition"
    for file, text in WHOLE.items():
        (folder / file).parent.mkdir(parents=True, exist_ok=True)
        (folder / file).write_text(text, encoding="utf-8")
    (tmp_path / "secret.mei").write_text(MEI.replace("Two bars", SECRET), encoding="utf-8")
    scratch = tmp_path / "scratch"
    scratch.mkdir()
    monkeypatch.setattr("tempfile.tempdir", str(scratch))
    monkeypatch.chdir(scratch)
    return folder


def apparatus(*arguments: object) -> Result:
    return CliRunner().invoke(app, [str(a) for a in arguments], catch_exceptions=False)


def first_line(result: Result) -> str:
    assert result.exit_code == 1, result.output
    assert SECRET not in result.output
    return result.stdout.splitlines()[0]


def changed(file: str, old: str, new: str) -> str:
    assert old in WHOLE[file]
    return WHOLE[file].replace(old, new, 1)


SLIPS = [
    # edition.yaml
    (HEADS, "scoring: Violin", "scoring: Violin\nscoring: Viola",
     "edition.yaml:3:1: error duplicate-key: `scoring` stands here again; line 2 has it already"),
    (HEADS, "movements:", "movement:",
     "edition.yaml:9:1: error unknown-key: `movement` is no key of an edition"),
    (HEADS, "  A: {", "  A 1: {", "edition.yaml:8:3: error wrong-value: `A 1` is no siglum"),
    (HEADS, "  A: {", '  "A\\u202eB": {',
     "edition.yaml:8:3: error wrong-value: `A\\u202eB` is no siglum"),
    (HEADS, "  A: {", '  "": {', "edition.yaml:8:3: error wrong-value: this is no siglum"),
    (HEADS, "principal: true", "principal: true, copied_from: A",
     "edition.yaml:8:73: error stemma-circle: A is said to be copied from itself"),
    (HEADS, "role: editor", "role: boss",
     "edition.yaml:6:35: error wrong-value: `role` is `boss`; one of `composer`, `editor`, "
     "`engraver`, `dedicatee`, `performer`, `scribe`, `publisher` or `tradition` is needed here"),
    (HEADS, "score/1.mei", "../secret.mei",
     "edition.yaml:10:26: error outside-folder: `../secret.mei` is a path with `..`, "
     "which leads out of the edition folder"),
    (HEADS, "score/1.mei", "/etc/passwd",
     "edition.yaml:10:26: error outside-folder: `/etc/passwd` is an absolute path, "
     "which may lie outside the edition folder"),
    # records
    (RECORDS, "kind: fingering", "kind: variant",
     "records/all.yaml:2:9: error unknown-record-kind: movement 1, bar 1: "
     "`variant` is no kind of record"),
    (RECORDS, "bar: 1}", "bar: 14}",
     "records/all.yaml:3:24: error no-such-bar: movement 1, bar 14: "
     "there is no bar 14; movement 1 has bars 1 to 2"),
    (RECORDS, "bar: 1}", 'bar: "\\u202e1"}',
     "records/all.yaml:3:24: error no-such-bar: movement 1, bar \\u202e1: "
     "there is no bar \\u202e1; movement 1 has bars 1 to 2"),
    (RECORDS, "bar: 1}", "bar: 1, beat: 3}",
     "records/all.yaml:3:32: error no-such-beat: movement 1, bar 1, violin: "
     "there is no beat 3; bar 1 has 2 beats"),
    (RECORDS, "bar: 1}", "bar: 1, beat: 1e999999999}",
     "records/all.yaml:3:38: error wrong-value: movement 1, bar 1: `1e999999999` is no beat"),
    (RECORDS, "bar: 1}", "bar: 1, note: 3}",
     "records/all.yaml:3:32: error no-such-note: movement 1, bar 1, violin: "
     "there is no note 3; bar 1 of the violin has 2 notes: 1 g′, 2 b′"),
    (RECORDS, "bar: 1}", 'bar: 1, staff: "²"}',
     'records/all.yaml:3:32: error no-such-staff: movement 1, bar 1: there is no staff "²"; '
     "staves here: 1 Violin"),
    (RECORDS, "[1, 3]", "[1, 5]",
     "records/all.yaml:9:30: error no-such-finger: movement 1, bar 1: there is no finger 5"),
    (RECORDS, "[1, 3]", "[1, 3 on B]",
     "records/all.yaml:9:30: error no-such-string: movement 1, bar 1: the violin has no B string"),
    (RECORDS, "[1, 3]", "[1]",
     "records/all.yaml:9:17: error fingering-count: movement 1, bar 1: "
     "`a` has 1 entry for 2 notes:"),
    (RECORDS, "[A]", "[B]",
     "records/all.yaml:6:26: error unknown-siglum: movement 1, bar 1: "
     "`B` is not the siglum of a witness"),
    (RECORDS, "2026-02-03", "2026-02-30",
     "records/all.yaml:5:9: error wrong-value: movement 1, bar 1: "
     "the calendar has no day 2026-02-30"),
    (RECORDS, "id: b1-fingers", "id: ../x",
     "records/all.yaml:1:7: error wrong-value: movement 1, bar 1: `../x` is no id of a record"),
    (RECORDS, "reason: The", "reason: it says: The",
     "records/all.yaml:7:18: error malformed-yaml: a text with a colon in it is not in quotes"),
    (RECORDS, "  by: editor", "\tby: editor",
     "records/all.yaml:4:1: error malformed-yaml: a tab stands here; YAML is indented with spaces"),
    (RECORDS, "by: editor", "by: !!python/object/apply:os.system [id]",
     "records/all.yaml:4:7: error yaml-tag: "
     "`tag:yaml.org,2002:python/object/apply:o…` is a YAML tag; an edition has none"),
    (RECORDS, "  by: editor", "  status: superseded\n  superseded_by: b1-fingers\n  by: editor",
     "records/all.yaml:5:3: error superseded-in-a-circle: movement 1, bar 1: "
     "`b1-fingers` is replaced by itself"),
    # the score
    (SCORE, ' dur="4"', "", "score/1.mei:8:1: error no-note-value: bar 1: "
     "this note has no note value"),
    (SCORE, 'meter.count="2"', 'meter.count="1e999999999"',
     'score/1.mei:4:1: error unreadable-signature: meter "1e999999999/4" cannot be read'),
    (SCORE, 'meter.count="2"', 'meter.count="²"',
     'score/1.mei:4:1: error unreadable-signature: meter "²/4" cannot be read'),
    (SCORE, 'keysig="0"', f'keysig="{"9" * 5000}s"',
     f'score/1.mei:4:1: error unreadable-signature: key signature "{"9" * 5000}s" cannot be read'),
    (SCORE, "</staff></measure>", '</staff><dynam tstamp="1e999999999">f</dynam></measure>',
     'score/1.mei:9:1: error unreadable-time: bar 1: tstamp="1e999999999" is not a time'),
    (SCORE, 'xml:id="n1"', 'xml:id="n2"',
     'score/1.mei:8:89: error duplicate-xml-id: the xml:id "n2" is used a second time'),
    (SCORE, 'meiversion="5.1"', 'meiversion="9.0"',
     "score/1.mei:2:1: error unknown-mei-version: "
     "the file is in MEI 9.0; versions 3.0, 4.0, 5.0 and 5.1 are read"),
    (SCORE, ' xmlns="http://www.music-encoding.org/ns/mei"', "",
     "score/1.mei:2:1: error wrong-namespace: `mei` is not in the namespace of MEI"),
    (SCORE, "</mdiv>", "</mdiv><mdiv><score/></mdiv>",
     "score/1.mei:12:1: error several-movements: "
     "the file holds 2 scores; a file of the edition holds one movement"),
]  # fmt: skip


@pytest.mark.parametrize(("file", "old", "new", "line"), SLIPS)
def test_a_slip_is_told_at_its_place(
    edition: Path, file: str, old: str, new: str, line: str
) -> None:
    (edition / file).write_text(changed(file, old, new), encoding="utf-8")
    assert first_line(apparatus("check", edition)) == line


XML_1_0 = '<?xml version="1.0"?>\n'
BODY = MEI.split("\n", 1)[1]
FILES = [
    pytest.param(HEADS, b"", "edition.yaml:1:1: error empty-file: `edition.yaml` is empty",
                 id="empty"),
    pytest.param(HEADS, HEAD.encode("utf-16"),
                 "edition.yaml:1:1: error wrong-encoding: the file is saved as UTF-16",
                 id="UTF-16"),
    pytest.param(HEADS, HEAD.replace("An Editor", "Jörg").encode("latin-1"),
                 "edition.yaml:6:19: error wrong-encoding: this character is not UTF-8; "
                 "as Latin-1 or Windows-1252 it would be `ö`", id="Latin-1"),
    pytest.param(HEADS, b"just words\n",
                 "edition.yaml:1:1: error wrong-value: `edition.yaml` has no keys", id="no keys"),
    pytest.param(RECORDS, f"{RECORD}---\n{RECORD}".encode(),
                 "records/all.yaml:10:1: error malformed-yaml: a second document begins here",
                 id="two documents"),
    pytest.param(RECORDS, (RECORD + RECORD).encode(),
                 "records/all.yaml:10:3: error duplicate-record-id: "
                 "`b1-fingers` is a record in records/all.yaml, line 1, already", id="copied"),
    pytest.param(SCORE, MEI[:700].encode(),
                 "score/1.mei:11:50: error truncated-xml: "
                 "the file breaks off, its end is missing (expected '>')", id="truncated"),
    pytest.param(SCORE, b"%PDF-1.7 ...",
                 "score/1.mei:1:1: error not-xml: this is not an XML file", id="a PDF"),
    pytest.param(SCORE, b"<html/>",
                 "score/1.mei:1:1: error not-music: "
                 "the file begins with `html`; MEI or MusicXML is expected", id="HTML"),
    pytest.param(SCORE, b"<score-timewise/>",
                 "score/1.mei:1:1: error timewise-musicxml: "
                 "the file is ordered by bars (score-timewise), which is not read", id="timewise"),
    pytest.param(SCORE,
                 f'{XML_1_0}<!DOCTYPE mei [<!ENTITY x SYSTEM "../../secret.mei">]>\n'
                 f'{BODY.replace("Two bars", "&x;")}'.encode(),
                 f"score/1.mei:2:15: {FORBIDDEN_DECLARATIONS}", id="external entity"),
    pytest.param(SCORE,
                 f'{XML_1_0}<!DOCTYPE mei [<!ENTITY a "lol">{LAUGHS}]>\n'
                 f'{BODY.replace("Two bars", "&i;")}'.encode(),
                 f"score/1.mei:2:15: {FORBIDDEN_DECLARATIONS}", id="billion laughs"),
    pytest.param(SCORE,
                 '<?xml version="1.0" encoding="UTF-7"?>\n<!DOCTYPE mei [<!ENTITY x "y">]>\n'
                 f'{BODY}'.encode("utf-7"),
                 f"score/1.mei:1:1: {FORBIDDEN_DECLARATIONS}", id="entity in UTF-7"),
    pytest.param(SCORE, b"PK\x03\x04 cut off",
                 "score/1.mei:1:1: error damaged-archive: "
                 "the compressed file cannot be unpacked (File is not a zip file)", id="archive"),
]  # fmt: skip


@pytest.mark.parametrize(("file", "data", "line"), FILES)
def test_a_file_of_another_kind_is_told(edition: Path, file: str, data: bytes, line: str) -> None:
    (edition / file).write_bytes(data)
    assert first_line(apparatus("check", edition)) == line


def leave_by_a_link(edition: Path, file: str) -> None:
    (edition / file).unlink()
    (edition / file).symlink_to(edition.parent / "secret.mei")


@pytest.mark.parametrize(
    ("file", "at"),
    [(HEADS, f"{HEADS}:1:1"), (RECORDS, f"{RECORDS}:1:1"), (SCORE, f"{HEADS}:10:26")],
)
def test_a_link_out_of_the_folder_is_not_followed(edition: Path, file: str, at: str) -> None:
    leave_by_a_link(edition, file)
    assert first_line(apparatus("check", edition)) == (
        f"{at}: error outside-folder: `{file}` is a link that leaves the edition folder"
    )


def test_a_link_that_leads_nowhere_is_not_proposed_itself(edition: Path) -> None:
    (edition / SCORE).unlink()
    (edition / SCORE).symlink_to("nowhere.mei")
    result = apparatus("check", edition)
    assert "there is no file `score/1.mei`\n    Add the file, or correct the path" in result.stdout


def test_a_pipe_among_the_records_is_not_waited_for(edition: Path) -> None:
    os.mkfifo(edition / "records" / "pipe.yaml")
    assert first_line(apparatus("check", edition)) == (
        "records/pipe.yaml:1:1: error not-a-file: "
        "`records/pipe.yaml` is not an ordinary file; a file is needed here"
    )


def test_records_in_a_folder_below_are_not_lost_in_silence(edition: Path) -> None:
    below = edition / "records" / "second movement"
    below.mkdir()
    assert apparatus("check", edition).exit_code == 0
    (below / "more.yaml").write_text(RECORD, encoding="utf-8")
    assert first_line(apparatus("check", edition)) == (
        "records/second movement:1:1: error file-not-read: "
        "`second movement` is a folder with files of records; they are not read there"
    )


def everything(folder: Path) -> dict[Path, bytes]:
    return {path: path.read_bytes() for path in folder.rglob("*") if path.is_file()}


def test_prose_is_text_whatever_it_looks_like(edition: Path) -> None:
    prose = "<script>1</script> {{ 7*7 }} {% for %} <img src=/etc/passwd> =1+1"
    record = RECORD.replace("The hand is there already.", f"'{prose}'")
    (edition / RECORDS).write_text(record, encoding="utf-8")
    result = apparatus("build", edition, "--only", "decisions", "--only", "edition")
    assert result.exit_code == 0, result.output
    assert prose in (edition / "build" / "decisions.csv").read_text("utf-8")
    mei = (edition / "build" / "edition.mei").read_text("utf-8")
    assert "&lt;script&gt;1&lt;/script&gt; {{ 7*7 }} {% for %}" in mei


@pytest.mark.parametrize("out", ["edition.yaml", ".", "records", "score", "texts/../records"])
def test_a_build_does_not_go_among_the_files_of_the_edition(edition: Path, out: str) -> None:
    before = everything(edition.parent)
    result = apparatus("build", edition, "--only", "decisions", "--out", edition / out)
    assert result.exit_code == 2
    assert result.stderr.endswith("name a folder after `--out`.\n") or result.stderr.endswith(
        "holds files of the edition; name a folder of its own after `--out`.\n"
    )
    assert everything(edition.parent) == before


@pytest.mark.parametrize("out", ["edition.yaml/x", "x" * 300])
def test_a_build_that_cannot_be_written_is_told(edition: Path, out: str) -> None:
    before = everything(edition.parent)
    result = apparatus("build", edition, "--only", "decisions", "--out", edition / out)
    assert result.exit_code == 1
    assert f"{edition / out}:1:1: error cannot-write: this cannot be written: " in result.stderr
    assert result.stderr.endswith("1 error, 0 warnings\nNothing was written.\n")
    assert everything(edition.parent) == before


def test_a_build_writes_all_of_its_files_or_none(edition: Path, tmp_path: Path) -> None:
    (tmp_path / "out" / "decisions.csv").mkdir(parents=True)
    result = apparatus("build", edition, "--only", "decisions", "--out", tmp_path / "out")
    assert result.exit_code == 1
    assert "error cannot-write: this cannot be written: a folder has this name" in result.stderr
    assert [path.name for path in (tmp_path / "out").iterdir()] == ["decisions.csv"]


def test_a_build_leaves_other_files_of_its_folder_alone(edition: Path, tmp_path: Path) -> None:
    (tmp_path / "out").mkdir()
    (tmp_path / "out" / "letter.txt").write_text("mine", encoding="utf-8")
    for _ in range(2):
        result = apparatus("build", edition, "--only", "decisions", "--out", tmp_path / "out")
        assert result.exit_code == 0
    names = sorted(path.name for path in (tmp_path / "out").iterdir())
    assert names == ["decisions.csv", "decisions.json", "letter.txt"]


LAYERED = MEI.replace("Two bars", "No layers")


@pytest.mark.parametrize(
    ("layers", "out", "code", "told"),
    [
        ("", "x.mei", 2, "Name what to take out: either `--layers text,composer` or"),
        ("text,foo", "x.mei", 1, "error no-such-layer: there is no layer `foo`; the layers are"),
        ("text", ".", 2, "is a folder; name the file to write after `--out`."),
        ("text", "x.mei", 1, "error not-layered: the file has no taxonomy of layers in"),
    ],
)
def test_extract_tells_what_it_cannot_do(
    tmp_path: Path, layers: str, out: str, code: int, told: str
) -> None:
    file = tmp_path / "in.mei"
    file.write_text(LAYERED, encoding="utf-8")
    result = apparatus("extract", file, "--layers", layers, "--out", tmp_path / out)
    assert result.exit_code == code
    assert told in result.stderr
    assert [path.name for path in tmp_path.iterdir()] == ["in.mei"]


def test_extract_reads_no_more_than_a_score_can_have(tmp_path: Path) -> None:
    with (tmp_path / "huge.mei").open("wb") as sparse:
        sparse.truncate(1 << 36)
    huge = tmp_path / "huge.mei"
    result = apparatus("extract", huge, "--layers", "text", "--out", tmp_path / "x.mei")
    assert result.exit_code == 1
    assert "Traceback" not in result.output
    assert not (tmp_path / "x.mei").exists()


def test_places_of_music_that_cannot_be_read_tells_only_why(edition: Path) -> None:
    (edition / SCORE).write_text("no music", encoding="utf-8")
    result = apparatus("places", edition, 1, 1)
    assert result.exit_code == 1
    assert result.stderr.splitlines()[0] == (
        "score/1.mei:1:1: error not-xml: this is not an XML file"
    )
    assert result.stderr.endswith("1 error, 0 warnings\n")
