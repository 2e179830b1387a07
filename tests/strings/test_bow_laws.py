"""Laws of the bow, whatever the music: no note is left out, no time is lost."""

from __future__ import annotations

from fractions import Fraction
from itertools import chain, pairwise

from hypothesis import given
from hypothesis import strategies as st

from pipeline.score.model import Passage
from pipeline.strings.bow import Direction, mirrored
from tests.collation.letters import music, slur
from tests.strings.bowed import carried_out, line

NOTES = st.sampled_from(
    ["4:C5", "4:D5'dnbow", "4:E5'upbow", "4:r", "4:F5~ ", "4:=F5", "8:G5 8:A5", "4:C5+E5",
     "8/3:C5 8/3:D5 8/3:E5", "4:C5'lhpizz", "8:B5 8:r"]
)  # fmt: skip
BARS = st.lists(NOTES, min_size=4, max_size=4).map(" ".join)
EDGE = st.tuples(st.integers(0, 2), st.integers(0, 3))


@st.composite
def staves(draw: st.DrawFn) -> Passage:
    """Three bars of quarters, with up to five slurs from anywhere to anywhere."""
    drawn = draw(st.lists(BARS, min_size=3, max_size=3))
    edges = draw(st.lists(st.tuples(EDGE, EDGE), max_size=5))
    slurs = [slur(f"{a[0]}:{a[1]}", f"{b[0]}:{b[1]}") for a, b in map(sorted, edges)]
    return music(" | ".join(drawn), *slurs)


@given(staves())
def test_every_bowed_note_is_in_one_stroke(text: Passage) -> None:
    found = [note.xml_id for stroke in line(text).strokes for note in stroke.notes]
    plucked = line(text).sounds.plucked
    assert sorted([*found, *plucked]) == sorted(e.xml_id for e in text.events if e.heads)


@given(staves())
def test_the_strokes_last_as_long_as_the_music_without_its_rests(text: Passage) -> None:
    plucked = line(text).sounds.plucked
    bowed = [e.duration for e in text.events if e.heads and e.xml_id not in plucked]
    assert sum(stroke.quarters for stroke in line(text).strokes) == sum(bowed, Fraction(0))


@given(staves())
def test_strokes_follow_one_another_in_the_order_of_the_music(text: Passage) -> None:
    sounds = line(text).sounds.all
    assert tuple(chain.from_iterable(s.sounds for s in line(text).strokes)) == sounds


@given(staves())
def test_between_signs_the_bow_goes_to_and_fro(text: Passage) -> None:
    strokes = line(text).strokes
    for before, after in pairwise(strokes):
        if not after.written:
            assert after.direction == (before.direction and before.direction.other)


@given(staves())
def test_the_mirror_of_the_mirror_is_the_bowing(text: Passage) -> None:
    strokes = line(text).strokes
    assert mirrored(mirrored(strokes)) == strokes
    assert {s.direction for s in mirrored(strokes)} == {
        s.direction and Direction(s.direction).other for s in strokes
    }


@given(
    st.integers(2, 12).flatmap(
        lambda count: st.tuples(st.just(count), st.sets(st.integers(1, count - 1)))
    )
)
def test_k_strokes_turn_what_follows_k_minus_1_times(case: tuple[int, set[int]]) -> None:
    count, divisions = case
    text = music(" ".join(["8:C5"] * count + ["4:D5"]), slur("0:0", f"0:{(count - 1) / 2}"))
    whole = carried_out(text, signs={1: "down"})
    divided = carried_out(text, divide_after=sorted(divisions), signs={1: "down"})
    turned = whole.strokes[-1].direction is not divided.strokes[-1].direction
    assert len(divided.strokes) - len(whole.strokes) == divided.turns == len(divisions)
    assert turned is (len(divisions) % 2 == 1)
