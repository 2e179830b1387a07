"""Records drafted for meters, repeat signs and endings: the bar itself, and nothing told twice."""

from __future__ import annotations

from typing import Any

from hypothesis import given, settings
from hypothesis import strategies as st

from pipeline.score.model import MarkingKind
from tests.checks.asking import record
from tests.collation.letters import music, sign, with_bar_signs
from tests.test_drafted_places import NOTES, drafted, places

SIGNS = st.fixed_dictionaries(
    {
        "meters": st.dictionaries(st.integers(0, 4), st.sampled_from(["4/4", "2/2", "8/8"])),
        "starts": st.frozensets(st.integers(0, 4)),
        "ends": st.frozensets(st.integers(0, 4)),
        "endings": st.dictionaries(st.integers(0, 4), st.sampled_from(["1", "2"])),
    }
)
PITCHES = st.sampled_from(["D5", "B4", "A5", "G5"])


def of(drawn: str, file: str, **signs: Any) -> Any:
    return with_bar_signs(music(drawn, file=file), **signs)


def test_a_drafted_record_stands_at_the_bar() -> None:
    text = of(NOTES, "score/movement-1.mei", meters={0: "3/4"}, ends={3})
    written = drafted({"E": of(NOTES, "E.mei", meters={0: "6/8"})}, text)
    assert places(written) == ["bar: 1", "bar: 4"]
    assert "# bar 1, Meter – text: 3/4; E: 6/8" in written
    assert "# bar 4, Repeat sign – text: repeat sign at the end of the bar; E: –" in written


def test_a_meter_is_not_one_decision_with_a_note_of_its_bar() -> None:
    text = of(NOTES, "score/movement-1.mei", meters={0: "3/4"})
    other = NOTES.replace("D5", "B4")
    written = drafted({"E": of(other, "E.mei", meters={0: "6/8"})}, text)
    assert sorted(places(written)) == ["bar: 1", "bar: 1, note: 2"]


@settings(max_examples=30, deadline=None)
@given(SIGNS, SIGNS, SIGNS, PITCHES)
def test_drafts_answer_whatever_bars_have_otherwise(
    text: dict[str, Any], one: dict[str, Any], other: dict[str, Any], pitch: str
) -> None:
    drafted(
        {
            "E": of(NOTES, "E.mei", **one),
            "S": of(NOTES.replace("D5", pitch), "S.mei", **other),
        },
        of(NOTES, "score/movement-1.mei", **text),
    )


def test_a_record_on_a_sign_of_the_same_bar_does_not_contradict() -> None:
    word = sign(MarkingKind.TEMPO, "0:0", content="Andante")
    text = with_bar_signs(music(NOTES, word), meters={0: "3/4"})
    has_none = with_bar_signs(music(NOTES, file="E.mei"), meters={0: "3/4"})
    other_meter = with_bar_signs(music(NOTES, word, file="S.mei"), meters={0: "6/8"})
    known = record("reading", "t", "bar: 1", "lemma: S", "readings: [{witnesses: E}]")
    assert places(drafted({"E": has_none, "S": other_meter}, text, known)) == ["bar: 1"]
