"""Rules where a record is about what a witness has otherwise throughout.

Text and A: C5 D5 E5 F5 | G5 A5 B5 | C6 | G5 with a digit on the first note of every bar. E has no
digit; S has another one in bar 2 and none in bar 4, and B4 for D5 in bar 1.
"""

from __future__ import annotations

import pytest

from pipeline.score.model import Marking, MarkingKind
from tests.checks.asking import asked, record
from tests.collation.letters import music, sign

NOTES = "4:C5 4:D5 4:E5 4:F5 | 4:G5 4:A5 2:B5 | 2:C6 2:r | 1:G5"
BARS = "bar: 1, to: {bar: 4}"


def digits(*shown: str) -> list[Marking]:
    return [
        sign(MarkingKind.FINGERING, f"{bar}:0", content=digit)
        for bar, digit in enumerate(shown)
        if digit != "-"
    ]


TEXT = music(NOTES, *digits("1", "2", "3", "4"), numbers="1 2 3 4")
WITNESSES = {
    "A": TEXT,
    "E": music(NOTES, numbers="1 2 3 4", file="E.mei"),
    "S": music(
        NOTES.replace("D5", "B4"), *digits("1", "4", "3", "-"), numbers="1 2 3 4", file="S.mei"
    ),
}


def reading(lemma: str, witnesses: str, throughout: str = "fingering", place: str = BARS) -> str:
    lines = [f"lemma: {lemma}", f"readings: [{{witnesses: {witnesses}}}]"]
    return record("reading", "r1", place, *lines, f"throughout: {throughout}")


def of_bar(bar: int, witnesses: str, lemma: str = "A", id_: str = "r2") -> str:
    return record(
        "reading", id_, f"bar: {bar}", f"lemma: {lemma}", f"readings: [{{witnesses: {witnesses}}}]"
    )


def told(code: str, records: str) -> list[str]:
    return asked(code, records, witnesses=WITNESSES, text=TEXT)


PLACE = "movement 1, bars 1 to 4"

CASES = [
    (
        "reading-repeats-the-text",
        reading("A", "E", "[articulation, slur missing]"),
        [f"8:15 error reading-repeats-the-text: {PLACE}: the encoding of E has at this place what "
         "the text has, as regards `articulation` and `slur missing` > Correct `throughout` or the "
         "place, or move E to `lemma`."],
    ),
    ("reading-repeats-the-text", reading("A", "[E, S]", "fingering missing"), []),
    (
        "reading-repeats-the-text",
        record(
            "emendation", "r1", BARS, "readings: [{witnesses: [A, E]}]", "throughout: fingering"
        ),
        [f"7:27 error reading-repeats-the-text: {PLACE}: the encoding of A has at this place what "
         "the text has, as regards `fingering` > Correct `throughout` or the place; if A is right, "
         "the record is a `reading`."],
    ),
    # A witness in lemma is held against the kinds that the record names, and no others.
    (
        "lemma-witness-differs",
        reading("[A, S]", "E"),
        [f"7:14 error lemma-witness-differs: {PLACE}: the encoding of S does not have the text "
         "here: fingering at bar 2, beat 1; fingering missing at bar 4, beat 1 > Move S to "
         "`readings`."],
    ),
    ("lemma-witness-differs-besides", reading("[A, S]", "E"), []),
    ("lemma-witness-differs", reading("[A, S]", "E", "fingering", "bar: 3"), []),
    (
        "lemma-witness-differs",
        reading("[A, S]", "E") + of_bar(2, "S") + of_bar(4, "S", id_="r3"),
        [],
    ),
    (
        "lemma-witness-differs-besides",
        reading("[A, S]", "L, says: has a 2", "[pitch, articulation]"),
        [f"7:14 warning lemma-witness-differs-besides: {PLACE}: the encoding of S differs from the "
         "text here: pitch at bar 1, beat 2 > Move S to `readings`, or narrow the place to what is "
         "meant."],
    ),
    (
        "witness-left-out",
        reading("A", "E"),
        [f"8:3 warning witness-left-out: {PLACE}: S is named neither in `lemma` nor in `readings`; "
         "it differs from the text: fingering at bar 2, beat 1; fingering missing at bar 4, beat 1 "
         "> Add S to `readings`."],
    ),
    (
        "witness-left-out",
        reading("A", "E", "articulation"),
        [f"7:3 warning witness-left-out: {PLACE}: S is named neither in `lemma` nor in `readings`; "
         "it has the text > Add S to `lemma`."],
    ),
    (
        "witness-left-out",
        reading("A", "E") + of_bar(2, "[E, S]") + of_bar(4, "[E, S]", id_="r3"),
        [],
    ),
    # A narrower record need not repeat what the summary says of a witness.
    ("witness-left-out", reading("A", "[E, S]") + of_bar(2, "S"), []),
    (
        "witness-left-out",
        of_bar(2, "S"),
        ["8:3 warning witness-left-out: movement 1, bar 2: E is named neither in `lemma` nor in "
         "`readings`; it differs from the text: fingering missing at bar 2, beat 1 > Add E to "
         "`readings`."],
    ),
    # Records about different kinds throughout do not contradict each other.
    (
        "contradicting-readings",
        reading("A", "[E, S]") + reading("[A, E]", "S", "pitch").replace("r1", "r4"),
        [],
    ),
    (
        "contradicting-readings",
        reading("A", "[E, S]", "[fingering, pitch]")
        + reading("[A, E]", "S", "[fingering, pitch]").replace("r1", "r4"),
        [f"16:3 error contradicting-readings: {PLACE}: `r4` says that E has the text here, `r1` "
         "that it has not (records/all.yaml, line 1) > Correct one of the two, narrow its place, "
         "or let one supersede the other."],
    ),
    (
        "told-twice",
        reading("A", "E") + reading("A", "E", "fingering missing").replace("r1", "r4"),
        [f"12:3 warning told-twice: {PLACE}: `r1` tells this too: E, fingering missing at bar 1, "
         "beat 1; E, fingering missing at bar 2, beat 1; E, fingering missing at bar 3, beat 1; E, "
         "fingering missing at bar 4, beat 1 (records/all.yaml, line 1) > Narrow one of the two "
         "places, or make one record of both."],
    ),
    ("told-twice", reading("A", "E") + of_bar(2, "E"), []),
    (
        "told-twice",
        reading("A", "E", "fingering", "bar: 2") + of_bar(2, "E"),
        ["12:3 warning told-twice: movement 1, bar 2: `r1` tells this too: E, fingering missing at "
         "bar 2, beat 1 (records/all.yaml, line 1) > Narrow one of the two places, or make one "
         "record of both."],
    ),
]  # fmt: skip


@pytest.mark.parametrize(("code", "records", "expected"), CASES)
def test_throughout(code: str, records: str, expected: list[str]) -> None:
    assert told(code, records) == expected
