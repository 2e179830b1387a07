"""Decisions that were replaced: what must not be printed beside its successor."""

from __future__ import annotations

import pytest

from tests.checks.asking import asked, record


def remark(id_: str, *lines: str) -> str:
    return record("remark", id_, "bar: 1", *lines)


def replaced(id_: str, by: str) -> str:
    return remark(id_, "status: superseded", f"superseded_by: {by}")


CASES = [
    (
        "superseded-in-force",
        remark("a", "superseded_by: b") + remark("b"),
        ["7:3 error superseded-in-force: movement 1, bar 1: `a` is replaced by `b`, but its status "
         "is `accepted` > Write `status: superseded`, or remove `superseded_by`."],
    ),
    (
        "superseded-in-force",
        remark("a", "status: proposed", "superseded_by: b") + remark("b"),
        ["7:3 error superseded-in-force: movement 1, bar 1: `a` is replaced by `b`, but its status "
         "is `proposed` > Write `status: superseded`, or remove `superseded_by`."],
    ),
    ("superseded-in-force", replaced("a", "b") + remark("b"), []),
    (
        "superseded-without-successor",
        remark("a", "status: superseded"),
        ["7:3 error superseded-without-successor: movement 1, bar 1: `a` is superseded, but does "
         "not say by which record > Add `superseded_by:` with the id of the record that holds "
         "now."],
    ),
    ("superseded-without-successor", replaced("a", "b") + remark("b"), []),
    (
        "successor-not-in-force",
        replaced("a", "b") + replaced("b", "c") + remark("c"),
        ["8:3 error successor-not-in-force: movement 1, bar 1: `a` is replaced by `b`, which is "
         "itself superseded > Write `superseded_by: c`."],
    ),
    (
        "successor-not-in-force",
        replaced("a", "b") + remark("b", "status: proposed"),
        ["8:3 error successor-not-in-force: movement 1, bar 1: `a` is replaced by `b`, which is "
         "itself proposed > Accept `b`, or put `a` in force again."],
    ),
    ("successor-not-in-force", replaced("a", "b") + remark("b"), []),
    (
        "superseded-in-a-circle",
        replaced("a", "a"),
        ["8:3 error superseded-in-a-circle: movement 1, bar 1: `a` is replaced by itself > "
         "Decide which of them holds, and let it be accepted."],
    ),
    (
        "superseded-in-a-circle",
        replaced("x", "a") + replaced("a", "b") + replaced("b", "c") + replaced("c", "a"),
        ["16:3 error superseded-in-a-circle: movement 1, bar 1: `a` is replaced by `b` by `c` by "
         "`a` > Decide which of them holds, and let it be accepted."],
    ),
    ("superseded-in-a-circle", replaced("a", "c") + replaced("b", "c") + remark("c"), []),
]  # fmt: skip


@pytest.mark.parametrize(("code", "records", "expected"), CASES)
def test_status(code: str, records: str, expected: list[str]) -> None:
    assert asked(code, records) == expected


def test_a_circle_is_told_once_and_not_again_as_a_successor_out_of_force() -> None:
    circle = replaced("a", "b") + replaced("b", "a")
    assert len(asked("superseded-in-a-circle", circle)) == 1
    assert asked("successor-not-in-force", circle) == []
