"""Encodings held against records: what no record speaks of, and what a record says wrongly.

Text and A: bar 1 C5 D5 E5 F5, bar 2 G5 A5 B5. E and S have B4 for D5 in bar 1; S has F5 for A5 in
bar 2 and ends there. L is not encoded.
"""

from __future__ import annotations

from dataclasses import replace

from pipeline.checks.run import check
from tests.checks.asking import A, E, S, asked, record
from tests.collation.letters import dynamic, music, slur
from tests.collation.small_edition import small_edition

REMEDY = (
    "Write a reading or an emendation, or let `apparatus collate EDITION --draft "
    "records/new.yaml` begin it."
)
CORRECT = (
    "Correct the notes of the reading or the encoding; without `music` the reading is taken from "
    "the encoding. For a later addition name its `hand`."
)


def reading(id_: str, place: str, lemma: str, *readings: str) -> str:
    return record("reading", id_, place, f"lemma: {lemma}", f"readings: [{', '.join(readings)}]")


def open_ones(records: str, **wanted: object) -> list[str]:
    return asked("difference-open", records, **wanted)  # type: ignore[arg-type]


BOTH_HAVE_B4 = reading("r1", "bar: 1", "A", "{witnesses: [E, S]}")
S_HAS_F5 = reading("r2", "bar: 2", "[A, E]", "{witnesses: S}")


def test_what_no_record_speaks_of_is_told_in_reading_order() -> None:
    assert open_ones("") == [
        "edition.yaml:11:76 warning difference-open: movement 1, bar 1, beat 2, violin: pitch: the "
        f"text has d″, E and S have b′; no record speaks of it > {REMEDY}",
        "edition.yaml:12:73 warning difference-open: movement 1, bar 2, beat 2, violin: pitch: the "
        f"text has a″, S has f″; no record speaks of it > {REMEDY}",
    ]


def test_what_records_speak_of_is_not_told() -> None:
    assert open_ones(BOTH_HAVE_B4 + S_HAS_F5) == []
    assert len(open_ones(BOTH_HAVE_B4)) == 1


def test_a_record_on_one_witness_leaves_the_other_open() -> None:
    of_e = reading("r1", "bar: 1", "A", "{witnesses: E}")
    (told,) = open_ones(of_e + S_HAS_F5)
    assert "S has b′" in told
    assert "E and S" not in told


def test_a_proposed_record_answers_and_a_superseded_one_does_not() -> None:
    proposed = BOTH_HAVE_B4.replace("  lemma:", "  status: proposed\n  lemma:")
    assert open_ones(proposed + S_HAS_F5) == []
    superseded = proposed.replace("proposed", "superseded")
    assert len(open_ones(superseded + S_HAS_F5)) == 1


def test_what_is_described_of_an_encoded_witness_answers_what_it_has_there() -> None:
    described = reading("r1", "bar: 1", "A", "{witnesses: [E, S], says: a third lower}")
    assert open_ones(described + S_HAS_F5) == []
    elsewhere = described.replace("bar: 1}", "bar: 1, note: 3}")
    assert len(open_ones(elsewhere + S_HAS_F5)) == 1


def test_a_later_hand_answers_only_for_what_the_encoding_holds_of_it() -> None:
    """The encoding holds what the hand wrote, or the first hand's notes and a note on the hand."""
    taken = reading("r1", "bar: 1", "A", "{witnesses: [E, S], hand: school}")
    assert open_ones(taken + S_HAS_F5) == []
    told = reading("r1", "bar: 1", "A", "{witnesses: [E, S], hand: school, says: corrected}")
    assert len(open_ones(told + S_HAS_F5)) == 1


def test_records_about_playing_and_remarks_answer_nothing() -> None:
    others = record("remark", "m1", "bar: 1", "evidence: {witnesses: [E, S]}") + record(
        "fingering", "f1", "bar: 1", "alternatives: [{name: low, fingers: '1, none, 2, 3'}]"
    )
    assert len(open_ones(others + S_HAS_F5)) == 1


def test_a_record_that_speaks_throughout_answers_only_its_kinds() -> None:
    loud = music("4:C5 4:B4 4:E5 4:F5 | 4:G5 4:A5 2:B5", dynamic("0:0", "f"), dynamic("1:0", "p"))
    witnesses = {"A": A, "E": loud}
    of_dynamics = record(
        "reading", "r1", "bar: 1, to: {bar: 2}", "throughout: dynamic", "lemma: A",
        "readings: [{witnesses: E}]",
    )  # fmt: skip
    (told,) = open_ones(of_dynamics, witnesses=witnesses)
    assert "pitch: the text has d″, E has b′" in told


def test_many_open_differences_are_counted_after_ten() -> None:
    text = music(" | ".join(["4:C5 4:D5 4:E5 4:F5"] * 12))
    raised = music(" | ".join(["4:C5 4:D5 4:E5 4:G5"] * 12), file="E.mei")
    told = open_ones("", witnesses={"E": raised}, text=text)
    assert len(told) == 11
    assert [f"bar {n}," in one for n, one in enumerate(told[:10], start=1)] == [True] * 10
    assert told[10] == (
        "edition.yaml:11:76 warning difference-open: movement 1, further on: no record speaks of 2 "
        "more differences of E > `apparatus collate EDITION --open` lists them, `apparatus collate "
        "EDITION --draft records/new.yaml` begins their records."
    )


def test_bars_that_one_side_lacks_are_told_as_bars() -> None:
    four = "4:C5 4:D5 4:E5 4:F5 | 4:G5 4:A5 2:B5 | 2:C6 2:r | 1:G5"
    lacking = music(four.replace("4:G5 4:A5 2:B5 | ", ""), numbers="1 2 3", file="E.mei")
    more = music(four.replace("| 2:C6", "| 2:D4 2:E4 | 2:C6"), numbers="1 2 3 4 5", file="S.mei")
    told = open_ones("", witnesses={"E": lacking, "S": more})
    assert [one.split(": ", 2)[2].split(";")[0] for one in told] == [
        "bars missing: E lacks bar 2",
        "bars added: S has a bar more after bar 2",
    ]
    whole = reading("r1", "bar: 2", "A", "{witnesses: E}", "{witnesses: S}")
    assert open_ones(whole, witnesses={"E": lacking, "S": more}) == []
    note = reading("r1", "bar: 2, note: 1", "A", "{witnesses: E}", "{witnesses: S}")
    assert len(open_ones(note, witnesses={"E": lacking, "S": more})) == 2


def test_where_a_record_could_not_be_read_nothing_is_called_open() -> None:
    material, _ = small_edition("", {"A": A, "E": E, "S": S})
    cut = replace(material, edition=replace(material.edition, complete=False))
    assert "difference-open" in {problem.code for problem in check(material)}
    assert "difference-open" not in {problem.code for problem in check(cut)}


OWN_NOTES = reading("r1", "bar: 1", "A", "{witnesses: [E, S], music: {file: e.mei}}")


def own_notes(drawn: str, records: str = OWN_NOTES, witnesses: object = None) -> list[str]:
    return asked(
        "reading-not-in-witness",
        records,
        witnesses,
        {"e.mei": music(drawn, file="e.mei")},  # type: ignore[arg-type]
    )


def test_notes_of_a_reading_that_the_encoding_has_too() -> None:
    assert own_notes("4:C5 4:B4 4:E5 4:F5") == []


def test_notes_of_a_reading_that_the_encoding_has_not() -> None:
    assert own_notes("4:C5 4:A4 4:E5 4:F5") == [
        f"8:27 error reading-not-in-witness: movement 1, bar 1: the encoding of {siglum} does not "
        f"have what `e.mei` has here: pitch at bar 1, beat 2 > {CORRECT}".replace("8:27", at)
        for siglum, at in (("E", "8:27"), ("S", "8:30"))
    ]


def test_notes_of_a_reading_that_leave_out_what_the_encoding_has() -> None:
    two = music("4:C5 4:B4 4:E5 4:G5 | 4:G5 4:A5 2:B5", file="E.mei")
    assert own_notes("4:C5 4:B4 4:E5 4:F5", witnesses={"E": two}) == [
        "8:27 error reading-not-in-witness: movement 1, bar 1: the encoding of E has here what "
        f"`e.mei` does not have: pitch at bar 1, beat 4 > {CORRECT}"
    ]


def test_a_slur_across_the_border_of_the_place_is_no_contradiction() -> None:
    """A file that holds just the bars of the place says nothing of what crosses their border."""
    slurred = music("4:C5 4:B4 4:E5 4:F5 | 4:G5 4:A5 2:B5", slur("0:2", "1:0"), file="E.mei")
    assert own_notes("4:C5 4:B4 4:E5 4:F5", witnesses={"E": slurred}) == []


def test_notes_of_a_later_hand_or_of_bars_that_are_not_encoded_are_not_held_against_it() -> None:
    later = reading("r1", "bar: 1", "A", "{witnesses: [E, S], hand: school, music: {file: e.mei}}")
    assert own_notes("4:C5 4:A4 4:E5 4:F5", later) == []
    beyond = reading("r1", "bar: 4", "A", "{witnesses: S, music: {file: e.mei}}")
    assert own_notes("1:A5", beyond) == []


def test_a_described_reading_of_a_witness_that_has_the_text() -> None:
    described = reading("r1", "bar: 2", "A", "{witnesses: E, says: an octave lower}")
    assert asked("described-against-encoding", described) == [
        "8:15 warning described-against-encoding: movement 1, bar 2: a reading of E is described, "
        "but its encoding has at this place what the text has > Correct the encoding or the place, "
        "or move E to `lemma`. For a later addition name its `hand`."
    ]


def test_a_described_reading_that_has_something_to_describe() -> None:
    for variant in (
        "{witnesses: S, says: a third lower}",
        "{witnesses: L, says: an octave lower}",
        "{witnesses: E, says: an octave lower, hand: school}",
    ):
        assert asked("described-against-encoding", reading("r1", "bar: 2", "A", variant)) == []


def test_a_described_bar_that_only_the_witness_has() -> None:
    more = music("4:C5 4:D5 4:E5 4:F5 | 4:G5 4:A5 2:B5 | 1:D4 | 2:C6 2:r | 1:G5", file="E.mei")
    described = reading("r1", "bar: 2", "A", "{witnesses: E, says: a bar more}")
    witnesses = {"E": more}
    assert asked("described-against-encoding", described, witnesses=witnesses) == []
    assert open_ones(described, witnesses=witnesses) == []
