"""Names that stand for nothing, and the same names written right."""

from __future__ import annotations

import pytest

from tests.checks.asking import asked, record
from tests.collation.small_edition import HEAD

CASES = [
    (
        "unknown-siglum",
        record("reading", "r1", "bar: 1", "lemma: [A, Q]", "readings: [{witnesses: [E, a]}]"),
        [
            "7:14 error unknown-siglum: movement 1, bar 1: `Q` is not the siglum of a witness > "
            "Witnesses are `A`, `E`, `S` and `L`.",
            "8:30 error unknown-siglum: movement 1, bar 1: `a` is not the siglum of a witness > "
            "Did you mean `A`?",
        ],
    ),
    (
        "unknown-siglum",
        record("remark", "r1", "bar: 2, note: 1", "evidence: {witnesses: X}"),
        [
            "7:14 error unknown-siglum: movement 1, bar 2, note 1: `X` is not the siglum of a "
            "witness > Witnesses are `A`, `E`, `S` and `L`.",
        ],
    ),
    (
        "unknown-siglum",
        record("reading", "r1", "bar: 1", "lemma: A", "readings: [{witnesses: [E, S]}]"),
        [],
    ),
    (
        "unknown-agent",
        record("remark", "r1", "bar: 1", "by: editr"),
        [
            "6:3 error unknown-agent: movement 1, bar 1: `editr` is not an agent of this edition > "
            "Did you mean `editor`?"
        ],
    ),
    (
        "unknown-agent",
        record("fingering", "r1", "bar: 4", "alternatives: [{name: a, by: nobody, fingers: [1]}]"),
        [
            "7:28 error unknown-agent: movement 1, bar 4: `nobody` is not an agent of this edition "
            "> Agents are `composer`, `editor` and `school`."
        ],
    ),
    (
        "unknown-agent",
        record(
            "reading", "r1", "bar: 1", "lemma: A",
            "readings: [{witnesses: E, hand: school}, {witnesses: S, hand: pupil}]",
        ),
        [
            "8:59 error unknown-agent: movement 1, bar 1: `pupil` is not an agent of this edition "
            "> Agents are `composer`, `editor` and `school`."
        ],
    ),
    (
        "unknown-agent",
        record("tradition", "r1", "bar: 3", "music: {file: t.mei}", "played_by: [school, skool]"),
        [
            "8:23 error unknown-agent: movement 1, bar 3: `skool` is not an agent of this edition "
            "> Did you mean `school`?"
        ],
    ),
    ("unknown-agent", record("remark", "r1", "bar: 1", "by: school"), []),
    (
        "unknown-record",
        record("remark", "r-one", "bar: 1", "status: superseded", "superseded_by: r-two")
        + record("remark", "r-twoo", "bar: 1"),
        ["8:3 error unknown-record: movement 1, bar 1: there is no record `r-two` > "
         "Did you mean `r-twoo`?"],
    ),
    (
        "unknown-record",
        record("remark", "a", "bar: 1", "status: superseded", "superseded_by: zzzzzz"),
        ["8:3 error unknown-record: movement 1, bar 1: there is no record `zzzzzz` > "
         "Write the id of the record that replaces this one."],
    ),
    (
        "unknown-record",
        record("remark", "r1", "bar: 1", "status: superseded", "superseded_by: r2")
        + record("remark", "r2", "bar: 1"),
        [],
    ),
]  # fmt: skip


@pytest.mark.parametrize(("code", "records", "expected"), CASES)
def test_names(code: str, records: str, expected: list[str]) -> None:
    assert asked(code, records) == expected


def test_a_stemma_that_names_no_witness() -> None:
    head = HEAD.replace("copied_from: E", "copied_from: [E, F]")
    assert asked("unknown-siglum", "", head=head) == [
        "edition.yaml:12:62 error unknown-siglum: `F` is not the siglum of a witness > "
        "Witnesses are `A`, `E`, `S` and `L`."
    ]
    assert asked("unknown-siglum", "", head=HEAD) == []


def test_a_witness_by_nobody_known() -> None:
    head = HEAD.replace("by: composer", "by: compser")
    assert asked("unknown-agent", "", head=head) == [
        "edition.yaml:10:48 error unknown-agent: `compser` is not an agent of this edition > "
        "Did you mean `composer`?"
    ]


def test_an_encoding_of_a_movement_that_is_not_there() -> None:
    head = HEAD.replace("{1: S.mei}", "{1: S.mei, 2: S2.mei}")
    assert asked("unknown-movement", "", head=head) == [
        "edition.yaml:12:83 error unknown-movement: S has an encoding of movement 2, which the "
        "edition does not have > Write the number of a movement that stands under `movements`."
    ]
    assert asked("unknown-movement", "") == []
