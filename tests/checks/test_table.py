"""The table of rules: complete, documented, and run as a whole."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from pipeline.checks.guide import rules_as_markdown, with_rules
from pipeline.checks.rules import RULES
from pipeline.checks.run import check
from pipeline.problems import in_reading_order
from tests.checks.asking import WITNESSES, record
from tests.collation.letters import music, slur
from tests.collation.small_edition import HEAD, small_edition

CLEAN = (
    record("reading", "r1", "bar: 1", "lemma: A", "readings: [{witnesses: [E, S]}]")
    + record("emendation", "e1", "bar: 2", "readings: [{witnesses: [A, E, S]}]")
    + record("reading", "r2", "bar: 2, note: 2", "lemma: [A, E]", "readings: [{witnesses: S}]")
    + record("fingering", "f1", "bar: 1", "alternatives: [{name: low, fingers: '1, none, 2, 3'}]")
    + record("bowing", "b1", "bar: 2", "alternatives: [{name: parted, divide_after: 2}]")
    + record("ossia", "o1", "bar: 3", "music: {file: o.mei}", "label: Ossia", "by: composer")
    + record("tradition", "t1", "bar: 3", "music: {file: o.mei}", "label: School", "by: school",
             "origin: a pupil", "note: not the composer's", "played_by: school")
    + record("remark", "m1", "bar: 4", "evidence: {witnesses: L}")
)  # fmt: skip
TEXT = music(
    "4:C5 4:D5 4:E5 4:F5 | 4:G5 4:A5 2:B5 | 2:C6 2:r | 1:G5",
    slur("1:0", "1:2"),
    numbers="1 2 3 4",
)


def test_a_sound_edition_has_no_problem() -> None:
    fragments = {"o.mei": music("1:C6", file="o.mei")}
    material, problems = small_edition(CLEAN, WITNESSES, fragments, TEXT)
    assert problems == ()
    assert check(material) == ()


def test_all_problems_come_at_once_in_reading_order() -> None:
    broken = CLEAN.replace("lemma: A", "lemma: Q").replace("by: school", "by: scool")
    material, _ = small_edition(broken, WITNESSES, {}, TEXT, HEAD.replace("violin", "lute"))
    found = check(material)
    assert {"unknown-siglum", "unknown-agent", "unknown-instrument"} <= {p.code for p in found}
    assert found == in_reading_order(found)


def test_every_rule_says_what_it_finds_and_why_that_matters() -> None:
    for rule in RULES:
        for sentence in (rule.finds, rule.matters):
            assert sentence.endswith("."), (rule.code, sentence)
            assert "|" not in sentence


def test_codes_are_words_joined_by_hyphens_and_unique() -> None:
    codes = [rule.code for rule in RULES]
    assert len(set(codes)) == len(codes)
    assert all(re.fullmatch(r"[a-z]+(-[a-z]+)*", code) for code in codes)


def test_every_rule_has_a_case_that_trips_it_and_one_that_does_not() -> None:
    cases = "".join(p.read_text(encoding="utf-8") for p in Path(__file__).parent.glob("test_*.py"))
    for rule in RULES:
        assert f"error {rule.code}:" in cases or f"warning {rule.code}:" in cases, rule.code


def test_the_guide_prints_every_rule() -> None:
    rows = rules_as_markdown().splitlines()
    assert rows[2] == (
        "| `unknown-siglum` | error | A siglum that no witness has. | "
        "The reader looks it up in the list of sources in vain. |"
    )
    assert len(rows) == len(RULES) + 2


def test_the_guide_of_the_repository_holds_the_table_as_it_is() -> None:
    guide = (Path(__file__).parents[2] / "DEVELOPERS.md").read_text(encoding="utf-8")
    assert with_rules(guide) == guide, "run `make guide`"


def test_a_guide_without_marks_is_left_alone() -> None:
    with pytest.raises(ValueError, match="substring not found"):
        with_rules("# For contributors\n")
