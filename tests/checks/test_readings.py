"""What witnesses are said to have, held against their encodings.

Text and A: bar 1 C5 D5 E5 F5, bar 2 G5 A5 B5. E and S have B4 for D5 in bar 1; S has F5 for A5 in
bar 2 and ends there. L is not encoded.
"""

from __future__ import annotations

from dataclasses import replace

import pytest

from tests.checks.asking import A, E, S, asked, record
from tests.collation.letters import dynamic, music
from tests.collation.small_edition import small_edition

BAR_1, NOTE_2 = "bar: 1", "bar: 1, note: 2"


def reading(place: str, lemma: str, *readings: str) -> str:
    return record("reading", "r1", place, f"lemma: {lemma}", f"readings: [{', '.join(readings)}]")


def emendation(place: str, *readings: str) -> str:
    return record("emendation", "r1", place, f"readings: [{', '.join(readings)}]")


CASES = [
    (
        "reading-repeats-the-text",
        reading("bar: 2", "A", "{witnesses: [E, S]}"),
        ["8:27 error reading-repeats-the-text: movement 1, bar 2: the encoding of E has at this "
         "place what the text has > Correct the place, or move E to `lemma`."],
    ),
    (
        "reading-repeats-the-text",
        emendation("bar: 2, note: 1", "{witnesses: A}"),
        ["7:15 error reading-repeats-the-text: movement 1, bar 2, note 1: the encoding of A has at "
         "this place what the text has > Correct the place; if A is right, the record is a "
         "`reading`."],
    ),
    ("reading-repeats-the-text", reading("bar: 1", "A", "{witnesses: [E, S]}"), []),
    ("reading-repeats-the-text", reading("bar: 2", "A", "{witnesses: L, says: lacks it}"), []),
    (
        "witness-on-both-sides",
        reading(BAR_1, "[A, E]", "{witnesses: [E, S]}", "{witnesses: S}"),
        ["8:27 error witness-on-both-sides: movement 1, bar 1: E stands in `lemma` and here > "
         "Keep it in one of the two; for a later addition in the witness name its `hand`.",
         "8:36 error witness-on-both-sides: movement 1, bar 1: S stands in reading 1 and here > "
         "Keep it in one of the two; for a later addition in the witness name its `hand`."],
    ),
    ("witness-on-both-sides", reading(BAR_1, "A", "{witnesses: A, hand: school}"), []),
    (
        "lemma-witness-differs",
        reading(BAR_1, "[A, E]", "{witnesses: S}"),
        ["7:14 error lemma-witness-differs: movement 1, bar 1: the encoding of E does not have the "
         "text here: pitch at bar 1, beat 2 > Move E to `readings`."],
    ),
    ("lemma-witness-differs", reading(BAR_1, "A", "{witnesses: [E, S]}"), []),
    ("lemma-witness-differs", reading("bar: 1, note: 1", "[A, E]", "{witnesses: L, says: x}"), []),
    (
        "lemma-witness-differs-besides",
        reading("bar: 1", "[A, S]", "{witnesses: L, says: has a trill}"),
        ["7:14 warning lemma-witness-differs-besides: movement 1, bar 1: the encoding of S differs "
         "from the text here: pitch at bar 1, beat 2 > Move S to `readings`, or narrow the place "
         "to what is meant."],
    ),
    (
        "lemma-witness-differs-besides",
        reading("bar: 1, note: 1", "[A, S]", "{witnesses: L, says: has a trill}"),
        [],
    ),
    (
        "witness-left-out",
        reading(BAR_1, "A", "{witnesses: S}"),
        ["8:3 warning witness-left-out: movement 1, bar 1: E is named neither in `lemma` nor in "
         "`readings`; it differs from the text: pitch at bar 1, beat 2 > Add E to `readings`."],
    ),
    (
        "witness-left-out",
        reading("bar: 2", "A", "{witnesses: S}"),
        ["7:3 warning witness-left-out: movement 1, bar 2: E is named neither in `lemma` nor in "
         "`readings`; it has the text > Add E to `lemma`."],
    ),
    ("witness-left-out", reading(BAR_1, "A", "{witnesses: [E, S]}"), []),
    ("witness-left-out", reading("bar: 4", "[A, E]", "{witnesses: L, says: lacks it}"), []),
    (
        "emendation-not-covering",
        emendation(NOTE_2, "{witnesses: [E]}"),
        ["7:3 error emendation-not-covering: movement 1, bar 1, note 2: the emendation does not "
         "cover A; it has the text > Make the record a `reading` with A in `lemma`.",
         "7:3 error emendation-not-covering: movement 1, bar 1, note 2: the emendation does not "
         "cover S; it differs from the text: pitch at bar 1, beat 2 > Add S to `readings`."],
    ),
]  # fmt: skip


@pytest.mark.parametrize(("code", "records", "expected"), CASES)
def test_readings(code: str, records: str, expected: list[str]) -> None:
    assert asked(code, records) == expected


def test_an_emendation_that_covers_every_encoded_witness() -> None:
    wrong = {"A": E, "E": E, "S": S}
    records = emendation(NOTE_2, "{witnesses: [A, E, S]}")
    assert asked("emendation-not-covering", records, witnesses=wrong) == []


def test_notes_of_a_reading_that_are_the_text_after_all() -> None:
    records = reading("bar: 4", "A", "{witnesses: L, music: {file: l.mei}}")
    same, other = music("1:G5", file="l.mei"), music("1:A5", file="l.mei")
    assert asked("reading-repeats-the-text", records, fragments={"l.mei": same}) == [
        "8:29 error reading-repeats-the-text: movement 1, bar 4: `l.mei` has at this place what "
        "the text has > Correct the notes of the reading, or the place of the record."
    ]
    assert asked("reading-repeats-the-text", records, fragments={"l.mei": other}) == []


def test_a_long_list_of_differences_is_cut() -> None:
    busy = music(
        "4:D5 4:E5 4:F5 4:G5 | 4:A5 4:A5 2:B5 | 2:C6 2:r | 1:G5",
        dynamic("0:0", "p"),
        numbers="1 2 3 4",
    )
    found = asked(
        "witness-left-out", reading(BAR_1, "A", "{witnesses: S}"), witnesses={"A": A, "E": busy}
    )
    assert found == [
        "8:3 warning witness-left-out: movement 1, bar 1: E is named neither in `lemma` nor in "
        "`readings`; it differs from the text: dynamic added at bar 1, beat 1; "
        "pitch at bar 1, beat 1; pitch at bar 1, beat 2; pitch at bar 1, beat 3; and 1 more > "
        "Add E to `readings`."
    ]


def test_what_another_record_says_of_a_witness_in_lemma_is_not_told_again() -> None:
    of_bar = reading("bar: 1", "[A, S]", "{witnesses: L, says: has a trill}")
    of_note = record(
        "reading", "r2", "bar: 1, note: 2", "lemma: A", "readings: [{witnesses: [E, S]}]"
    )
    described = record(
        "reading", "r2", "bar: 1, note: 2", "status: proposed", "lemma: A",
        "readings: [{witnesses: [E, S], says: has b}]",
    )  # fmt: skip
    superseded = of_note + "  status: superseded\n  superseded_by: r1\n"
    assert len(asked("lemma-witness-differs-besides", of_bar)) == 1
    assert asked("lemma-witness-differs-besides", of_bar + of_note) == []
    assert asked("lemma-witness-differs-besides", of_bar + described) == []
    assert len(asked("lemma-witness-differs-besides", of_bar + superseded)) == 1


TIED = music("4:C5 4:D5 2:E5~ | 2:=E5 2:F5", numbers="1 2")
UNTIED = music("4:C5 4:D5 2:E5 | 2:E5 2:F5", numbers="1 2", file="A.mei")
LOUD = music("4:C5 4:D5 2:E5~ | 2:=E5 2:F5", dynamic("1:0", "f"), numbers="1 2", file="E.mei")
AT_THE_TIE = record("reading", "tie", "bar: 1, note: 3", "lemma: E", "readings: [{witnesses: A}]")
AFTER_THE_TIE = record(
    "reading", "f", "bar: 2, note: 1", "lemma: A", "readings: [{witnesses: E}]"
)  # fmt: skip


def of_tie(code: str, records: str) -> list[str]:
    return asked(code, records, {"A": UNTIED, "E": LOUD}, text=TIED)


def test_a_tie_told_where_it_begins_is_not_told_where_it_ends() -> None:
    """A lacks the tie from bar 1 into bar 2, where E has a dynamic."""
    proposed = AT_THE_TIE + "  status: proposed\n"
    for code in ("lemma-witness-differs", "lemma-witness-differs-besides", "witness-left-out"):
        assert of_tie(code, AT_THE_TIE + AFTER_THE_TIE) == []
        assert of_tie(code, proposed + AFTER_THE_TIE) == []
    (found,) = of_tie("lemma-witness-differs-besides", AFTER_THE_TIE)
    assert "the encoding of A differs from the text here: tie missing at bar 2, beat 1" in found


def test_a_reading_that_begins_after_a_tie_does_not_tell_the_tie_again() -> None:
    both = music("4:C5 4:D5 2:E5 | 2:E5 2:F5", dynamic("1:0", "f"), numbers="1 2", file="A.mei")
    of_f = record("reading", "f", "bar: 2, note: 1", "lemma: E", "readings: [{witnesses: A}]")
    witnesses = {"A": both, "E": replace(TIED, file="E.mei")}

    def told(records: str) -> list[str]:
        material, _ = small_edition(records, witnesses, text=TIED)
        (decision,) = (one for one in material.decisions if one.id == "f")
        return [f"{d.kind} {d.change}" for c in decision.comparisons for d in c.differences]

    assert told(AT_THE_TIE + of_f) == ["dynamic added"]
    assert told(of_f) == ["dynamic added", "tie missing"]
