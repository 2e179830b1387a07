"""Drafts in bars drawn in letters: where they stand, and that they answer what they are for."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from datetime import date

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pipeline.checks.run import check
from pipeline.desk.draft_text import DraftText
from pipeline.desk.drafts import draft
from pipeline.problems import Severity, as_text
from pipeline.score.model import Marking, MarkingKind, Passage
from tests.collation.letters import dynamic, hairpin, music, sign, slur
from tests.collation.small_edition import small_edition

NOTES = "4:C5 4:D5 4:E5 4:F5 | 4:G5 4:A5 2:B5 | 1:r | 2:C6 2:r | 1:G5"
BARS = NOTES.split(" | ")


def drafted(witnesses: Mapping[str, Passage], text: Passage, records: str = "") -> str:
    """Return the drafts as written, after they were read again and proved to answer everything."""
    material, _ = small_edition(records, witnesses, text=text)
    made = draft(material.departures, material)
    assert made.without_place == ()
    writer = DraftText(material, "editor", date(2026, 3, 1))
    written = "".join(writer.record(one) for one in made.made)
    for status in ("proposed", "accepted"):
        decided = written.replace("status: proposed", f"status: {status}")
        decided = decided.replace("reason:\n", "reason: x\n")
        again, problems = small_edition(records + decided, witnesses, text=text)
        assert problems == ()
        assert not [one for one in again.departures if one.open]
        wrong = [
            as_text(problem)
            for problem in check(again)
            if problem.severity is Severity.ERROR or problem.code == "told-twice"
        ]
        assert wrong == [], decided
    return written


def places(written: str) -> list[str]:
    found = (line.strip() for line in written.splitlines())
    return [line.removeprefix("place: {movement: 1, ").removesuffix("}")
            for line in found if line.startswith("place:")]  # fmt: skip


def one_witness(drawn: str, *markings: Marking, text: Passage | None = None) -> list[str]:
    encoding = music(drawn, *markings, file="E.mei")
    return places(drafted({"E": encoding}, text or music(NOTES)))


@pytest.mark.parametrize(
    ("drawn", "expected"),
    [
        (NOTES.replace("D5", "B4"), ["bar: 1, note: 2"]),
        (NOTES.replace("4:D5 4:E5", "8:D5 4.:E5"), ["bar: 1, note: 2, to: {note: 3}"]),
        (NOTES.replace("4:D5", "4:r"), ["bar: 1, note: 2"]),
        (NOTES.replace("2:C6 2:r", "2:C6 2:D6"), ["bar: 4, beat: 3, to: {beat: 4}"]),
        (NOTES.replace("2:C6 2:r", "2:C6 4:r 4:D6"), ["bar: 4, beat: 3, to: {beat: 4}"]),
        (NOTES.replace("1:r", "2:r 2:D5"), ["bar: 3, beat: 1, to: {beat: 4}"]),
        (NOTES.replace("4:D5", "4:B4'stacc"), ["bar: 1, note: 2"]),
        (NOTES.replace("4:C5", "g8:B4 4:C5", 1), ["bar: 1, beat: 1"]),
    ],
)
def test_places_of_notes(drawn: str, expected: list[str]) -> None:
    assert one_witness(drawn) == expected


def test_places_of_signs() -> None:
    assert one_witness(NOTES, slur("0:1", "1:1")) == ["bar: 1, note: 2, to: {bar: 2, note: 2}"]
    assert one_witness(NOTES, dynamic("0:2", "p")) == ["bar: 1, note: 3"]
    assert one_witness(NOTES, dynamic("2:1", "p")) == ["bar: 3, beat: 2"]
    assert one_witness(NOTES, hairpin("1:0", "1:2")) == ["bar: 2, note: 1, to: {note: 3}"]
    assert one_witness(NOTES, sign(MarkingKind.WORDS, "0:1.5", content="dolce")) == [
        "bar: 1, beat: 2.5"
    ]


def test_a_note_under_a_slur_has_a_record_of_its_own() -> None:
    changed = NOTES.replace("E5", "D5")
    assert one_witness(changed, text=music(NOTES, slur("0:0", "1:2"))) == [
        "bar: 1, note: 1, to: {bar: 2, note: 3}",
        "bar: 1, note: 3",
    ]


def test_what_overlaps_is_one_record_whatever_its_kind() -> None:
    changed = NOTES.replace("4:D5 4:E5", "8:D5 4.:F5'stacc")
    assert one_witness(changed, dynamic("0:1", "p")) == ["bar: 1, note: 2, to: {note: 3}"]


def test_signs_at_neighbouring_notes_are_two_records() -> None:
    assert one_witness(NOTES, dynamic("0:0", "p"), dynamic("0:1", "f")) == [
        "bar: 1, note: 1",
        "bar: 1, note: 2",
    ]


def test_slurs_of_one_text_slur_are_one_record() -> None:
    text = music(NOTES, slur("0:0", "1:2"))
    witnesses = {
        "A": music(NOTES, slur("0:0", "1:2"), file="A.mei"),
        "E": music(NOTES, slur("0:0", "1:0"), file="E.mei"),
        "S": music(NOTES, slur("0:0", "0:3"), slur("1:0", "1:2"), file="S.mei"),
    }
    written = drafted(witnesses, text)
    assert places(written) == ["bar: 1, note: 1, to: {bar: 2, note: 3}"]
    assert "    - witnesses: E\n    - witnesses: S\n" in written


@pytest.mark.parametrize(
    ("bars", "expected"),
    [
        ([0, 2, 3, 4], ["bar: 2"]),
        ([0, 1, 3, 4], ["bar: 3"]),
        ([0, 3, 4], ["bar: 2, to: {bar: 3}"]),
    ],
)
def test_missing_bars_also_of_rest(bars: list[int], expected: list[str]) -> None:
    assert one_witness(" | ".join(BARS[bar] for bar in bars)) == expected


def test_a_missing_bar_of_rest_is_described_for_nothing_else_can_tell_it() -> None:
    encoding = music(" | ".join(BARS[:2] + BARS[3:]), file="E.mei")
    written = drafted({"E": encoding}, music(NOTES))
    assert "      says:\n        en: 'bar 3 lacking'\n" in written


@pytest.mark.parametrize(("at", "expected"), [(0, "bar: 1"), (1, "bar: 1"), (3, "bar: 3")])
def test_added_bars(at: int, expected: str) -> None:
    assert one_witness(" | ".join([*BARS[:at], "2:D4 2:E4", *BARS[at:]])) == [expected]


def test_a_bar_is_added_where_another_witness_has_other_notes() -> None:
    """What A has otherwise in the bar before is no text for which it could stand."""
    longer = " | ".join([*BARS[:2], "2:D4 2:E4", *BARS[2:]])
    witnesses = {
        "A": music(NOTES.replace("A5", "F5"), file="A.mei"),
        "E": music(longer, file="E.mei"),
        "S": music(NOTES, file="S.mei"),
    }
    written = drafted(witnesses, music(NOTES))
    assert places(written) == ["bar: 2", "bar: 2, note: 2"]
    assert "  lemma: S\n  readings:\n    - witnesses: E\n" in written


def test_a_bar_is_added_on_a_staff_where_nobody_has_other_notes() -> None:
    longer = " | ".join([*BARS[:2], "2:D4 2:E4", *BARS[2:]])
    witnesses = {
        "A": two_staves(NOTES.replace("A5", "F5"), NOTES, "A.mei"),
        "E": two_staves(longer, longer, "E.mei"),
    }
    written = drafted(witnesses, two_staves(NOTES, NOTES, "score.mei"))
    assert sorted(places(written)) == ["bar: 2, note: 2", "staff: 2, bar: 2"]
    assert "  lemma: A\n  readings:\n    - witnesses: E\n" in written


def two_staves(violin: str, piano: str, file: str) -> Passage:
    upper, lower = (
        music(drawn, staff=staff, labels=("Violin", "Piano"), file=file)
        for staff, drawn in ((1, violin), (2, piano))
    )
    return replace(upper, events=(*upper.events, *lower.events))


def test_the_witnesses_that_have_the_text_are_the_lemma() -> None:
    right = music(NOTES, file="A.mei")
    wrong = music(NOTES.replace("D5", "B4"), file="E.mei")
    written = drafted({"A": right, "E": wrong, "S": wrong}, music(NOTES))
    assert "  lemma: A\n  readings:\n    - witnesses: [E, S]\n" in written
    assert "# not encoded, please look: L\n" in written
    assert "emendation" in drafted({"A": wrong, "E": wrong}, music(NOTES))


def test_a_principal_source_that_is_not_encoded_is_taken_for_the_text() -> None:
    """The edition follows it, so what it has is in the base text; the comment asks to look."""
    head = (
        "title: t\nscoring: Violin\nlanguages: en\n"
        "agents: {editor: {name: Ilse Brand, role: editor}}\n"
        "witnesses:\n"
        "  A: {kind: autograph, title: Autograph, principal: true}\n"
        "  E: {kind: printed score, title: Print, copied_from: A, encodings: {1: E.mei}}\n"
        "movements: [{n: 1, title: Allegro, base: score/movement-1.mei}]\n"
    )
    wrong = music(NOTES.replace("D5", "B4"), file="E.mei")
    material, _ = small_edition("", {"E": wrong}, text=music(NOTES), head=head)
    (made,) = draft(material.departures, material).made
    assert made.lemma == ("A",)
    written = DraftText(material, "editor", date(2026, 3, 1)).record(made)
    assert "# not encoded, please look: A\n" in written


def test_an_existing_record_keeps_what_it_tells() -> None:
    """r1 speaks of E at the whole bar; what S alone has at the second note is drafted beside it."""
    records = (
        "- id: r1\n  kind: reading\n  place: {movement: 1, bar: 1}\n  by: editor\n"
        "  date: 2026-03-01\n  lemma: A\n  readings: [{witnesses: E}]\n  reason: x\n"
    )
    witnesses = {
        "A": music(NOTES, file="A.mei"),
        "E": music(NOTES.replace("4:D5", "4:B4'stacc"), file="E.mei"),
        "S": music(NOTES.replace("4:D5", "4:D5'stacc"), file="S.mei"),
    }
    written = drafted(witnesses, music(NOTES), records)
    assert places(written) == ["bar: 1, note: 2"]
    assert "witnesses: S" in written
    assert "witnesses: E" not in written


def test_a_witness_that_lacks_only_a_tie_into_the_place_has_the_text() -> None:
    """A lacks the tie into bar 2, S and E have a dynamic there: nothing is told at its end."""
    tied = "4:C5 4:D5 2:E5~ | 2:=E5 2:F5"
    untied = "4:C5 4:D5 2:E5 | 2:E5 2:F5"
    witnesses = {
        "A": music(untied, file="A.mei"),
        "E": music(tied, dynamic("1:0", "f"), file="E.mei"),
        "S": music(untied, dynamic("1:0", "f"), file="S.mei"),
    }
    written = drafted(witnesses, music(tied))
    assert places(written) == ["bar: 1, note: 3", "bar: 2, note: 1"]
    assert "  lemma: A\n  readings:\n    - witnesses: [E, S]\n" in written
    material, _ = small_edition(written.replace("reason:\n", "reason: x\n"), witnesses,
                                text=music(tied))  # fmt: skip
    codes = {problem.code for problem in check(material)}
    assert not codes & {"lemma-witness-differs-besides", "witness-left-out"}


VALUES = st.sampled_from(["4:C5", "4:D5", "4:E5", "4:r", "4:D5'stacc", "8:C5 8:D5", "4:E5~"])
SIGNS = st.lists(
    st.tuples(st.sampled_from(["slur", "hairpin", "p"]), st.integers(0, 10), st.integers(1, 5)),
    max_size=4,
    unique_by=lambda one: one[:2],
)
BEATS = st.lists(VALUES, min_size=12, max_size=12)
CHANGES = st.dictionaries(st.integers(0, 11), VALUES, max_size=3)
WITNESSES = st.lists(st.tuples(CHANGES, SIGNS), min_size=1, max_size=3)


def drawn_with(
    beats: list[str], changes: Mapping[int, str], signs: list[tuple[str, int, int]], name: str
) -> Passage:
    """Return three bars, some beats exchanged, each sign from a beat over some others."""
    notes = [changes.get(n, beat) for n, beat in enumerate(beats)]
    bars = " | ".join(" ".join(notes[n : n + 4]) for n in (0, 4, 8))
    made = []
    for kind, start, length in signs:
        first, last = (f"{at // 4}:{at % 4}" for at in (start, min(start + length, 11)))
        of_extent = {"slur": slur, "hairpin": hairpin}
        made.append(of_extent[kind](first, last) if kind in of_extent else dynamic(first, "p"))
    return music(bars, *made, file=name)


@settings(deadline=None)
@given(BEATS, SIGNS, WITNESSES)
def test_whatever_witnesses_have_drafts_answer_it(
    beats: list[str],
    signs: list[tuple[str, int, int]],
    others: list[tuple[dict[int, str], list[tuple[str, int, int]]]],
) -> None:
    witnesses = {
        siglum: drawn_with(beats, changes, own_signs, f"{siglum}.mei")
        for siglum, (changes, own_signs) in zip("AES", others, strict=False)
    }
    drafted(witnesses, drawn_with(beats, {}, signs, "text.mei"))
