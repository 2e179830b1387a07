"""Records of a small edition, and what is computed about each: its versions and their witnesses."""

from __future__ import annotations

from pipeline.collation.model import Decision
from pipeline.edition.layer import Layer
from tests.collation.letters import music, slur, told
from tests.collation.small_edition import TEXT, line, small_edition

A = music("4:C5 4:D5 4:E5 4:F5 | 4:G5 4:A5 2:B5 | 2:C6 2:r | 1:G5", file="A.mei")
E = music("4:C5 4:B4 4:E5 4:F5 | 4:G5 4:A5 2:B5 | 2:C6 2:r | 1:G5", file="E.mei")
S = music("4:C5 4:B4 4:E5 4:F5 | 4:G5 4:F5 2:B5", file="S.mei")
WITNESSES = {"A": A, "E": E, "S": S}


def decided(records: str, **more: object) -> tuple[tuple[Decision, ...], list[str]]:
    material, problems = small_edition(records, WITNESSES, **more)  # type: ignore[arg-type]
    return material.decisions, [line(problem) for problem in problems]


def reading(place: str, rest: str, id_: str = "r1", kind: str = "reading") -> str:
    return f"""\
- id: {id_}
  kind: {kind}
  place: {place}
  by: editor
  date: 2026-03-01
  reason: because
{rest}"""


def test_witnesses_with_the_same_reading_are_one_comparison() -> None:
    (decision,), problems = decided(
        reading("{movement: 1, bar: 1}", "  lemma: A\n  readings: [{witnesses: [E, S]}]\n")
    )
    assert problems == []
    assert decision.layer is Layer.WITNESS
    (comparison,) = decision.comparisons
    assert comparison.version.witnesses == ("E", "S")
    assert [told(d) for d in comparison.differences] == ["pitch 0:1-0:2 4:D5 | 4:B4"]


def test_witnesses_with_different_readings_are_two() -> None:
    (decision,), _ = decided(
        reading(
            "{movement: 1, bar: 1, to: {bar: 2}}", "  lemma: A\n  readings: [{witnesses: [E, S]}]\n"
        )
    )
    assert [c.version.witnesses for c in decision.comparisons] == [("E",), ("S",)]
    assert [len(c.differences) for c in decision.comparisons] == [1, 2]


def test_two_readings_keep_their_own_comparisons_even_if_equal() -> None:
    (decision,), _ = decided(
        reading(
            "{movement: 1, bar: 1}",
            "  lemma: A\n  readings: [{witnesses: E}, {witnesses: S, hand: school}]\n",
        )
    )
    assert [(c.variant, c.version.witnesses, c.version.hand) for c in decision.comparisons] == [
        (0, ("E",), None),
        (1, ("S",), "school"),
    ]


def test_a_reading_that_is_only_described_has_no_comparison() -> None:
    (decision,), problems = decided(
        reading(
            "{movement: 1, bar: 4}", "  lemma: A\n  readings: [{witnesses: L, says: lacks it}]\n"
        )
    )
    assert (decision.comparisons, problems) == ((), [])


def test_a_reading_with_its_own_notes() -> None:
    notes = music("2:C6 2:D6", file="music/l.mei")
    (decision,), problems = decided(
        reading(
            "{movement: 1, bar: 3}",
            "  lemma: A\n  readings: [{witnesses: L, music: {file: music/l.mei}}]\n",
        ),
        fragments={"music/l.mei": notes},
    )
    assert problems == []
    (comparison,) = decision.comparisons
    assert (comparison.version.origin, comparison.version.bars) == ("file", (0,))
    assert [told(d) for d in comparison.differences] == [
        "notes added added 2:2-2:4 2:r | 2:D6",
    ]


NOT_ENCODED = (
    "Add these bars to the encoding of {0} that edition.yaml names, describe the reading under "
    "`says`, or give its notes under `music: {{file: ...}}`."
)


def test_a_witness_without_encoding_is_told_with_the_ways_out() -> None:
    (decision,), problems = decided(
        reading("{movement: 1, bar: 4}", "  lemma: A\n  readings: [{witnesses: [L, S]}]\n")
    )
    assert decision.comparisons == ()
    assert problems == [
        "8:27 error witness-not-encoded: the reading of L cannot be taken from the witness: "
        "it has no encoding of movement 1 > " + NOT_ENCODED.format("L"),
        "8:30 error witness-not-encoded: the reading of S cannot be taken from the witness: "
        "its encoding has no bar 4 > " + NOT_ENCODED.format("S"),
    ]


def test_a_witness_encoded_in_these_bars_is_not_told() -> None:
    _, problems = decided(
        reading("{movement: 1, bar: 2}", "  lemma: A\n  readings: [{witnesses: S}]\n")
    )
    assert problems == []


def test_music_of_an_ossia_and_of_a_tradition() -> None:
    notes = music("2:C6 2:D6", file="music/o.mei")
    records = reading("{movement: 1, bar: 3}", "  music: {file: music/o.mei}\n", kind="ossia")
    records += reading(
        "{movement: 1, bar: 3}", "  music: {file: music/o.mei}\n", "r2", kind="tradition"
    )
    (ossia, tradition), problems = decided(records, fragments={"music/o.mei": notes})
    assert problems == []
    assert ossia.music is not None
    assert tradition.music is not None
    assert (ossia.layer, tradition.layer) == (Layer.EDITOR, Layer.TRADITION)


def test_an_unknown_derivation_is_told() -> None:
    (decision,), problems = decided(
        reading("{movement: 1, bar: 3}", "  music: {derive: touched forth}\n", kind="ossia")
    )
    assert decision.music is None
    assert problems == [
        "7:11 error derivation-unknown: music cannot be derived by `touched forth` > "
        "Did you mean `touched fourth`?"
    ]


def test_music_of_several_staves_is_refused() -> None:
    score = music("2:C6 2:D6", labels=("Violin", "Piano"))
    (decision,), problems = decided(
        reading("{movement: 1, bar: 3}", "  music: {file: music/o.mei}\n", kind="ossia"),
        fragments={"music/o.mei": score},
    )
    assert decision.music is None
    assert problems == [
        "7:11 error music-not-one-staff: `music/o.mei` holds 2 staves: 1 (Violin), 2 (Piano); "
        "the music of a record is one staff > Leave in the file only the staff that the record is "
        "about."
    ]


def test_decisions_come_in_the_order_of_the_music_whatever_their_status() -> None:
    records = "".join(
        reading(place, "", id_, kind="remark")
        for id_, place in (
            ("c", "{movement: 1, bar: 2}"),
            ("b", "{movement: 1, bar: 1, beat: 2}"),
            ("a", "{movement: 1, bar: 1, beat: 2}"),
        )
    ) + reading(
        "{movement: 1, bar: 1}", "  status: superseded\n  superseded_by: a\n", "z", "remark"
    )
    decisions, _ = decided(records)
    assert [d.id for d in decisions] == ["z", "a", "b", "c"]


def test_a_place_that_does_not_resolve_is_told_and_left_out() -> None:
    decisions, problems = decided(reading("{movement: 1, bar: 9}", "", kind="remark"))
    assert decisions == ()
    assert [problem.split(": ")[0] for problem in problems] == ["3:24 error no-such-bar"]


def test_deciding_changes_nothing_and_is_repeatable() -> None:
    records = reading("{movement: 1, bar: 1}", "  lemma: A\n  readings: [{witnesses: [E, S]}]\n")
    assert decided(records) == decided(records)
    assert music("4:C5 4:D5 4:E5 4:F5 | 4:G5 4:A5 2:B5 | 2:C6 2:r | 1:G5") == TEXT


def told_by(records: str, **more: object) -> dict[str, list[str]]:
    decisions, _ = decided(records, **more)
    return {
        d.id: [f"{'+'.join(c.version.witnesses)}: {told(x)}" for c in d.comparisons
               for x in c.differences]
        for d in decisions
    }  # fmt: skip


WIDE = reading("{movement: 1, bar: 1, to: {bar: 2}}", "  lemma: A\n  readings: [{witnesses: S}]\n")
D_FOR_B = "pitch 0:1-0:2 4:D5 | 4:B4"
A_FOR_F = "pitch 1:1-1:2 4:A5 | 4:F5"


def narrow(more: str = "") -> str:
    return reading(
        "{movement: 1, bar: 1, note: 2}",
        f"  lemma: A\n  readings: [{{witnesses: [E, S]}}]\n{more}",
        "narrow",
    )


def test_a_difference_is_told_where_the_place_fits_it_best() -> None:
    assert told_by(WIDE + narrow()) == {
        "r1": [f"S: {A_FOR_F}"],
        "narrow": [f"E+S: {D_FOR_B}"],
    }


def test_a_record_alone_tells_all_of_its_place() -> None:
    assert told_by(WIDE) == {"r1": [f"S: {D_FOR_B}", f"S: {A_FOR_F}"]}


def test_a_record_that_is_not_in_force_takes_nothing_from_one_that_is() -> None:
    proposed = narrow("  status: proposed\n")
    assert told_by(WIDE + proposed) == {
        "r1": [f"S: {D_FOR_B}", f"S: {A_FOR_F}"],
        "narrow": [f"E+S: {D_FOR_B}"],
    }


def test_a_record_left_with_nothing_keeps_all_for_the_check_to_name() -> None:
    bar = reading("{movement: 1, bar: 1}", "  lemma: A\n  readings: [{witnesses: S}]\n")
    assert told_by(bar + narrow()) == {
        "r1": [f"S: {D_FOR_B}"],
        "narrow": [f"E+S: {D_FOR_B}"],
    }


def test_a_slur_is_told_where_all_of_it_is_and_not_at_its_first_note() -> None:
    text = music("4:C5 4:D5 4:E5 4:F5 | 4:G5 4:A5 2:B5 | 2:C6 2:r | 1:G5", slur("0:1", "1:1"))
    found = told_by(WIDE + narrow(), text=text)
    missing = "slur missing 0:1-1:1 slur@0:1-1:1 | ."
    assert found["r1"] == [f"S: {missing}", f"S: {A_FOR_F}"]
    assert found["narrow"] == [f"E: {D_FOR_B}", f"E: {missing}", f"S: {D_FOR_B}"]
