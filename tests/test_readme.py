"""What the README shows is what the example edition holds and what the program says."""

from __future__ import annotations

import re
import shutil
from pathlib import Path

from typer.testing import CliRunner

from pipeline.build import examine
from pipeline.cli import app
from pipeline.edition.choices import read_choices
from pipeline.problems import Origin, as_text
from pipeline.score.read import read_passage

ROOT = Path(__file__).resolve().parents[1]
README = (ROOT / "README.md").read_text("utf-8")
EXAMPLE = ROOT / "example_edition"


def block(kind: str) -> str:
    (found,) = blocks(kind)
    return found


def blocks(kind: str) -> list[str]:
    return re.findall(rf"^```{kind}\n(.*?)^```$", README, re.M | re.S)


def test_the_record_shown_stands_in_the_example() -> None:
    records = "".join(f.read_text("utf-8") for f in (EXAMPLE / "records").glob("*.yaml"))
    assert blocks("yaml")[0] in records


def test_the_copy_of_a_player_that_is_shown_has_no_problem(tmp_path: Path) -> None:
    file = tmp_path / "my-choices.yaml"
    file.write_text(blocks("yaml")[1], encoding="utf-8")
    own = read_choices(file)
    assert own.value is not None, own.problems
    assert examine(EXAMPLE, own=own.value).problems == ()


def test_the_problem_shown_is_what_is_told(tmp_path: Path) -> None:
    edition = tmp_path / "edition"
    shutil.copytree(EXAMPLE, edition, ignore=shutil.ignore_patterns("build", "pages"))
    file = edition / "records" / "movement-1-performance.yaml"
    last = "[open, 1], [1, 2], [3, 4], [1, 2]\n"
    written = file.read_text("utf-8")
    assert written.count(last) == 1
    file.write_text(written.replace(last, last.replace(", [1, 2]\n", "\n")), encoding="utf-8")
    assert "".join(as_text(p) + "\n" for p in examine(edition).problems) == block("text")


def test_the_example_edition_has_no_problem() -> None:
    assert examine(EXAMPLE).problems == ()


def test_the_calls_of_collate_that_are_shown(tmp_path: Path) -> None:
    """Every difference of the example has its record, so that nothing is left to draft."""
    edition = tmp_path / "example_edition"
    shutil.copytree(EXAMPLE, edition, ignore=shutil.ignore_patterns("build", "pages"))
    before = sorted(file.name for file in (edition / "records").iterdir())
    calls = re.findall(r"^\.venv/bin/apparatus (collate [^#\n]*)", README, re.M)
    told = []
    for call in calls:
        arguments = call.replace("example_edition", str(edition)).split()
        answer = CliRunner().invoke(app, arguments)
        assert answer.exit_code == 0, answer.output
        told.append(answer.output)
    lines, drafted = told
    assert re.search(r" 15 .* S .* I-015-open-string", lines)
    assert drafted == "Nothing was written: no difference is left without a record.\n"
    assert sorted(file.name for file in (edition / "records").iterdir()) == before


def test_the_calls_of_extract_that_are_shown(tmp_path: Path) -> None:
    """Both read what `build` has written; the source that is given back is the one encoded."""
    edition = tmp_path / "example_edition"
    shutil.copytree(EXAMPLE, edition, ignore=shutil.ignore_patterns("build", "pages"))
    calls = re.findall(r"^\.venv/bin/apparatus (extract [^#\n]*)", README, re.M)
    one_movement = f"{calls[-1].strip()} --movement 1"
    for call in ("build example_edition --only edition", *calls, one_movement):
        arguments = call.replace("example_edition", str(edition)).split()
        answer = CliRunner().invoke(app, arguments)
        assert answer.exit_code == 0, answer.output
    assert [Path(call.split()[-1]).name for call in calls] == ["part.mei", "S.mei"]
    read = {
        name: read_passage(edition, name, Origin(name)).value
        for name in ("build/S.mei", "witnesses/S/movement-1.mei")
    }
    given, encoded = read.values()
    assert given is not None
    assert encoded is not None
    assert [e.pitches for e in given.events] == [e.pitches for e in encoded.events]


def test_every_picture_shown_is_there() -> None:
    pictures = re.findall(r'src="([^"]+)"', README)
    assert pictures
    for picture in pictures:
        assert (ROOT / picture).read_bytes().startswith(b"\x89PNG"), picture
