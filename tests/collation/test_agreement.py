"""Units of variation drawn in letters, and the counts that an editor would make by hand."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pipeline.collation.agreement import Agreement, Tally, agreement
from pipeline.collation.beside import Obstacle
from pipeline.collation.collate import collate
from pipeline.collation.collated import BarChange
from pipeline.collation.laying import lay_beside
from pipeline.collation.model import DifferenceKind
from pipeline.score.model import Passage
from tests.collation.letters import music, slur, with_bar_signs

TEXT = "4:C5 4:D5 4:E5 4:F5 | 4:G5 4:A5 2:B5 | 2:C6 2:A5 | 1:G5"
PITCH, SLUR, RHYTHM = DifferenceKind.PITCH, DifferenceKind.SLUR, DifferenceKind.RHYTHM


def agreeing(witnesses: Mapping[str, Passage | str], text: Passage | str = TEXT) -> Agreement:
    """Return how witnesses drawn in letters agree beside the text."""
    base = music(text) if isinstance(text, str) else text
    read = {s: music(w, file=f"{s}.mei") if isinstance(w, str) else w for s, w in witnesses.items()}
    return agreement({(s, 1): collate(base, lay_beside(base, w), s, 1) for s, w in read.items()})


def table(found: Agreement) -> dict[str, str]:
    """Return the pairs as a reader sees them: agreements of units."""
    return {f"{a}{b}": f"{t.agreements}/{t.units}" for (a, b), t in found.pairs.items()}


def test_witnesses_like_the_text_have_no_unit() -> None:
    found = agreeing({"A": TEXT, "E": TEXT})
    assert found.units == ()
    assert found.pair("A", "E").share is None


def test_one_wrong_note_is_one_unit_and_its_witness_stands_alone() -> None:
    wrong = TEXT.replace("D5", "B4", 1)
    found = agreeing({"A": TEXT, "E": wrong, "S": TEXT})
    assert table(found) == {"AE": "0/1", "AS": "1/1", "ES": "0/1"}
    assert found.singular == {"A": 0, "E": 1, "S": 0}
    assert found.departures["E"] == {PITCH: 1}
    assert found.pairs_by_kind["A", "S"] == {PITCH: Tally(1, 1)}


def test_the_same_wrong_note_is_agreement_another_one_is_not() -> None:
    found = agreeing(
        {
            "E": TEXT.replace("D5", "B4", 1),
            "S": TEXT.replace("D5", "B4", 1),
            "D": TEXT.replace("D5", "C5", 1),
        }
    )
    assert table(found) == {"ES": "1/1", "ED": "0/1", "SD": "0/1"}
    assert found.singular == {"E": 0, "S": 0, "D": 1}


def test_a_wrong_note_is_the_same_with_a_dot_or_without() -> None:
    found = agreeing(
        {"E": TEXT.replace("4:D5", "4:B4", 1), "S": TEXT.replace("4:D5", "4:B4'stacc", 1)}
    )
    assert found.pairs_by_kind["E", "S"] == {
        PITCH: Tally(1, 1),
        DifferenceKind.ARTICULATION: Tally(0, 1),
    }


def test_slurs_that_overlap_are_one_unit_and_apart_they_are_two() -> None:
    text = music(TEXT, slur("0:0", "0:2"), slur("1:0", "1:2"))
    found = agreeing(
        {
            "E": music(TEXT, slur("0:0", "0:1"), slur("1:0", "1:2"), file="E.mei"),
            "S": music(TEXT, slur("0:0", "0:3"), file="S.mei"),
        },
        text,
    )
    assert [unit.kind for unit in found.units] == [SLUR, SLUR]
    assert table(found) == {"ES": "0/2"}


def test_two_kinds_at_one_place_are_two_units() -> None:
    found = agreeing({"E": TEXT.replace("4:G5 4:A5", "4.:G5 8:B5")})
    assert {unit.kind for unit in found.units} == {PITCH, RHYTHM}


def test_what_a_fragment_does_not_hold_does_not_count() -> None:
    """E breaks off after bar 2: of S's two slips it has the place of one only."""
    slips = TEXT.replace("D5", "B4", 1).replace("1:G5", "1:E5")
    found = agreeing({"E": "4:C5 4:D5 4:E5 4:F5 | 4:G5 4:A5 2:B5", "S": slips, "A": TEXT})
    assert table(found) == {"ES": "0/1", "EA": "1/1", "SA": "0/2"}
    assert found.held == {"E": 1, "S": 2, "A": 2}


def test_a_part_holds_its_own_staff_only() -> None:
    piano = "1:C3 | 1:D3 | 1:E3 | 1:F3"

    def score(file: str) -> Passage:
        lower = music(piano, staff=2, file=file)
        upper = music(TEXT, labels=("Violin", "Piano"), file=file)
        return replace(upper, events=(*upper.events, *lower.events))

    found = agreeing(
        {
            "S": music(TEXT.replace("D5", "B4", 1), file="S.mei"),
            "E": score("E.mei"),
            "K": music(piano, labels=("Piano",), file="K.mei"),
        },
        score("score.mei"),
    )
    assert [set(unit.readings) for unit in found.units] == [{"S", "E"}]


def test_where_the_note_is_missing_its_pitch_is_no_agreement() -> None:
    """S lacks the note that E has wrong: at the unit of pitch it has nothing to say."""
    found = agreeing({"E": TEXT.replace("D5", "B4"), "S": TEXT.replace("4:D5", "4:r"), "A": TEXT})
    by_kind = {unit.kind: set(unit.readings) for unit in found.units}
    assert by_kind == {PITCH: {"E", "A"}, DifferenceKind.NOTES_MISSING: {"E", "S", "A"}}


@pytest.mark.parametrize(
    ("of_s", "kind", "agreed"),
    [
        ("4:C5 4:D5 4:E5 4:F5 | 2:C6 2:A5 | 1:G5", BarChange.MISSING, "1/1"),
        (f"{TEXT} | 1:G5", BarChange.ADDED, "0/2"),
    ],
)
def test_bars_missing_or_added_are_units_too(of_s: str, kind: BarChange, agreed: str) -> None:
    found = agreeing({"E": "4:C5 4:D5 4:E5 4:F5 | 2:C6 2:A5 | 1:G5", "S": of_s, "A": TEXT})
    assert kind in found.kinds
    assert table(found)["ES"] == agreed


def test_a_witness_that_cannot_be_compared_does_not_appear() -> None:
    text = music(TEXT)
    collations = {
        (siglum, 1): collate(text, lay_beside(text, music(drawn)), siglum, 1)
        for siglum, drawn in {"A": TEXT, "L": "1:r | 1:r"}.items()
    }
    assert collations["L", 1].beside.obstacle is Obstacle.EMPTY
    assert agreement(collations).witnesses == ("A",)


PITCHES = st.sampled_from(["C5", "D5", "E5", "F5"])
WITNESS = st.lists(PITCHES, min_size=8, max_size=8).map(
    lambda p: " | ".join(" ".join(f"4:{one}" for one in p[at : at + 4]) for at in (0, 4))
)


@settings(deadline=None)
@given(st.lists(WITNESS, min_size=1, max_size=4), WITNESS)
def test_what_must_hold_of_any_witnesses(drawn: list[str], text: str) -> None:
    """Nobody departs from himself; who has the same music agrees throughout."""
    names = "ABCD"[: len(drawn)]
    found = agreeing(dict(zip(names, drawn, strict=True)), text)
    for unit in found.units:
        assert any(unit.readings.values())
    for (one, other), tally in found.pairs.items():
        assert 0 <= tally.agreements <= tally.units <= min(found.held[one], found.held[other])
        by_kind = found.pairs_by_kind[one, other].values()
        assert sum(t.units for t in by_kind) == tally.units
        if drawn[names.index(one)] == drawn[names.index(other)]:
            assert tally.agreements == tally.units
    for siglum in found.witnesses:
        assert found.singular[siglum] <= sum(found.departures[siglum].values())
        if drawn[names.index(siglum)] == text:
            assert not any(found.departures[siglum].values())


def test_meters_and_repeat_signs_are_counted_once_for_the_bar() -> None:
    def signed(meter: str, *ends: int, file: str = "score/movement-1.mei") -> Passage:
        return with_bar_signs(music(TEXT, file=file), meters={0: meter}, ends=ends)

    found = agreeing(
        {
            "A": signed("3/4", 2, file="A.mei"),
            "E": signed("6/8", file="E.mei"),
            "S": signed("6/8", 2, file="S.mei"),
        },
        signed("3/4", 2),
    )
    assert table(found) == {"AE": "0/2", "AS": "1/2", "ES": "1/2"}
    assert found.departures["E"] == {DifferenceKind.METER: 1, DifferenceKind.REPEAT: 1}
    assert found.departures["S"] == {DifferenceKind.METER: 1, DifferenceKind.REPEAT: 0}
