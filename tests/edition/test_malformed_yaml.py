"""What an editor reads when a file is no YAML, and that nothing in it can do harm."""

from __future__ import annotations

import resource
import time
from collections.abc import Iterator
from pathlib import Path

import pytest

from pipeline.edition.record_files import read_record_file
from pipeline.edition.yaml_positions import MAX_DEPTH, MAX_REPEATED, MAX_VALUES, Keyed, read_yaml
from tests.edition.right_records import RECORDS, with_line


def malformed() -> Iterator[tuple[str, str, str, str]]:
    """Yield the table in malformed.txt: name, text of the file, what is told, remedy."""
    table = (Path(__file__).parent / "malformed.txt").read_text(encoding="utf-8")
    for block in table.split("=== ")[1:]:
        written, told = block.split(">>> ")
        name, text = written.split("\n", 1)
        message, remedy = told.strip().split("\n")
        yield name, text, message, remedy.strip()


MALFORMED = [pytest.param(*one[1:], id=one[0]) for one in malformed()]


@pytest.mark.parametrize(("text", "message", "remedy"), MALFORMED)
def test_the_likely_slip_is_told_where_it_is(text: str, message: str, remedy: str) -> None:
    told = [
        (f"{p.origin.line}:{p.origin.col} {p.code}: {p.message}", p.remedy)
        for p in read_record_file(text, "r.yaml").problems
    ]
    assert (message, remedy) in told


@pytest.mark.parametrize(
    "reason",
    [
        'reason: a text with "quotes" inside, and an apostrophe\'s tail',
        "reason: 'an apostrophe''s double'",
        'reason: "a colon: in quotes"',
        "reason: >\n  a colon: below its key\n  - and a dash",
        "reason: see 14:3 and a#b",
        "reason: '* in quotes'",
        "reason: naïve – “typographic” 𝄞",
    ],
)
def test_what_yaml_allows_is_not_told(reason: str) -> None:
    text = with_line(RECORDS["remark"], "reason:", reason)
    assert read_record_file(text, "r.yaml").problems == ()


def test_a_slip_in_one_record_does_not_hide_the_others_of_its_file() -> None:
    broken = with_line(RECORDS["ossia"], "label:", "label: it says: this")
    wrong = with_line(RECORDS["bowing"], "by:", "bye: editor")
    outcome = read_record_file(RECORDS["reading"] + broken + wrong + RECORDS["remark"], "r.yaml")
    assert [filed.record.id for filed in outcome.value or ()] == ["b14-slur", "b70-page"]
    before = RECORDS["reading"].count("\n")
    assert [(p.origin.line, p.code) for p in outcome.problems] == [
        (before + 7, "malformed-yaml"),
        (before + broken.count("\n") + 4, "unknown-key"),
    ]


def test_records_read_after_a_slip_know_their_lines_in_the_whole_file() -> None:
    broken = with_line(RECORDS["ossia"], "label:", "label: it says: this")
    outcome = read_record_file(broken + RECORDS["remark"], "r.yaml")
    (filed,) = outcome.value or ()
    assert str(filed.origins.at("reason")) == f"r.yaml:{broken.count(chr(10)) + 7}:3"


def test_columns_count_characters_not_bytes() -> None:
    text = "- {id: ä𝄞, kind: remark, colour: red}\n"
    columns = {p.code: p.origin.col for p in read_record_file(text, "r.yaml").problems}
    assert columns["unknown-key"] == text.index("colour") + 1


def test_an_alias_repeats_a_value() -> None:
    text = RECORDS["emendation"].replace("[A, E1]", "&both [A, E1]", 1) + with_line(
        RECORDS["reading"], "lemma:", "lemma: *both"
    )
    outcome = read_record_file(text, "r.yaml")
    assert outcome.problems == ()
    assert (outcome.value or ())[1].record.lemma == ("A", "E1")


BOMB = "a: &a [l, l, l, l, l, l, l, l, l, l]\n" + "".join(
    f"{this}: &{this} [{', '.join([f'*{before}'] * 10)}]\n"
    for before, this in zip("abcdefghi", "bcdefghij", strict=True)
)


@pytest.mark.parametrize(
    ("text", "code"),
    [
        pytest.param(BOMB, "too-many-values", id="ten times ten times ten ... values"),
        pytest.param("- " * 100_000, "nested-too-deep", id="lists in lists"),
        pytest.param("[" * 1_000_000, "nested-too-deep", id="brackets in brackets"),
        pytest.param("{a: " * 100_000, "nested-too-deep", id="braces in braces"),
        pytest.param("? " * 100_000, "nested-too-deep", id="keys in keys"),
        pytest.param("[" + "a," * MAX_VALUES + "a]", "too-many-values", id="a very long list"),
        pytest.param("- \n" * (MAX_VALUES + 1), "too-many-values", id="very many entries"),
        pytest.param("- [\n" * 200_000, "malformed-yaml", id="very many open brackets"),
        pytest.param('- "' + "a\n" * 1_000_000, "malformed-yaml", id="a quotation without end"),
    ],
)
def test_a_file_made_to_overwhelm_is_one_problem(text: str, code: str) -> None:
    start, before = time.monotonic(), resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    outcome = read_record_file(text, "bomb.yaml")
    assert [problem.code for problem in outcome.problems] == [code]
    # Generous bounds: each takes some 50 MB and two seconds at most on an ordinary machine.
    assert resource.getrusage(resource.RUSAGE_SELF).ru_maxrss - before < 250_000
    assert time.monotonic() - start < 30


def test_what_is_just_inside_the_bounds_is_read() -> None:
    deep = "".join(f"{' ' * level}a:\n" for level in range(MAX_DEPTH - 2)) + " " * MAX_DEPTH + "b"
    repeated = "a: &a [x]\nb: [" + ", ".join(["*a"] * (MAX_REPEATED // 2)) + "]"
    for text in (deep, repeated):
        outcome = read_yaml(text, "r.yaml")
        assert outcome.problems == ()
        assert isinstance(outcome.value, Keyed)
