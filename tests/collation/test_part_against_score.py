"""Where a part has another reading than its own score, and which of the two the text follows.

S is the solo part to the score E. Text: C5 D5 E5 F5 | G5 A5 B5 | C6 | G5, and A has it.
"""

from __future__ import annotations

import pytest

from pipeline.score.model import Marking, MarkingKind, Passage
from tests.collation.letters import dynamic, music, sign, slur
from tests.collation.small_edition import HEAD, small_edition

NOTES = "4:C5 4:D5 4:E5 4:F5 | 4:G5 4:A5 2:B5 | 2:C6 2:r | 1:G5"
WITH_SCORE = HEAD.replace("copied_from: E,", "copied_from: E, part_of: E,")
P = dynamic("0:0", "p")
SLUR = slur("0:0", "0:1")


def written(*markings: Marking, **changes: str) -> Passage:
    notes = NOTES
    for old, new in changes.items():
        notes = notes.replace(old, new)
    return music(notes, *markings, numbers="1 2 3 4")


def found(
    score: Passage,
    part: Passage,
    readings: str = "[{witnesses: E}, {witnesses: S}]",
    lemma: str = "A",
    head: str = WITH_SCORE,
    more: str = "",
    text: Passage | None = None,
) -> list[str]:
    text = written() if text is None else text
    records = (
        "- id: r\n  kind: reading\n  place: {movement: 1, bar: 1}\n  by: editor\n"
        f"  date: 2026-03-01\n  reason: because\n  lemma: {lemma}\n  readings: {readings}\n{more}"
    )
    witnesses = {"A": text, "E": score, "S": part}
    material, problems = small_edition(records, witnesses, head=head, text=text)
    assert problems == ()
    decision = next(decision for decision in material.decisions if decision.id == "r")
    return [f"{p.part} against {p.score}: {p.follows}" for p in decision.parts_against_scores]


def test_the_part_differs_and_the_score_has_the_text() -> None:
    part = written(D5="B4")
    assert found(written(), part, "[{witnesses: S}]", "[A, E]") == ["S against E: score"]


def test_the_score_differs_and_the_part_has_the_text() -> None:
    score = written(D5="B4")
    assert found(score, written(), "[{witnesses: E}]", "[A, S]") == ["S against E: part"]


def test_both_have_one_and_the_same_reading() -> None:
    same = written(D5="B4")
    assert found(same, same) == []
    assert found(same, same, "[{witnesses: [E, S]}]") == []


def test_both_depart_at_the_same_note_in_two_ways() -> None:
    assert found(written(D5="B4"), written(D5="F5")) == ["S against E: neither"]


@pytest.mark.parametrize(
    ("score", "part", "follows"),
    [
        # What both share is no contradiction: what only one has otherwise decides.
        (written(D5="B4"), written(P, D5="B4"), "score"),
        (written(P, D5="B4"), written(D5="B4"), "part"),
        (written(D5="B4"), music(NOTES.replace("4:D5 4:E5", "4.:B4 8:E5")), "score"),
        (written(D5="B4"), written(P), "each in part"),
        (written(D5="B4"), written(P, D5="F5"), "score in part"),
        (written(P, D5="B4"), written(D5="F5"), "part in part"),
    ],
)
def test_readings_that_agree_in_part(score: Passage, part: Passage, follows: str) -> None:
    assert found(score, part) == [f"S against E: {follows}"]
    assert found(score, part, "[{witnesses: [E, S]}]") == [f"S against E: {follows}"]


def test_what_the_part_has_otherwise_but_another_record_tells_is_no_reading_of_the_text() -> None:
    """The narrower record tells the part's note; the wider one may not say the part has ours."""
    narrow = (
        "- id: n\n  kind: reading\n  place: {movement: 1, bar: 1, note: 2}\n  by: editor\n"
        "  date: 2026-03-01\n  reason: because\n  lemma: [A, E]\n  readings: [{witnesses: S}]\n"
    )
    score, part = written(D5="B4"), written(P, D5="F5")
    assert found(score, part, more=narrow) == ["S against E: score in part"]


def test_signs_as_well_as_notes() -> None:
    text = written(SLUR, sign(MarkingKind.FINGERING, "0:0", content="1"))
    score = written(SLUR)
    part = written(SLUR, sign(MarkingKind.FINGERING, "0:0", content="2"))
    assert found(score, part, text=text) == ["S against E: neither"]


def test_a_witness_that_the_record_does_not_name_contradicts_nothing() -> None:
    assert found(written(), written(D5="B4"), "[{witnesses: S}]") == []


def test_a_reading_that_is_only_described_counts_as_it_is_given() -> None:
    same = written()
    assert found(same, same, "[{witnesses: S, says: a smudge}]", "[A, E]") == ["S against E: score"]
    one, other = "{witnesses: E, says: lacks it}", "{witnesses: S, says: a smudge}"
    assert found(same, same, f"[{one}, {other}]") == ["S against E: neither"]
    assert found(same, same, "[{witnesses: [E, S], says: lack it}]") == []


def test_a_later_hand_is_not_the_part() -> None:
    readings = "[{witnesses: S, says: a slur in pencil, hand: school}]"
    assert found(written(), written(), readings, "[A, E]") == []


def test_an_emendation_follows_neither() -> None:
    material, _ = small_edition(
        "- id: r\n  kind: emendation\n  place: {movement: 1, bar: 1}\n  by: editor\n"
        "  date: 2026-03-01\n  reason: because\n  readings: [{witnesses: [A, E, S]}]\n",
        {"A": written(D5="B4"), "E": written(D5="B4"), "S": written(D5="F5")},
        head=WITH_SCORE,
    )
    (decision,) = material.decisions
    assert [one.follows for one in decision.parts_against_scores] == ["neither"]


@pytest.mark.parametrize("lemma", ["[A, E]", "A"])
def test_a_summary_speaks_of_it_only_where_one_of_the_two_has_the_text(lemma: str) -> None:
    text = written(P, sign(MarkingKind.FINGERING, "0:0", content="1"))
    readings = "[{witnesses: S}]" if "E" in lemma else "[{witnesses: [E, S]}]"
    score = text if "E" in lemma else written(P)
    part = written(P, sign(MarkingKind.FINGERING, "0:0", content="2"))
    against = found(score, part, readings, lemma, more="  throughout: fingering\n", text=text)
    assert against == (["S against E: score"] if "E" in lemma else [])


def test_without_part_of_nothing_is_said() -> None:
    assert found(written(), written(D5="B4"), "[{witnesses: S}]", "[A, E]", head=HEAD) == []
