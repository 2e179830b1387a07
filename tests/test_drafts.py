"""Records drafted for what is open: read again they answer just that, and nothing is told twice."""

from __future__ import annotations

import re
import shutil
from collections.abc import Sequence
from datetime import date
from pathlib import Path

import pytest

from pipeline.build import examine
from pipeline.checks.material import Material
from pipeline.desk.draft_file import append_drafts, draft_name
from pipeline.desk.draft_text import DraftText
from pipeline.desk.drafts import draft
from pipeline.problems import Problem, Severity, as_text
from tests.corpus import SMALL, corpus_file
from tests.generated_edition import write_generated_edition
from tests.planted_edition import write_planted_edition
from tests.planting.works import FOR_SINGLE_CHANGES

EXAMPLE = Path(__file__).parents[1] / "example_edition"
DAY = date(2026, 11, 27)


def examined(folder: Path) -> tuple[Material, tuple[Problem, ...]]:
    outcome = examine(folder)
    assert outcome.value is not None, outcome.problems
    return outcome.value, outcome.problems


def drafted(folder: Path, name: str = "new.yaml") -> int:
    """Draft what is open into a file and return how many records that were."""
    return draft_into(folder, examined(folder)[0], name)


def draft_into(folder: Path, material: Material, name: str = "new.yaml") -> int:
    made = draft(material.departures, material)
    assert made.without_place == ()
    text = DraftText(material, "editor" if "editor" in material.edition.head.agents else
                     "solvanter", DAY)  # fmt: skip
    if made.made:
        written = append_drafts(folder, name, tuple(text.record(one) for one in made.made))
        assert written.problems == ()
    return len(made.made)


def errors(problems: tuple[Problem, ...]) -> list[str]:
    return [as_text(problem) for problem in problems if problem.severity is Severity.ERROR]


def warned(problems: tuple[Problem, ...], *codes: str) -> list[str]:
    return [as_text(problem) for problem in problems if problem.code in codes]


def accept(file: Path, languages: Sequence[str]) -> None:
    """Give every drafted record its reason, and put it in force."""
    drafts = file.read_text("utf-8")
    reason = ", ".join(f"{code}: x" for code in languages)
    drafts = drafts.replace("status: proposed", "status: accepted")
    file.write_text(drafts.replace("reason:\n", f"reason: {{{reason}}}\n"), encoding="utf-8")


def prove(folder: Path) -> None:
    """Draft, read again, accept: nothing is left open, wrong, or told twice."""
    before, problems = examined(folder)
    already = errors(problems)
    assert any(departure.open for departure in before.departures)
    draft_into(folder, before)
    after, problems = examined(folder)
    assert [departure for departure in after.departures if departure.open] == []
    assert errors(problems) == already
    assert draft_into(folder, after) == 0
    accept(folder / "records" / "new.yaml", before.edition.head.languages)
    accepted, problems = examined(folder)
    assert errors(problems) == already
    assert warned(problems, "told-twice", "difference-open") == []
    assert not any(departure.open for departure in accepted.departures)


@pytest.fixture
def example(tmp_path: Path) -> Path:
    folder = tmp_path / "edition"
    shutil.copytree(EXAMPLE, folder, ignore=shutil.ignore_patterns("build", "pages"))
    return folder


def test_the_example_edition_without_its_records_on_the_text(example: Path) -> None:
    for movement in (1, 2):
        (example / "records" / f"movement-{movement}-text.yaml").unlink()
    prove(example)


@pytest.mark.parametrize("every", [2, 3])
def test_the_example_edition_with_gaps(example: Path, every: int) -> None:
    """Drafts stand beside records that speak of other things at the same places."""
    for file in (example / "records").glob("*-text.yaml"):
        records = re.split(r"(?m)^(?=- id:)", file.read_text("utf-8"))
        kept = [one for n, one in enumerate(records) if n == 0 or n % every]
        file.write_text("".join(kept), encoding="utf-8")
    prove(example)


@pytest.mark.parametrize("work", FOR_SINGLE_CHANGES)
@pytest.mark.parametrize("together", [1, 4])
def test_real_works_with_planted_changes(work: str, together: int, tmp_path: Path) -> None:
    write_planted_edition(tmp_path / "edition", work, together, seed=together)
    prove(tmp_path / "edition")


@pytest.mark.parametrize("work", SMALL)
def test_editions_generated_around_real_works(work: str, tmp_path: Path) -> None:
    folder = tmp_path / "edition"
    write_generated_edition(folder, corpus_file(work), records=60)
    (folder / "records" / "all.yaml").unlink()
    prove(folder)


def records_of(folder: Path) -> str:
    return (folder / "records" / "new.yaml").read_text("utf-8")


def without(folder: Path, *ids: str) -> None:
    """Take records out of the example edition."""
    for file in (folder / "records").glob("*.yaml"):
        records = re.split(r"(?m)^(?=- id:)", file.read_text("utf-8"))
        kept = [one for one in records if not one.startswith(tuple(f"- id: {i}\n" for i in ids))]
        file.write_text("".join(kept), encoding="utf-8")


def test_a_draft_reads_like_a_record_that_somebody_began(example: Path) -> None:
    without(example, "I-022-natural")
    assert drafted(example) == 2
    assert (
        records_of(example)
        == """\
# Drafted from the collation: each of these is still to be decided.

# bar 22, beat 1⅔, note 2, Pitch – text: b″; E, S: b♭″
# not encoded, please look: P, H, D
- id: e-s-1-b022-pitch
  kind: reading
  place: {movement: 1, bar: 22, note: 2}
  by: solvanter
  date: 2026-11-27
  status: proposed
  lemma: A
  readings:
    - witnesses: [E, S]
  reason:

# bar 23, beat 2 5/6, note 12, Pitch – text: f‴; S: d‴
# not encoded, please look: P, H, D
- id: s-1-b023-pitch
  kind: reading
  place: {movement: 1, bar: 23, note: 12}
  by: solvanter
  date: 2026-11-27
  status: proposed
  lemma: [A, E]
  readings:
    - witnesses: S
  reason:
"""
    )


def test_where_no_encoded_witness_has_the_text_an_emendation_is_drafted(example: Path) -> None:
    without(example, "I-026-c-sharp")
    assert drafted(example) == 1
    (told,) = re.findall(r"(?s)- id.*", records_of(example))
    assert told.splitlines()[0] == "- id: a-e-s-1-b026-pitch"
    assert "kind: emendation" in told
    assert "lemma" not in told


def test_another_staff_is_named_in_place_and_comment(example: Path) -> None:
    without(example, "I-024-piano")
    drafted(example)
    assert "# bar 24, Piano, staff 3, beat 2" in records_of(example)
    assert "place: {movement: 1, staff: 3, bar: 24, note: 2}" in records_of(example)


def test_what_is_done_again_and_again_is_one_record(tmp_path: Path) -> None:
    folder = tmp_path / "edition"
    write_planted_edition(folder, "haydn/opus1no1/movement2.mxl", 1)
    drafted(folder)
    material, _ = examined(folder)
    systematic = [f.record for f in material.edition.records if getattr(f.record, "throughout", ())]
    assert {record.throughout for record in systematic} == {("slur missing",)}  # type: ignore[union-attr]
    assert re.search(r"# slur missing throughout bars \d+–\d+; places: V \d+", records_of(folder))


def test_what_stands_in_the_file_is_kept_to_the_letter(example: Path) -> None:
    file = example / "records" / "movement-1-text.yaml"
    without(example, "I-022-natural", "I-024-piano")
    before = file.read_bytes()
    drafted(example, file.name)
    after = file.read_bytes()
    assert after.startswith(before)
    assert after[len(before) :].count(b"- id:") == 3
    assert b"\n\n\n" not in after[len(before) - 2 :]


def test_line_ends_stay_as_they_are(example: Path) -> None:
    without(example, "I-022-natural")
    file = example / "records" / "movement-1-text.yaml"
    before = file.read_bytes().replace(b"\n", b"\r\n").rstrip()
    file.write_bytes(before)
    drafted(example, file.name)
    after = file.read_bytes()
    assert after.startswith(before + b"\r\n\r\n#")
    assert after.count(b"\n") == after.count(b"\r\n")
    assert not any(departure.open for departure in examined(example)[0].departures)


def test_an_id_that_a_record_has_is_not_given_again(example: Path) -> None:
    without(example, "I-022-natural")
    file = example / "records" / "movement-1-text.yaml"
    file.write_text(
        file.read_text("utf-8").replace("id: I-024-piano", "id: e-s-1-b022-pitch"), "utf-8"
    )
    drafted(example)
    assert "- id: e-s-1-b022-pitch-2\n" in records_of(example)


def test_a_list_in_brackets_cannot_be_appended_to(example: Path) -> None:
    without(example, "I-022-natural")
    file = example / "records" / "new.yaml"
    file.write_text(
        "[{id: m, kind: remark, place: {movement: 1, bar: 1}, by: solvanter, date: 2026-01-01, "
        "status: proposed, reason: }]\n",
        "utf-8",
    )
    before = file.read_bytes()
    material, _ = examined(example)
    made = draft(material.departures, material).made
    text = DraftText(material, "solvanter", DAY)
    outcome = append_drafts(example, "new.yaml", tuple(map(text.record, made)))
    assert [problem.code for problem in outcome.problems] == ["cannot-append"]
    assert file.read_bytes() == before


@pytest.mark.parametrize(
    ("given", "name"),
    [
        ("records/new.yaml", "new.yaml"),
        ("records/../records/new.yaml", "new.yaml"),
        ("new.yaml", None),
        ("records/new.yml", None),
        ("records/.new.yaml", None),
        ("records/deeper/new.yaml", None),
        ("../records/new.yaml", None),
        ("/etc/new.yaml", None),
        ("records", None),
    ],
)
def test_only_files_that_records_are_read_from(given: str, name: str | None, example: Path) -> None:
    assert draft_name(example, Path(given)).value == name
    assert draft_name(example, example / given).value == (name if given[0] != "/" else None)


def test_a_link_out_of_the_folder_is_not_followed(example: Path, tmp_path: Path) -> None:
    (tmp_path / "elsewhere.yaml").write_text("# mine\n", "utf-8")
    (example / "records" / "new.yaml").symlink_to(tmp_path / "elsewhere.yaml")
    assert draft_name(example, Path("records/new.yaml")).value is None
