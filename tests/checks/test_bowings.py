"""Bowings above four notes, C5 D5 E5 F5 in bar 1, of which the first three are slurred."""

from __future__ import annotations

import pytest

from tests.checks.asking import asked, record
from tests.collation.letters import music, slur

TEXT = music("4:C5 4:D5 4:E5 4:F5 | 1:G5", slur("0:0", "0:2"), numbers="1 2")


def bowing(place: str, *alternatives: str, id_: str = "b1", more: tuple[str, ...] = ()) -> str:
    listed = ", ".join(f"{{name: way {n + 1}, {a}}}" for n, a in enumerate(alternatives))
    return record("bowing", id_, place, f"alternatives: [{listed}]", *more)


CASES = [
    (
        "bowing-beyond-notes",
        bowing("bar: 1", "divide_after: [4]", "signs: {5: down, 1: up}"),
        ["7:47 error bowing-beyond-notes: movement 1, bar 1: the bow cannot change after note 4 "
         "within the place: the place has 4 notes > Write a number from 1 to 3, or extend the "
         "place.",
         "7:74 error bowing-beyond-notes: movement 1, bar 1: there is no note 5 for the bow sign: "
         "the place has 4 notes > Write a number from 1 to 4, or extend the place."],
    ),
    (
        "bowing-beyond-notes",
        bowing("bar: 2", "divide_after: 1"),
        ["7:32 error bowing-beyond-notes: movement 1, bar 2: the bow cannot change after note 1 "
         "within the place: the place has 1 note > Extend the place to all notes of the slur."],
    ),
    ("bowing-beyond-notes", bowing("bar: 1", "divide_after: [1, 3], signs: {4: up}"), []),
    (
        "no-slur-to-divide",
        bowing("bar: 1", "divide_after: [2, 3]"),
        ["7:50 error no-slur-to-divide: movement 1, bar 1: no slur holds note 3, e″, and note 4, "
         "f″, together > Correct the number or the place; without a slur each note has its own "
         "bow."],
    ),
    ("no-slur-to-divide", bowing("bar: 1", "divide_after: [1, 2]"), []),
    (
        "divides-and-joins",
        bowing("bar: 1", "divide_after: 1, join: true"),
        ["7:49 error divides-and-joins: movement 1, bar 1: `way 1` both divides and joins > Keep "
         "one of `divide_after` and `join`, or make two records of two places."],
    ),
    ("divides-and-joins", bowing("bar: 1", "divide_after: 1", "join: true"), []),
    (
        "bowing-without-change",
        bowing("bar: 1", "circumstance: loud", "circumstance: soft"),
        ["7:3 error bowing-without-change: movement 1, bar 1: the bowing `b1` neither divides nor "
         "joins nor has a sign > Add `divide_after`, `join` or `signs` to an alternative; to speak "
         "of the bow without a change, make it a `remark`."],
    ),
    ("bowing-without-change", bowing("bar: 1", "circumstance: loud", "join: true"), []),
    (
        "bowings-contradict",
        bowing("bar: 1", "divide_after: 1")
        + bowing("bar: 1, to: {note: 3}", "join: true", id_="b2"),
        ["14:3 error bowings-contradict: movement 1, bar 1 to note 3: `b1` divides what this one "
         "joins (records/all.yaml, line 1) > Make them alternatives of one record, or let one "
         "supersede the other."],
    ),
    (
        "bowings-contradict",
        bowing("bar: 1", "signs: {2: down}")
        + bowing("bar: 1, note: 2", "signs: {1: up}", id_="b2"),
        ["14:3 error bowings-contradict: movement 1, bar 1, note 2: `b1` asks for down bow where "
         "this one asks for up bow (records/all.yaml, line 1) > Make them alternatives of one "
         "record, or let one supersede the other."],
    ),
    (
        "bowings-contradict",
        bowing("bar: 1", "signs: {2: down}", "opposite: true", more=("printed: way 2",))
        + bowing("bar: 1, note: 2", "signs: {1: down}", id_="b2"),
        ["15:3 error bowings-contradict: movement 1, bar 1, note 2: `b1` asks for up bow where "
         "this one asks for down bow (records/all.yaml, line 1) > Make them alternatives of one "
         "record, or let one supersede the other."],
    ),
    (
        "bowings-contradict",
        bowing("bar: 1", "divide_after: 1")
        + bowing("bar: 1", "join: true", id_="b2", more=("status: superseded",)),
        [],
    ),
    (
        "bowings-contradict",
        bowing("bar: 1", "divide_after: 1")
        + bowing("bar: 1", "signs: {1: up}", "join: true", id_="b2"),
        [],
    ),
]  # fmt: skip


@pytest.mark.parametrize(("code", "records", "expected"), CASES)
def test_bowings(code: str, records: str, expected: list[str]) -> None:
    assert asked(code, records, {}, text=TEXT) == expected
