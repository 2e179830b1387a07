"""One decision on what a witness has otherwise throughout, and what narrower records take of it.

Text: C5 D5 E5 F5 | G5 A5 B5 | C6 | G5 with a digit on the first note of every bar and staccato dots
in bar 1. E has none of either; S has another digit in bar 2, none in bars 3 and 4, and B4 in bar 1.
"""

from __future__ import annotations

import pytest

from pipeline.collation.model import Decision
from pipeline.score.model import Marking, MarkingKind, Passage
from tests.collation.letters import music, sign, told
from tests.collation.small_edition import small_edition

DOTTED = "4:C5'stacc 4:D5'stacc 4:E5 4:F5 | 4:G5 4:A5 2:B5 | 2:C6 2:r | 1:G5"
PLAIN = DOTTED.replace("'stacc", "")


def digits(*shown: str) -> list[Marking]:
    return [
        sign(MarkingKind.FINGERING, f"{bar}:0", content=digit)
        for bar, digit in enumerate(shown)
        if digit != "-"
    ]


TEXT = music(DOTTED, *digits("1", "2", "3", "4"), numbers="1 2 3 4")
WITNESSES: dict[str, Passage] = {
    "A": TEXT,
    "E": music(PLAIN, numbers="1 2 3 4", file="E.mei"),
    "S": music(DOTTED.replace("D5", "B4"), *digits("1", "4", "-", "-"), file="S.mei"),
}


def record(id_: str, place: str, witnesses: str, *more: str, kind: str = "reading") -> str:
    lemma = "  lemma: A\n" if kind == "reading" else ""
    own = "".join(f"  {line}\n" for line in more)
    return (
        f"- id: {id_}\n  kind: {kind}\n  place: {{movement: 1, {place}}}\n  by: editor\n"
        f"  date: 2026-03-01\n  reason: because\n{lemma}  readings: [{{witnesses: {witnesses}}}]\n"
        f"{own}"
    )


ALL = "bar: 1, to: {bar: 4}"


def decided(records: str) -> tuple[Decision, ...]:
    material, problems = small_edition(records, WITNESSES, text=TEXT)
    assert problems == ()
    return material.decisions


def told_by(records: str) -> dict[str, list[str]]:
    return {
        decision.id: [
            f"{'+'.join(c.version.witnesses)}: {told(d)}"
            for c in decision.comparisons
            for d in c.differences
        ]
        for decision in decided(records)
    }


def lacking(siglum: str, *bars: int) -> list[str]:
    return [f"{siglum}: fingering missing {b}:0-{b}:0 {b + 1}@{b}:0 | ." for b in bars]


OTHER_DIGIT = "S: fingering 1:0-1:0 2@1:0 | 4@1:0"


@pytest.mark.parametrize(
    ("throughout", "expected"),
    [
        ("fingering", [*lacking("E", 0, 1, 2, 3), OTHER_DIGIT, *lacking("S", 2, 3)]),
        ("fingering missing", [*lacking("E", 0, 1, 2, 3), *lacking("S", 2, 3)]),
        ("fingering otherwise", [OTHER_DIGIT]),
        ("[articulation, pitch]",
         ["E: articulation missing 0:0-0:1 4:C5 | 4:C5", "E: articulation missing 0:1-0:2 4:D5 | "
          "4:D5", "S: pitch 0:1-0:2 4:D5 | 4:B4"]),
    ],
)  # fmt: skip
def test_the_record_tells_the_kinds_it_names_and_no_other(
    throughout: str, expected: list[str]
) -> None:
    assert told_by(record("r", ALL, "[E, S]", f"throughout: {throughout}"))["r"] == expected


def test_an_emendation_may_speak_of_something_throughout() -> None:
    emended = record("r", ALL, "[E]", "throughout: articulation", kind="emendation")
    assert len(told_by(emended)["r"]) == 2


def test_a_narrower_record_takes_its_difference() -> None:
    records = record("r", ALL, "[E, S]", "throughout: fingering") + record("n", "bar: 2", "[E, S]")
    assert told_by(records) == {
        "r": [*lacking("E", 0, 2, 3), *lacking("S", 2, 3)],
        "n": [*lacking("E", 1), OTHER_DIGIT],
    }


def test_a_narrower_record_takes_only_what_the_witness_it_names_has() -> None:
    records = record("r", ALL, "[E, S]", "throughout: fingering") + record("n", "bar: 2", "S")
    assert told_by(records)["r"] == [*lacking("E", 0, 1, 2, 3), *lacking("S", 2, 3)]


def test_even_an_ordinary_record_of_the_same_place_takes_what_it_tells() -> None:
    records = record("r", ALL, "E", "throughout: fingering") + record("w", ALL, "S")
    wide = record("r", ALL, "[E, S]", "throughout: fingering") + record("w", ALL, "S")
    assert told_by(records)["r"] == told_by(wide)["r"][:4] == lacking("E", 0, 1, 2, 3)


def test_of_two_on_what_differs_throughout_the_narrower_tells() -> None:
    records = record("all", ALL, "E", "throughout: fingering") + record(
        "half", "bar: 1, to: {bar: 2}", "E", "throughout: fingering missing"
    )
    assert told_by(records) == {"all": lacking("E", 2, 3), "half": lacking("E", 0, 1)}


def test_a_proposed_narrower_record_takes_nothing() -> None:
    records = record("r", ALL, "E", "throughout: fingering") + record(
        "n", "bar: 2", "E", "status: proposed"
    )
    assert told_by(records)["r"] == lacking("E", 0, 1, 2, 3)


def test_it_comes_before_the_records_that_begin_with_it() -> None:
    records = record("a", "bar: 1", "S") + record("z", ALL, "E", "throughout: fingering")
    assert [decision.id for decision in decided(records)] == ["z", "a"]
