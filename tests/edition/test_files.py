"""Files of an edition: found inside its folder and nowhere else, read as UTF-8 and nothing else."""

from __future__ import annotations

import os
from pathlib import Path

import pytest

from pipeline.edition.files import MAX_MUSIC_BYTES, MAX_TEXT_BYTES, list_folder, locate, read_text
from pipeline.problems import Origin

HERE = Origin("edition.yaml", 12, 40)


@pytest.fixture
def edition(tmp_path: Path) -> Path:
    folder = tmp_path / "edition"
    (folder / "score").mkdir(parents=True)
    (folder / "score" / "movement-1.mei").write_text("<mei/>", encoding="utf-8")
    (tmp_path / "secret.mei").write_text("<secret/>", encoding="utf-8")
    return folder


def told(folder: Path, written: str) -> str:
    outcome = locate(folder, written, HERE)
    assert outcome.value is None
    (problem,) = outcome.problems
    assert problem.origin == HERE
    return f"{problem.code}: {problem.message}"


def test_a_file_in_the_folder_is_found(edition: Path) -> None:
    outcome = locate(edition, "score/movement-1.mei", HERE)
    assert outcome.problems == ()
    assert outcome.value == (edition / "score" / "movement-1.mei").resolve()


@pytest.mark.parametrize(
    ("written", "message"),
    [
        ("../secret.mei", "outside-folder: `../secret.mei` is a path with `..`, which leads out"),
        ("../../etc/passwd", "outside-folder: `../../etc/passwd` is a path with `..`"),
        ("score/../../secret.mei", "outside-folder: `score/../../secret.mei` is a path with `..`"),
        ("/etc/passwd", "outside-folder: `/etc/passwd` is an absolute path"),
        ("~/secret.mei", "outside-folder: `~/secret.mei` is an absolute path"),
        ("C:/secret.mei", "outside-folder: `C:/secret.mei` is not a path that works on every"),
        ("score\\movement-1.mei", "outside-folder: `score\\movement-1.mei` is not a path that"),
        ("score/movement-2.mei", "missing-file: there is no file `score/movement-2.mei`"),
        ("scores/movement-1.mei", "missing-file: there is no file `scores/movement-1.mei`"),
        ("score/movement-1.mei/x", "missing-file: there is no file `score/movement-1.mei/x`"),
        ("score", "not-a-file: `score` is a folder; a file is needed here"),
        (" ", "missing-file: a file name is empty"),
        ("x" * 5000, "unreadable-file: "),
        ("a\0b", "unreadable-file: "),
    ],
)
def test_other_paths_are_refused(edition: Path, written: str, message: str) -> None:
    assert told(edition, written).startswith(message)


def test_a_misspelt_file_name_is_recognised(edition: Path) -> None:
    (problem,) = locate(edition, "score/movment-1.mei", HERE).problems
    assert problem.remedy == "Did you mean `score/movement-1.mei`?"


def test_links_may_point_inside_the_folder_but_not_out_of_it(edition: Path) -> None:
    (edition / "inside.mei").symlink_to(edition / "score" / "movement-1.mei")
    (edition / "outside.mei").symlink_to(edition.parent / "secret.mei")
    (edition / "away").symlink_to(edition.parent)
    (edition / "circle.mei").symlink_to(edition / "circle.mei")
    (edition / "nowhere.mei").symlink_to(edition.parent / "no-such-file")
    assert locate(edition, "inside.mei", HERE).problems == ()
    leaves = "is a link that leaves the edition folder"
    assert told(edition, "outside.mei") == f"outside-folder: `outside.mei` {leaves}"
    assert told(edition, "away/secret.mei") == f"outside-folder: `away/secret.mei` {leaves}"
    assert told(edition, "nowhere.mei") == f"outside-folder: `nowhere.mei` {leaves}"
    assert told(edition, "circle.mei") == "unreadable-file: `circle.mei` cannot be opened"


def test_a_folder_reached_through_a_link_is_still_the_edition(edition: Path) -> None:
    link = edition.parent / "current"
    link.symlink_to(edition)
    assert locate(link, "score/movement-1.mei", HERE).problems == ()


def test_pipes_are_not_opened(edition: Path) -> None:
    os.mkfifo(edition / "pipe.mei")
    assert told(edition, "pipe.mei").startswith("not-a-file: `pipe.mei` is not an ordinary file")


def test_empty_and_enormous_files_are_refused(edition: Path) -> None:
    (edition / "empty.mei").touch()
    with (edition / "huge.mei").open("wb") as sparse:
        sparse.truncate(MAX_MUSIC_BYTES + 1)
    assert told(edition, "empty.mei") == "empty-file: `empty.mei` is empty"
    assert told(edition, "huge.mei") == (
        "file-too-large: `huge.mei` has 64.0 MB; at most 64 MB are read"
    )


def read(folder: Path, data: bytes) -> str | None:
    (folder / "text.md").write_bytes(data)
    outcome = read_text(folder, "text.md")
    assert outcome.problems == ()
    return outcome.value


def refused(folder: Path, data: bytes) -> str:
    (folder / "text.md").write_bytes(data)
    (problem,) = read_text(folder, "text.md").problems
    return f"{problem.origin} {problem.code}: {problem.message}"


def test_a_text_is_read_as_utf_8_with_or_without_its_mark(edition: Path) -> None:
    assert read(edition, "Bogen über 4 Noten, ♯".encode()) == "Bogen über 4 Noten, ♯"
    assert read(edition, "Bogen über 4 Noten".encode("utf-8-sig")) == "Bogen über 4 Noten"


@pytest.mark.parametrize(
    ("data", "message"),
    [
        (
            "eins\nBogen über".encode("latin-1"),
            "text.md:2:7 wrong-encoding: this character is not UTF-8; "
            "as Latin-1 or Windows-1252 it would be `ü`",
        ),
        ("über".encode("utf-16"), "text.md:1:1 wrong-encoding: the file is saved as UTF-16"),
        ("über".encode("utf-32"), "text.md:1:1 wrong-encoding: the file is saved as UTF-32"),
        (
            "über".encode("utf-16-le"),
            "text.md:1:1 wrong-encoding: the file is not text, or saved as UTF-16",
        ),
        (b"", "text.md:1:1 empty-file: `text.md` is empty"),
        (b" \n\n", "text.md:1:1 empty-file: `text.md` holds only spaces"),
        (
            b"one\r\ntwo \x07",
            "text.md:2:5 unprintable-character: an invisible character stands here (U+0007)",
        ),
        (
            "one\u2028two".encode(),
            "text.md:1:4 unprintable-character: an invisible character stands here (U+2028)",
        ),
        (
            b"x" * (MAX_TEXT_BYTES + 1),
            "text.md:1:1 file-too-large: `text.md` has 4.0 MB; at most 4 MB are read",
        ),
    ],
)
def test_other_texts_are_refused_where_they_go_wrong(
    edition: Path, data: bytes, message: str
) -> None:
    assert refused(edition, data) == message


def test_a_folder_lists_its_files_in_order_without_hidden_ones(edition: Path) -> None:
    for name in ("b.yaml", "a.yaml", ".a.yaml.swp", "a.yaml~"):
        (edition / "score" / name).touch()
    assert list_folder(edition, "score").value == ("a.yaml", "b.yaml", "movement-1.mei")


def test_a_folder_that_lies_elsewhere_is_not_listed(edition: Path) -> None:
    (edition / "records").symlink_to(edition.parent)
    outcome = list_folder(edition, "records")
    assert outcome.value is None
    assert [problem.code for problem in outcome.problems] == ["outside-folder"]
