"""What an editor reads when one line of a record that was right is changed."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from pathlib import Path

import pytest

from pipeline.edition.record_files import read_record_file
from pipeline.problems import Problem, as_text
from tests.edition.right_records import RECORDS, with_line


def spoken(problems: Iterable[Problem]) -> list[str]:
    """Return each problem as the tables have it: where and what, then the remedy."""
    return [
        line
        for p in problems
        for line in (f"{p.origin.line}:{p.origin.col} {p.code}: {p.message}", p.remedy)
    ]


def slips() -> Iterator[tuple[str, str, str, list[str]]]:
    """Yield the table in slips.txt: kind of record, line, what stands instead, what is told."""
    table = (Path(__file__).parent / "slips.txt").read_text(encoding="utf-8")
    for block in table.split("\n\n")[1:]:
        change, *told = block.strip().splitlines()
        kind, line, instead = (part.strip() for part in change.split("|"))
        yield kind, line, instead.replace(" / ", "\n"), [one.strip() for one in told]


SLIPS = [pytest.param(*slip, id=f"{slip[0]} {slip[2]}") for slip in slips()]

RIGHT = [
    ("remark", "status:", "superseded_by: b71"),
    ("remark", "- id:", "- id: b70.page_2-a"),
    ("remark", "by:", "by: no"),
    ("remark", "by:", "by: 'editor'"),
    ("remark", "date:", 'date: "2024-02-29"'),
    ("remark", "status:", "certainty: low"),
    ("remark", "reason:", "reason: {de-CH: Ein Text., en: A text.}"),
    ("remark", "reason:", "reason: 1886"),
    ("remark", "reason:", "reason: >\n  Two lines\n  of prose."),
    ("remark", "place:", "place: {movement: 1, bar: 70, beat: 2.5}"),
    ("remark", "place:", "place: {movement: 1, bar: 70, beat: 7/3}"),
    ("remark", "place:", "place: {movement: 1, bar: 70, staff: 2, voice: 1, note: 3}"),
    ("remark", "place:", "place: {movement: 1, bar: 14bis, to: {bar: 15}}"),
    ("reading", "lemma:", "lemma: [A, D-1, '[B]']"),
    ("fingering", "purpose:", "purpose: slide"),
    ("fingering", "fingers:", "fingers: 1, 2 on D, [3, open], ., T"),
    ("fingering", "fingers:", "fingers: 3"),
    ("bowing", "join:", "join: yes"),
    ("bowing", "divide_after:", "divide_after: [2, 4]"),
    ("ossia", "music:", "music: {file: music/b50.mei}"),
]


@pytest.mark.parametrize(("kind", "line", "instead", "told"), SLIPS)
def test_a_slip_is_told_at_the_very_key_or_value(
    kind: str, line: str, instead: str, told: list[str]
) -> None:
    outcome = read_record_file(with_line(RECORDS[kind], line, instead), "r.yaml")
    assert spoken(outcome.problems) == told
    assert outcome.value == ()


@pytest.mark.parametrize(("kind", "line", "instead"), RIGHT)
def test_what_is_right_is_not_told(kind: str, line: str, instead: str) -> None:
    outcome = read_record_file(with_line(RECORDS[kind], line, instead), "r.yaml")
    assert outcome.problems == ()
    assert outcome.value is not None
    assert len(outcome.value) == 1


@pytest.mark.parametrize("kind", RECORDS)
def test_a_record_of_each_kind_with_every_field_is_right(kind: str) -> None:
    assert read_record_file(RECORDS[kind], "r.yaml").problems == ()


def test_a_message_names_file_line_column_bar_fault_and_remedy() -> None:
    (problem,) = read_record_file(
        with_line(RECORDS["remark"], "by:", "bye: editor"), "records/movement-1.yaml"
    ).problems
    assert as_text(problem) == (
        "records/movement-1.yaml:4:3: error unknown-key: movement 1, bar 70: "
        "`bye` is no key of a remark record\n    Did you mean `by`?"
    )


def test_all_slips_of_a_record_are_told_at_once_and_each_once() -> None:
    text = RECORDS["reading"]
    for line, instead in [("by:", "bye: editor"), ("date:", "date: soon"), ("lemma:", "lemma: []")]:
        text = with_line(text, line, instead)
    assert [(p.origin.line, p.code) for p in read_record_file(text, "r.yaml").problems] == [
        (5, "wrong-value"),
        (13, "empty-value"),
        (4, "unknown-key"),
    ]


def test_a_record_that_fails_does_not_hide_the_others() -> None:
    wrong = with_line(RECORDS["remark"], "by:", "")
    outcome = read_record_file(RECORDS["reading"] + wrong + RECORDS["ossia"], "r.yaml")
    assert [filed.record.id for filed in outcome.value or ()] == ["b14-slur", "b50-harmonics"]
    assert [problem.code for problem in outcome.problems] == ["missing-key"]


def test_a_record_of_unknown_kind_is_still_read_for_what_every_kind_has() -> None:
    text = with_line(with_line(RECORDS["ossia"], "kind:", "kind: osia"), "date:", "date: soon")
    outcome = read_record_file(text, "r.yaml")
    assert [(p.origin.line, p.code) for p in outcome.problems] == [
        (2, "unknown-record-kind"),
        (5, "wrong-value"),
    ]


def test_a_value_cannot_put_control_characters_into_a_message() -> None:
    text = with_line(RECORDS["remark"], "by:", 'by: "\\e[31mred"')
    assert spoken(read_record_file(text, "r.yaml").problems) == [
        "4:7 unprintable-character: an escape in this text stands for a character that cannot be "
        "printed",
        "Use single quotes, or write the backslash twice.",
    ]


def test_a_long_value_is_cut_in_a_message() -> None:
    text = with_line(RECORDS["remark"], "status:", f"status: {'long ' * 100}")
    (problem,) = read_record_file(text, "r.yaml").problems
    assert problem.message.startswith("`status` is `long long long long long long long long…`;")
