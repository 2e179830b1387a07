"""A whole edition folder: what is read, in which order, and what is told when parts are missing."""

from __future__ import annotations

from datetime import date
from fractions import Fraction
from pathlib import Path

import pytest

from pipeline.edition.fingers import Finger, Fingering
from pipeline.edition.head import Role, WitnessKind
from pipeline.edition.model import Edition
from pipeline.edition.read import read_edition
from pipeline.edition.records import Bowing, FingeringRecord, Reading
from pipeline.edition.strict import in_language
from pipeline.problems import as_text
from tests.edition.right_records import HEAD, RECORDS, edition_folder, with_line


@pytest.fixture
def edition(tmp_path: Path) -> Edition:
    files = {"2-later.yaml": RECORDS["remark"], "1-first.yaml": "".join([*RECORDS.values()][:6])}
    folder = edition_folder(tmp_path / "edition", files)
    (folder / "texts").mkdir()
    (folder / "texts" / "preface.en.md").write_text("# Preface\n", encoding="utf-8")
    (folder / "texts" / "preface.de.md").write_text("# Vorwort\n", encoding="utf-8")
    outcome = read_edition(folder)
    assert outcome.problems == ()
    assert outcome.value is not None
    return outcome.value


def told(folder: Path) -> list[str]:
    return [as_text(problem) for problem in read_edition(folder).problems]


def test_records_come_file_by_file_in_the_order_written(edition: Edition) -> None:
    assert [filed.record.kind for filed in edition.records] == [*RECORDS]
    files = {filed.origins.at().file for filed in edition.records[:6]}
    assert files == {"records/1-first.yaml"}
    assert str(edition.records[6].origins.at("place", "bar")) == "records/2-later.yaml:3:24"


def test_the_head_says_who_and_which_sources(edition: Edition) -> None:
    head = edition.head
    assert head.main_language == "en"
    assert head.agents["composer"].role is Role.COMPOSER
    assert head.agents["composer"].years == "1851–1919"
    assert head.witnesses["A"].kind is WitnessKind.AUTOGRAPH
    assert head.witnesses["A"].date == "1886"
    assert head.witnesses["A"].principal
    assert head.witnesses["A"].encodings == {1: "witnesses/A.mei"}
    assert not head.witnesses["E1"].principal
    assert head.witnesses["E1"].copied_from == ("A",)
    assert head.movements[0].tempo is not None
    assert head.movements[0].tempo.beat == "4."
    assert in_language(head.subtitle, "en", "en") == "for Violin and Piano"
    assert in_language(head.subtitle, "de", "en") is None
    assert in_language(head.title, "de", "en") == "Sonate in G"


def test_the_head_knows_its_lines_also_under_numbers(edition: Edition) -> None:
    at = edition.head_origins.at
    assert at("witnesses", "E1").line == HEAD[: HEAD.index("  E1:")].count("\n") + 1
    line = HEAD.splitlines().index("    encodings: {1: witnesses/A.mei}") + 1
    assert (
        at("witnesses", "A", "encodings", 1).line,
        at("witnesses", "A", "encodings", 1).col,
    ) == (
        line,
        17,
    )
    assert at("rights", "not written").line == HEAD.splitlines().index("rights: Free to copy.") + 1


def test_values_mean_what_their_fields_say(edition: Edition) -> None:
    reading, fingering, bowing = (edition.records[n].record for n in (0, 2, 3))
    assert isinstance(reading, Reading)
    assert reading.place.bar == "14a"
    assert reading.place.beat == Fraction(7, 3)
    assert reading.date == date(2025, 3, 2)
    assert reading.evidence.literature[0].at == "12"
    assert reading.readings[0].witnesses == ("E1",)
    assert isinstance(fingering, FingeringRecord)
    assert [a.name for a in fingering.alternatives] == ["alternating", "plain"]
    assert fingering.alternatives[1].fingers[0] == Fingering(
        fingers=(Finger(digit="1"), Finger(digit="4"))
    )
    assert isinstance(bowing, Bowing)
    assert bowing.alternatives[0].signs == {1: "down", 5: "up"}
    assert bowing.alternatives[0].divide_after == (4,)


def test_texts_are_known_by_name_and_language(edition: Edition) -> None:
    assert [(text.name, text.language, text.markdown) for text in edition.texts] == [
        ("preface", "de", "# Vorwort\n"),
        ("preface", "en", "# Preface\n"),
    ]
    assert edition.texts[1].origin.file == "texts/preface.en.md"


def test_a_folder_that_is_not_there_is_told(tmp_path: Path) -> None:
    missing = tmp_path / "no-edition"
    assert told(missing) == [
        f"{missing}:1:1: error missing-folder: there is no folder `{missing}`\n"
        "    Name the folder that holds `edition.yaml`."
    ]
    missing.touch()
    (line,) = told(missing)
    assert "is a file; an edition is a folder" in line


def test_all_that_is_missing_is_told_at_once(tmp_path: Path) -> None:
    assert told(tmp_path) == [
        "edition.yaml:1:1: error missing-file: there is no file `edition.yaml`\n"
        "    Add the file, or correct the path; it counts from the edition folder.",
        "records:1:1: error missing-folder: there is no folder `records`\n"
        "    Make a folder `records` beside edition.yaml.",
    ]


def test_records_are_judged_also_where_edition_yaml_cannot_be_used(tmp_path: Path) -> None:
    head = with_line(HEAD, "scoring:", "scorring: violin")
    wrong = with_line(RECORDS["remark"], "by:", "bye: editor")
    assert told(edition_folder(tmp_path / "edition", {"a.yaml": wrong}, head)) == [
        "edition.yaml:3:1: error unknown-key: `scorring` is no key of an edition\n"
        "    Did you mean `scoring`?",
        "records/a.yaml:4:3: error unknown-key: movement 1, bar 70: "
        "`bye` is no key of a remark record\n    Did you mean `by`?",
    ]


@pytest.mark.parametrize(
    ("line", "instead", "message"),
    [
        (
            "languages:",
            "languages: english",
            "edition.yaml:4:12: error wrong-value: `english` is no",
        ),
        ("composer:", "A composer: {name: x, role: composer}", "`A composer` is no id of an agent"),
        (
            "editor:",
            "editor: {name: An Editor, role: editior}",
            "one of `composer`, `editor`, `engraver`, `dedicatee`, `performer`, `scribe`, "
            "`publisher` or `tradition` is needed here\n    Did you mean `editor`?",
        ),
        ("E1:", "First part: {kind: printed part, title: x}", "`First part` is no siglum"),
        (
            "- {n: 1",
            "- {n: 1, title: x, base: a.mei, tempo: {beat: 3, per_minute: 1}}",
            "`3` is no",
        ),
        (
            "- {n: 1",
            "- {n: 1, title: x, base: a.mei, tempo: {beat: 4, per_minute: fast}}",
            "`per_minute` is `fast`; a number is needed here",
        ),
        (
            "- {n: 1",
            "- {n: 1, title: x, base: a.mei, tempo: {beat: 4, per_minute: 0}}",
            "`per_minute` is `0`; more than 0 is needed here",
        ),
        ("encodings:", "encodings: {one: a.mei}", "the key is `one`; a whole number is needed"),
        ("encodings:", "encodings: witnesses/A.mei", "a set of keys is needed here"),
        ("title:", "- title", "malformed-yaml"),
    ],
)
def test_slips_in_edition_yaml(tmp_path: Path, line: str, instead: str, message: str) -> None:
    folder = edition_folder(tmp_path / "edition", {}, with_line(HEAD, line, instead))
    outcome = read_edition(folder)
    assert outcome.value is None
    (problem,) = outcome.problems
    assert message in as_text(problem)


@pytest.mark.parametrize("head", ["- title: x\n", "Sonata\n", "# nothing yet\n"])
def test_an_edition_yaml_without_keys_is_told(tmp_path: Path, head: str) -> None:
    (line,) = told(edition_folder(tmp_path / "edition", {}, head))
    assert line.startswith("edition.yaml:1:1: error wrong-value: `edition.yaml` has no keys")


def test_one_file_that_cannot_be_read_does_not_hide_the_others(tmp_path: Path) -> None:
    folder = edition_folder(
        tmp_path / "edition",
        {
            "a.yaml": "- id: [\n",
            "b.yaml": RECORDS["remark"].replace("turn", "wende, später").encode("latin-1"),
            "c.yaml": b"",
            "d.yaml": RECORDS["remark"],
            "e.yaml": "# to be written\n",
            "f.yml": RECORDS["ossia"],
            "notes.md": "not records\n",
        },
    )
    (folder / "records" / "g.yaml").mkdir()
    (folder / "records" / "h.yaml").symlink_to("/etc/passwd")
    outcome = read_edition(folder)
    assert outcome.value is not None
    assert [filed.record.id for filed in outcome.value.records] == ["b70-page"]
    assert [(str(p.origin), p.severity.value, p.code) for p in outcome.problems] == [
        ("records/a.yaml:2:1", "error", "malformed-yaml"),
        ("records/b.yaml:7:27", "error", "wrong-encoding"),
        ("records/c.yaml:1:1", "error", "empty-file"),
        ("records/e.yaml:1:1", "warning", "no-records"),
        ("records/f.yml:1:1", "error", "file-not-read"),
        ("records/g.yaml:1:1", "error", "not-a-file"),
        ("records/h.yaml:1:1", "error", "outside-folder"),
    ]


def test_an_id_belongs_to_one_record_in_all_files(tmp_path: Path) -> None:
    folder = edition_folder(
        tmp_path / "edition", {"a.yaml": RECORDS["remark"], "b.yaml": RECORDS["remark"]}
    )
    assert told(folder) == [
        "records/b.yaml:1:3: error duplicate-record-id: "
        "`b70-page` is a record in records/a.yaml, line 1, already\n"
        "    Give this record an id of its own."
    ]


def test_a_text_has_to_say_its_language(tmp_path: Path) -> None:
    folder = edition_folder(tmp_path / "edition", {"a.yaml": RECORDS["remark"]})
    (folder / "texts").mkdir()
    (folder / "texts" / "preface.md").write_text("# Preface\n", encoding="utf-8")
    (folder / "texts" / "method.en.md").write_text("# Method\n", encoding="utf-8")
    assert told(folder) == [
        "texts/preface.md:1:1: error text-without-language: "
        "`preface.md` does not say its language\n"
        "    Name it as NAME.LANGUAGE.md, such as preface.en.md."
    ]
