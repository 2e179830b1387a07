"""Pairs of records at one place: what cannot both be in force, and what can."""

from __future__ import annotations

import pytest

from tests.checks.asking import asked, record
from tests.collation.letters import music

FRAGMENTS = {"o.mei": music("4:C5 4:D5 2:F5", file="o.mei")}
SETTLE = "Correct one of the two, narrow its place, or let one supersede the other."


def reading(id_: str, place: str, lemma: str, others: str, *more: str) -> str:
    return record(
        "reading", id_, place, f"lemma: {lemma}", f"readings: [{{witnesses: {others}}}]", *more
    )


def ossia(id_: str, place: str, *lines: str, kind: str = "ossia") -> str:
    return record(kind, id_, place, "music: {file: o.mei}", *lines)


def fingering(id_: str, place: str, fingers: str, *lines: str) -> str:
    return record(
        "fingering", id_, place, f'alternatives: [{{name: first, fingers: "{fingers}"}}]', *lines
    )


CASES = [
    (
        "contradicting-readings",
        reading("a", "bar: 1", "A", "E") + reading("b", "bar: 1", "E", "A"),
        ["15:3 error contradicting-readings: movement 1, bar 1: `b` says that E has the text here, "
         "`a` that it has not (records/all.yaml, line 1) > " + SETTLE],
    ),
    (
        "contradicting-readings",
        reading("a", "bar: 1", "A", "E") + reading("b", "bar: 1, beat: 1, to: {beat: 4}", "A", "A"),
        [],
    ),
    (
        "contradicting-readings",
        reading("a", "bar: 1", "A", "E") + reading("b", "bar: 1, beat: 1, to: {beat: 4}", "S", "A"),
        ["16:3 error contradicting-readings: movement 1, bar 1, beat 1 to beat 4: `b` says that A "
         "has not the text here, `a` that it has (records/all.yaml, line 1) > " + SETTLE],
    ),
    (
        "contradicting-readings",
        reading("a", "bar: 1", "A", "E") + reading("b", "bar: 1, note: 2", "E", "A"),
        [],
    ),
    (
        "contradicting-readings",
        reading("a", "bar: 1", "A", "E")
        + reading("b", "bar: 1", "E", "A", "status: superseded", "superseded_by: a"),
        [],
    ),
    ("contradicting-readings", reading("a", "bar: 1", "A", "E") + reading("b", "bar: 1", "A", "S"),
     []),
    (
        "reading-and-emendation",
        record("emendation", "e", "bar: 1", "readings: [{witnesses: E}]")
        + reading("b", "bar: 1", "[A, S]", "E"),
        ["14:3 error reading-and-emendation: movement 1, bar 1: `b` says that A and S have the "
         "text here, `e` that no witness has it (records/all.yaml, line 1) > Keep one of the two, "
         "narrow a place, or let one supersede the other."],
    ),
    (
        "reading-and-emendation",
        record("emendation", "e", "bar: 1", "readings: [{witnesses: E}]")
        + reading("b", "bar: 2", "A", "S"),
        [],
    ),
    (
        "told-twice",
        reading("a", "bar: 1", "A", "[E, S]") + reading("b", "bar: 1, note: 2", "A", "S"),
        ["11:3 warning told-twice: movement 1, bar 1, note 2: `a` tells this too: S, pitch at bar "
         "1, beat 2 (records/all.yaml, line 1) > Narrow one of the two places, or make one record "
         "of both."],
    ),
    ("told-twice", reading("a", "bar: 1", "A", "E") + reading("b", "bar: 1", "A", "S"), []),
    (
        "told-twice",
        reading("a", "bar: 1", "A", "[E, S]")
        + reading("b", "bar: 1", "A", "S", "status: superseded", "superseded_by: a"),
        [],
    ),
    (
        "ossias-alike",
        ossia("a", "bar: 1, to: {bar: 2}", "label: Ossia")
        + ossia("b", "bar: 2", "label: ossia", kind="tradition"),
        ["16:3 error ossias-alike: movement 1, bar 2: `b` and `a` stand above the same bars with "
         "the label “ossia” (records/all.yaml, line 1) > Give each a label of its own, or let one "
         "supersede the other."],
    ),
    (
        "ossias-alike",
        ossia("a", "bar: 1") + ossia("b", "bar: 1"),
        ["8:3 error ossias-alike: movement 1, bar 1: `b` and `a` stand above the same bars with no "
         "label (records/all.yaml, line 1) > Give each a label of its own, or let one supersede "
         "the other."],
    ),
    ("ossias-alike", ossia("a", "bar: 1", "label: I") + ossia("b", "bar: 1", "label: II"), []),
    ("ossias-alike", ossia("a", "bar: 1") + ossia("b", "bar: 2"), []),
    (
        "fingered-twice",
        fingering("a", "bar: 1", "1, 2, 3, 4") + fingering("b", "bar: 1, note: 3", "1"),
        ["10:3 error fingered-twice: movement 1, bar 1, note 3: `b` and `a` both print digits of "
         "the same person above the same notes (records/all.yaml, line 1) > Make them alternatives "
         "of one record, or let one supersede the other."],
    ),
    (
        "fingered-twice",
        fingering("a", "bar: 1", "1, 2, none, 4") + fingering("b", "bar: 1, note: 3", "1"),
        [],
    ),
    (
        "fingered-twice",
        fingering("a", "bar: 1", "1, 2, 3, 4")
        + fingering("b", "bar: 1, note: 3", "1", "by: school"),
        [],
    ),
]  # fmt: skip


@pytest.mark.parametrize(("code", "records", "expected"), CASES)
def test_contradictions(code: str, records: str, expected: list[str]) -> None:
    assert asked(code, records, fragments=FRAGMENTS) == expected
