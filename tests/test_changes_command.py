"""`apparatus changes`: two states of an edition, for a publisher, a program and a printer."""

from __future__ import annotations

import json
import shutil
import subprocess
from pathlib import Path

import pytest
from pypdf import PdfReader
from typer.testing import Result

from tests.test_cli import HEAD, MEI, RECORD, apparatus

EXAMPLE = Path(__file__).parents[1] / "example_edition"
PLAYER = EXAMPLE / "players" / "lindqvarn.yaml"


def edition(
    folder: Path, records: str = RECORD, mei: str = MEI, head: str = HEAD, preface: str = ""
) -> Path:
    for name in ("score", "records", "texts"):
        (folder / name).mkdir(parents=True, exist_ok=True)
    (folder / "score" / "1.mei").write_text(mei, encoding="utf-8")
    (folder / "edition.yaml").write_text(head, encoding="utf-8")
    (folder / "records" / "all.yaml").write_text(records, encoding="utf-8")
    if preface:
        (folder / "texts" / "preface.en.md").write_text(preface, encoding="utf-8")
    return folder


@pytest.fixture
def old(tmp_path: Path) -> Path:
    return edition(tmp_path / "old", preface="One.\n\nTwo.\n")


def lines(result: Result) -> list[str]:
    return [" ".join(line.split()) for line in result.stdout.splitlines()]


def test_the_same_state_twice_is_said_to_be_the_same(old: Path) -> None:
    result = apparatus("changes", old, old)
    assert result.exit_code == 0
    assert result.stdout == f"Nothing is otherwise in the state {old} than in the state {old}.\n"
    answer = json.loads(apparatus("changes", old, old, "--format", "json").stdout)
    for key in ("records", "edition", "texts", "music", "written_otherwise", "encodings"):
        assert answer[key] == []


def test_what_an_engraver_has_to_change_stands_by_bar_with_what_was_and_is(
    old: Path, tmp_path: Path
) -> None:
    records = RECORD.replace("fingers: [1, 3]", "fingers: [1, 4]") + (
        "- id: b2-note\n  kind: remark\n  place: {movement: 1, bar: 2}\n  by: editor\n"
        "  date: 2026-02-04\n  reason: Hold it.\n"
    )
    mei = MEI.replace('pname="d" oct="5"', 'pname="e" oct="5"')
    head = HEAD.replace("An Editor", "The Editor")
    new = edition(tmp_path / "new", records, mei, head, "One.\n\nTwo, and more.\n")
    result = apparatus("changes", old, new)
    assert result.exit_code == 0
    assert lines(result) == [
        "movement 1",
        "Bar What Decision Was Is",
        "1 Fingering, changed: “a”, fingers, note 2 b1-fingers 3 4",
        "2, beat 1, note 1 text, Pitch d″ e″",
        "2 Remark, added b2-note Hold it.",
        "",
        "The edition and its sources",
        "What Was Is",
        "agent editor, name An Editor The Editor",
        "",
        "Texts",
        "What Was Is",
        "preface (en) Two. Two, and more.",
        "",
        "added 1, changed 1",
    ]


def test_bars_that_are_gone_and_notation_without_meaning_are_told(
    old: Path, tmp_path: Path
) -> None:
    start, end = MEI.index('<measure xml:id="b2"'), MEI.index("</section>")
    without = edition(tmp_path / "without", mei=MEI[:start] + MEI[end:])
    assert "2 text, Bars lacking bar 2 –" in lines(apparatus("changes", old, without))
    assert "1 text, Bars added – one bar after bar 1" in lines(apparatus("changes", without, old))
    stems = edition(tmp_path / "stems", mei=MEI.replace('dur="2"/>', 'dur="2" stem.dir="up"/>'))
    said = "Movement 1, written otherwise without another meaning: Stem direction 1"
    assert said in lines(apparatus("changes", old, stems))


def test_a_superseded_record_names_its_successor(old: Path, tmp_path: Path) -> None:
    superseded = RECORD + "  status: superseded\n  superseded_by: b1-better\n"
    better = RECORD.replace("b1-fingers", "b1-better").replace("[1, 3]", "[2, 4]")
    new = edition(tmp_path / "new", superseded + better, preface="One.\n\nTwo.\n")
    found = lines(apparatus("changes", old, new))
    assert "1 Fingering, added b1-better “a”: 2, 4" in found
    assert "1 Fingering, superseded b1-fingers “a”: 1, 3 superseded by b1-better" in found


def test_the_language_of_the_list_can_be_chosen(old: Path, tmp_path: Path) -> None:
    new = edition(tmp_path / "new", RECORD.replace("is there", "stays there"))
    found = lines(apparatus("changes", old, new, "--language", "de"))
    assert found[:2] == ["1. Satz", "Takt Was Entscheidung Bisher Jetzt"]
    assert found[2].startswith("1 Fingersatz, anders formuliert: Begründung b1-fingers")
    refused = apparatus("changes", old, new, "--language", "xx")
    assert (refused.exit_code, "no-wording" in refused.stderr) == (1, True)


def test_what_cannot_be_read_is_named_and_the_rest_compared(old: Path, tmp_path: Path) -> None:
    second = RECORD.replace("b1-fingers", "b1-again").replace("bar: 1", "bar: 2")
    broken = second.replace("date: 2026-02-03", "date: soon")
    new = edition(tmp_path / "new", RECORD.replace("[1, 3]", "[1, 4]") + broken)
    both = edition(tmp_path / "both", RECORD + second.replace("[1, 3]", "[1]"))
    result = apparatus("changes", both, new)
    assert result.exit_code == 0
    assert "state-with-errors: this state has errors: records/all.yaml:14:9: `soon` is no date" in (
        result.stderr
    )
    assert "not read: b1-again" in result.stderr
    found = lines(result)
    assert "1 Fingering, changed: “a”, fingers, note 2 b1-fingers 3 4" in found
    assert any("Fingering, cannot be read in one of" in line for line in found)
    assert found[-1] == "changed 1, cannot be read in one of the states 1"
    mirrored = lines(apparatus("changes", new, both))
    assert mirrored[-1] == found[-1]


def test_a_base_text_that_is_gone_leaves_the_records_to_compare(old: Path, tmp_path: Path) -> None:
    new = edition(tmp_path / "new", RECORD.replace("[1, 3]", "[1, 4]"))
    (new / "score" / "1.mei").unlink()
    result = apparatus("changes", old, new)
    assert result.exit_code == 0
    assert "1 Fingering, changed: “a”, fingers, note 2 b1-fingers 3 4" in lines(result)


def test_a_folder_without_edition_yaml_is_told(old: Path, tmp_path: Path) -> None:
    empty = tmp_path / "empty"
    empty.mkdir()
    result = apparatus("changes", old, empty)
    assert result.exit_code == 1
    assert f"{empty}:1:1: error state-not-read: this state cannot be read" in result.stderr


def git(folder: Path, *arguments: str) -> None:
    who = ("-c", "user.name=Somebody", "-c", "user.email=somebody@example.org")
    subprocess.run(["git", *who, *arguments], cwd=folder, check=True, capture_output=True)


needs_git = pytest.mark.skipif(shutil.which("git") is None, reason="git is not installed")


@pytest.fixture
def repository(tmp_path: Path) -> Path:
    """A repository whose folder `sonata` is an edition of two commits, changed once more since."""
    top = tmp_path / "repository"
    folder = edition(top / "sonata")
    git(top, "init", "-q", "-b", "main")
    git(top, "add", ".")
    git(top, "commit", "-q", "-m", "first")
    edition(folder, RECORD.replace("[1, 3]", "[1, 4]"))
    git(top, "commit", "-q", "-a", "-m", "second")
    edition(folder, RECORD.replace("[1, 3]", "[2, 4]"))
    return folder


@needs_git
def test_a_revision_is_read_beside_the_folder(repository: Path) -> None:
    found = lines(apparatus("changes", "HEAD~1", repository))
    assert "1 Fingering, changed: “a”, fingers, notes 1–2 b1-fingers 1, 3 2, 4" in found
    back = lines(apparatus("changes", repository, "HEAD~1"))
    assert "1 Fingering, changed: “a”, fingers, notes 1–2 b1-fingers 2, 4 1, 3" in back


@needs_git
def test_two_revisions_are_read_in_the_editions_folder(
    repository: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(repository)
    found = lines(apparatus("changes", "main~1", "main"))
    assert "1 Fingering, changed: “a”, fingers, note 2 b1-fingers 3 4" in found
    same = apparatus("changes", "main", "HEAD").stdout
    assert same.startswith("Nothing is otherwise in the state HEAD (")


@needs_git
def test_reading_a_revision_leaves_the_repository_alone(repository: Path) -> None:
    def state() -> tuple[str, list[Path]]:
        done = subprocess.run(
            ["git", "status", "--porcelain"],
            cwd=repository,
            check=True,
            capture_output=True,
            text=True,
        )
        return done.stdout, sorted(repository.rglob("*"))

    before = state()
    apparatus("changes", "HEAD~1", repository)
    assert state() == before


@needs_git
@pytest.mark.parametrize(
    ("revision", "said"),
    [
        ("mian", "mian is neither a folder nor a git revision of this edition. Did you mean main?"),
        (
            "main:.",
            "main:. is neither a folder nor a git revision of this edition. Did you mean main?",
        ),
        ("no-such-thing", "no-such-thing is neither a folder nor a git revision"),
        ("--output=x", "No such option"),
    ],
)
def test_what_is_no_revision_is_refused(repository: Path, revision: str, said: str) -> None:
    result = apparatus("changes", revision, repository)
    assert result.exit_code == 2
    assert said in result.stderr


@needs_git
def test_a_revision_without_the_edition_is_refused(repository: Path) -> None:
    other = edition(repository.parent / "other")
    result = apparatus("changes", "HEAD", other)
    assert result.exit_code == 2
    assert "The folder other/ is not there at the revision HEAD." in result.stderr


@needs_git
def test_a_folder_outside_any_repository_has_no_revisions(old: Path) -> None:
    result = apparatus("changes", "HEAD", old)
    assert result.exit_code == 2
    assert f"HEAD is no folder, and {old} is in no git repository" in result.stderr


def test_neither_a_folder_nor_an_edition_to_ask(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    result = apparatus("changes", "yesterday", "today")
    assert result.exit_code == 2
    assert result.stderr == (
        "yesterday is no folder. If it is a git revision, name the edition's folder as the other "
        "state, or call this in that folder.\n"
    )


@pytest.fixture(scope="module")
def changed_example(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The example edition with a digit changed, a record gone, a note mended, a source redated."""
    folder = tmp_path_factory.mktemp("states") / "later"
    shutil.copytree(EXAMPLE, folder, ignore=shutil.ignore_patterns("build", "pages"))
    performance = folder / "records" / "movement-1-performance.yaml"
    text = performance.read_text("utf-8")
    start, end = text.index("- id: I-038-sound"), text.index("- id: I-039-touched-fifth")
    text = text[:start] + text[end:]
    text = text.replace("1 on E, 3, 2, 1, open", "1 on E, 4, 2, 1, open", 1)
    performance.write_text(text, "utf-8")
    head = folder / "edition.yaml"
    head.write_text(head.read_text("utf-8").replace('date: "1888-11"', 'date: "1888-12"'), "utf-8")
    return folder


def test_the_typeset_list_is_a_page_in_each_language(changed_example: Path, tmp_path: Path) -> None:
    for language, title, gone in (
        ("en", "Changes", "Remark, withdrawn"),
        ("de", "Änderungen", "Hinweis, zurückgezogen"),
    ):
        out = tmp_path / f"changes-{language}.pdf"
        result = apparatus(
            "changes", EXAMPLE, changed_example, "--format", "pdf", "--language", language,
            "--out", out,
        )  # fmt: skip
        assert (result.exit_code, result.stderr) == (0, "")
        assert result.stdout == f"{out}\n"
        words = " ".join(page.extract_text() for page in PdfReader(out).pages)
        shown = " ".join(words.split())
        assert title in shown
        assert gone in shown
        assert "I-038-sound" in shown
        assert "1888-12" in shown


def test_the_same_changes_are_the_same_bytes(changed_example: Path, tmp_path: Path) -> None:
    for name in ("a.pdf", "b.pdf"):
        apparatus("changes", EXAMPLE, changed_example, "--format", "pdf", "--out", tmp_path / name)
    assert (tmp_path / "a.pdf").read_bytes() == (tmp_path / "b.pdf").read_bytes()


def test_the_page_shows_markup_in_a_record_as_text(old: Path, tmp_path: Path) -> None:
    new = edition(tmp_path / "new", RECORD.replace("is there", "<script>alert(1)</script>"))
    page = apparatus("changes", old, new, "--format", "html").stdout
    assert "&lt;script&gt;alert(1)&lt;/script&gt;" in page
    assert "<script" not in page


def test_words_in_another_language_than_the_page_say_so(old: Path, tmp_path: Path) -> None:
    new = edition(tmp_path / "new", RECORD.replace("is there", "stays there"))
    page = apparatus("changes", old, new, "--format", "html", "--language", "de").stdout
    assert '<html lang="de">' in page
    assert '<span lang="en">The hand stays there already.</span>' in page


def test_json_holds_paths_values_and_places(old: Path, tmp_path: Path) -> None:
    new = edition(
        tmp_path / "new",
        RECORD.replace("fingers: [1, 3]", "fingers: [1, 4 on G]"),
        MEI.replace('pname="d" oct="5"', 'pname="e" oct="5"'),
    )
    answer = json.loads(apparatus("changes", old, new, "--format", "json").stdout)
    (record,) = answer["records"]
    assert (record["id"], record["turn"]) == ("b1-fingers", "changed")
    assert record["before"]["place"] == {"movement": 1, "bar": "1"}
    assert record["fields"] == [
        {
            "path": ["alternatives", "a", "fingers"],
            "before": ["1", "3"],
            "after": ["1", "4 on G"],
            "prose": False,
        }
    ]
    (note,) = answer["music"]
    assert (note["bar"], note["beat"], note["kind"]) == ("2", "1", "pitch")
    assert (note["before"], note["after"]) == ("d″", "e″")


def test_records_come_in_the_order_of_the_music(changed_example: Path) -> None:
    result = apparatus("changes", EXAMPLE, changed_example, "--format", "json")
    answer = json.loads(result.stdout)
    assert [one["id"] for one in answer["records"]] == ["I-038-sound", "I-061-two-voices"]


def test_a_pdf_needs_a_file_and_only_a_pdf_takes_one(old: Path, tmp_path: Path) -> None:
    for arguments in (["--format", "pdf"], ["--out", str(tmp_path / "x")]):
        result = apparatus("changes", old, old, *arguments)
        assert result.exit_code == 2
        assert "--format pdf --out FILE" in result.stderr


def test_a_players_choices_are_listed_by_day_beside_what_the_edition_prints() -> None:
    result = apparatus("changes", EXAMPLE, PLAYER)
    assert (result.exit_code, result.stderr) == (0, "")
    found = lines(result)
    assert found[0] == "date Bar Decision What Was Is"
    assert found[1] == "2026-10-05 1/3–6 I-003-bow changed 2 + 2 1 + 1 + 1 + 1"
    assert "2026-10-12 1/35–38 I-035-small-hand kept yes yes" in found
    assert "2026-10-12 1/60 I-060-scale changed yes no" in found
    days = [line.split()[0] for line in found[1:]]
    assert days == sorted(days)


def test_two_copies_of_a_player_are_compared(tmp_path: Path) -> None:
    text = PLAYER.read_text("utf-8")
    later = tmp_path / "later.yaml"
    later.write_text(
        text.replace("takes: 1–4 / 1–3\n    date: 2026-10-12", "takes: 1–4\n    date: 2026-11-01"),
        encoding="utf-8",
    )
    found = lines(apparatus("changes", PLAYER, later))
    assert found[1:] == ["2026-11-01 I-053-octaves changed 1–4 / 1–3 1–4"]
    answer = json.loads(apparatus("changes", later, PLAYER, "--format", "json").stdout)
    assert [(c["id"], c["before"], c["after"]) for c in answer["choices"]] == [
        ("I-053-octaves", "1–4", "1–4 / 1–3")
    ]
    assert apparatus("changes", PLAYER, PLAYER).stdout == "No choice differs.\n"


def test_a_copy_with_errors_and_a_form_it_has_not_are_refused(tmp_path: Path) -> None:
    broken = tmp_path / "my.yaml"
    broken.write_text("player: {id: x}\n", encoding="utf-8")
    result = apparatus("changes", EXAMPLE, broken)
    assert result.exit_code == 1
    assert "missing-key" in result.stderr
    assert apparatus("changes", EXAMPLE, PLAYER, "--format", "html").exit_code == 2
    assert apparatus("changes", tmp_path / "none", PLAYER).exit_code == 2
