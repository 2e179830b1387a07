"""A witness collated from end to end: bars found by what they hold, every difference told once."""

from __future__ import annotations

from dataclasses import replace
from random import Random

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from pipeline.collation.beside import BarPair, Beside
from pipeline.collation.collate import collate
from pipeline.collation.collated import Collation
from pipeline.collation.differences import differences
from pipeline.collation.laying import lay_beside
from pipeline.collation.model import DifferenceKind, Version
from pipeline.score.model import Marking, MarkingKind, Passage
from pipeline.score.transposing import Move, transposed
from tests.collation.letters import dynamic, hairpin, music, sign, slur, told, whole

BARS = (
    "4:C5 4:D5 2:E5", "4:F5 4:E5 2:D5", "2:C5 2:G4", "4:A4 8:B4 8:C5 2:D5",
    "8:E5 8:F5 4:G5 2:A5", "2:B5 4:G5 4:E5", "4.:F5 8:D5 2:B4", "1:C5",
)  # fmt: skip

RUNS = (
    "8:G4 8:A4 8:B4 8:C5 8:D5 8:E5 8:F5 8:G5", "8:A5 8:F5 8:D5 8:B4 4:C5 4:G4",
    "4.:E5 8:D5 4.:B4 8:A4",
)  # fmt: skip


def drawn(*bars: str) -> str:
    return " | ".join(bars)


def collated(text: Passage, witness: Passage) -> Collation:
    return collate(text, lay_beside(text, witness), "E", 1)


def lines(text: Passage, witness: Passage) -> list[str]:
    """Return bars that one side lacks as `bars missing 3 4 after 1`, then the differences."""
    found = collated(text, witness)
    return [
        f"{bar.change} {' '.join(map(str, bar.text or bar.reading))} after {bar.after}"
        for bar in found.bars
    ] + [told(difference) for difference in found.differences]


TEXT = music(drawn(*BARS))


def test_a_missing_bar_is_one_difference_however_the_witness_counts() -> None:
    without = BARS[:3] + BARS[4:]
    for numbers in ("", "1 2 3 5 6 7 8"):
        assert lines(TEXT, music(drawn(*without), numbers=numbers)) == ["bars missing 3 after 2"]


def test_bars_before_and_after_what_is_encoded_are_not_missing() -> None:
    witness = music(drawn(*BARS[2:6]), numbers="3 4 5 6")
    assert lines(TEXT, witness) == []
    assert lines(TEXT, music(drawn(*BARS[2:6]))) == []


def test_an_upbeat_counted_as_bar_1_changes_nothing() -> None:
    text = music(drawn("4:G4", *BARS), numbers="0 1 2 3 4 5 6 7 8")
    wrong = music(drawn("4:G4", *BARS[:4], "8:E5 8:F5 4:G5 2:G5", *BARS[5:]))
    assert lines(text, wrong) == ["pitch 5:2-5:4 2:A5 | 2:G5"]


def test_an_upbeat_counted_as_bar_1_stays_the_upbeat_where_a_bar_is_missing() -> None:
    """So many bars as the text has numbered ones: their numbers are all there, and all wrong."""
    text = music(drawn("4:G4", *BARS), numbers="0 1 2 3 4 5 6 7 8")
    witness = music(drawn("4:G4", *BARS[:3], *BARS[4:]))
    assert lines(text, witness) == ["bars missing 4 after 3"]


def test_a_repeat_written_out_is_one_added_stretch() -> None:
    text = music(drawn(*BARS), numbers="1 2 3 4a 4b 5 6 7")
    written_out = music(drawn(*BARS[:4], *BARS[:3], *BARS[4:]))
    assert lines(text, written_out) == ["bars added 4 5 6 after 3"]
    assert lines(written_out, text) == ["bars missing 4 5 6 after 3"]


def test_a_bar_divided_by_a_repeat_sign_is_no_missing_bar() -> None:
    divided = (*BARS[:4], "8:E5 8:F5 4:G5", "2:A5", *BARS[5:])
    assert lines(TEXT, music(drawn(*divided))) == []
    assert lines(music(drawn(*divided)), TEXT) == []


def test_a_difference_in_the_second_half_of_a_divided_bar_is_told_where_it_is() -> None:
    divided = (*BARS[:4], "8:E5 8:F5 4:G5", "2:B5", *BARS[5:])
    assert lines(TEXT, music(drawn(*divided))) == ["pitch 4:2-4:4 2:A5 | 2:B5"]
    assert lines(music(drawn(*divided)), TEXT) == ["pitch 5:0-5:2 2:B5 | 2:A5"]


def test_a_slur_over_a_divided_bar_is_the_same_slur() -> None:
    text = music(drawn(*BARS), slur("4:0", "4:2"))
    divided = (*BARS[:4], "8:E5 8:F5 4:G5", "2:A5", *BARS[5:])
    assert lines(text, music(drawn(*divided), slur("4:0", "5:0"))) == []


def test_a_few_bars_stand_where_their_numbers_say() -> None:
    """The witness holds the reprise alone; a slip makes it like the first bars to the note."""
    text = music(drawn(*BARS, "4:C5 4:D5 2:F5", *BARS[1:]))
    witness = music(drawn(*BARS), numbers="9 10 11 12 13 14 15 16")
    assert lines(text, witness) == ["pitch 8:2-8:4 2:F5 | 2:E5"]
    assert lines(text, music(drawn(*BARS))) == []


def test_a_slip_at_the_edge_does_not_send_a_bar_to_its_like_far_away() -> None:
    """The witness begins with bar 11, which differs there and is so like bar 3 to the note."""
    text = music(drawn(*BARS, "2:E5 2:G4", "2:C5 2:A4", "2:C5 2:F4", "2:G5 2:F5", "1:E5"))
    witness = music(drawn("2:C5 2:G4", "2:G5 2:F5", "1:E5"), numbers="a b c")
    assert lines(text, witness) == ["pitch 10:2-10:4 2:F4 | 2:G4"]


def test_a_repeat_written_out_in_a_part_does_not_draw_it_to_the_beginning() -> None:
    """The witness holds bars 10 to 16 and again 9 to 20; its numbers are its own."""
    by_chance = Random(7)
    tune = [
        " ".join(
            f"{value}:{by_chance.choice('CDEFGAB')}{by_chance.choice('456')}"
            for value in by_chance.choice(["2 4 4", "4 4 2", "8 8 4 2", "4. 8 2", "2. 4"]).split()
        )
        for _ in range(28)
    ]
    witness = music(drawn(*tune[9:16], *tune[8:20]))
    text = music(drawn(*tune))
    beside = lay_beside(text, witness)
    found = collate(text, beside, "A", 1)
    assert found.differences == ()
    assert [len(one.reading) for one in found.bars] == [8]
    assert (min(beside.reading_bar), max(beside.reading_bar)) == (9, 19)


def test_a_movement_that_lacks_a_long_stretch_keeps_its_first_bar() -> None:
    """Its first bar is the text's, though eleven of 28 bars after it are missing."""
    values = ["2 4 4", "4 4 2", "8 8 4 2", "4. 8 2", "2. 4"]
    tune = [
        " ".join(f"{value}:{'CDEFGAB'[(n * n + at) % 7]}{4 + n % 3}"
                 for at, value in enumerate(values[n % 5].split()))
        for n in range(28)
    ]  # fmt: skip
    assert lines(music(drawn(*tune)), music(drawn(tune[0], *tune[12:]))) == [
        f"bars missing {' '.join(str(n) for n in range(1, 12))} after 0"
    ]


SIGNS = [
    # signs of the text, signs of the witness that lacks the fourth bar, what is told besides
    ((slur("3:0", "3:2"), dynamic("3:0", "f")), (), []),
    ((slur("2:0", "3:1"),), (), ["slur missing 2:0-3:1 slur@2:0-3:1 | ."]),
    ((slur("2:0", "4:0"),), (slur("2:0", "3:0"),), []),
    ((hairpin("2:2", "4:0"),), (hairpin("2:2", "3:0"),), []),
    ((hairpin("3:0", "4:0"),), (), []),
    ((dynamic("4:0", "p"),), (dynamic("3:0", "p"),), []),
    ((dynamic("3:0", "p"),), (dynamic("3:0", "p"),), ["dynamic added 4:0-4:0 . | p@3:0"]),
]


@pytest.mark.parametrize(("of_text", "of_witness", "expected"), SIGNS)
def test_signs_in_and_into_a_missing_bar(
    of_text: tuple[Marking, ...], of_witness: tuple[Marking, ...], expected: list[str]
) -> None:
    text = music(drawn(*BARS), *of_text)
    witness = music(drawn(*BARS[:3], *BARS[4:]), *of_witness)
    assert lines(text, witness) == ["bars missing 3 after 2", *expected]


def test_signs_of_an_added_bar_are_not_told_again() -> None:
    text = music(drawn(*BARS[:3], *BARS[4:]))
    signs = slur("3:0", "3:2"), dynamic("3:0", "f"), hairpin("3:0", "4:0")
    assert lines(text, music(drawn(*BARS), *signs)) == ["bars added 3 after 2"]


def test_what_crosses_the_border_of_what_is_encoded_is_not_missing() -> None:
    text = music(
        drawn(*BARS[:3], "4:A4 8:B4 8:C5 2:D5~", "8:=D5 8:F5 4:G5 2:A5", *BARS[5:]),
        slur("3:0", "4:0"),
        hairpin("2:0", "4:0"),
    )
    assert lines(text, music(drawn(*BARS[:4]))) == []


def test_an_octave_sign_is_told_where_the_notes_sound_otherwise() -> None:
    octave = sign(MarkingKind.OCTAVE, "2:0", "2:2", "8 above")
    sounding = music(drawn(*BARS), octave)
    read_plain = music(drawn(*BARS[:2], "2:C4 2:G3", *BARS[3:]))
    assert lines(sounding, music(drawn(*BARS))) == []
    assert lines(sounding, read_plain) == ["octave sign missing 2:0-2:2 8 above@2:0-2:2 | ."]


NOTES = st.sampled_from(["C5", "D5", "E5", "F#5", "G4", "Bb4"])
RHYTHMS = st.sampled_from([(1,), (2, 2), (4, 4, 2), (8, 8, 4, 2), (4, 4, 4, 4)])


@st.composite
def bars(draw: st.DrawFn) -> str:
    return " ".join(f"{value}:{draw(NOTES)}" for value in draw(RHYTHMS))


PIECES = st.lists(bars(), min_size=2, max_size=9)
DIFFERENT = st.lists(bars(), min_size=3, max_size=9, unique=True)
MOVES = st.tuples(st.integers(-9, 9), st.integers(-1, 1)).map(
    lambda row: Move(row[0], (12 * row[0] + 3) // 7 + row[1])
)


@given(PIECES)
def test_a_passage_differs_from_itself_in_nothing(piece: list[str]) -> None:
    text = music(drawn(*piece))
    assert lines(text, text) == []
    again = music(
        drawn(*piece), file="other.mei", numbers=" ".join(f"x{i}" for i in range(len(piece)))
    )
    assert lines(text, again) == []


@given(PIECES, PIECES)
def test_ids_and_printed_numbers_of_the_bars_change_nothing(
    piece: list[str], other: list[str]
) -> None:
    text = music(drawn(*piece))
    assert lines(text, music(drawn(*other))) == lines(text, music(drawn(*other), file="other.mei"))


@given(PIECES, PIECES)
def test_exchanged_sides_exchange_what_is_missing_and_added(
    piece: list[str], other: list[str]
) -> None:
    one, two = music(drawn(*piece)), music(drawn(*other), file="other.mei")
    there = laid_whole(one, two)
    back = replace(
        there, passage=one, pairs=tuple(BarPair(pair.reading, pair.text) for pair in there.pairs)
    )
    forth = collate(one, there, "E", 1)
    again = collate(two, back, "E", 1)
    assert [(bar.text, bar.reading) for bar in forth.bars] == [
        (bar.reading, bar.text) for bar in again.bars
    ]
    exchanged = {"missing": "added", "added": "missing"}
    change = {
        DifferenceKind.NOTES_ADDED: DifferenceKind.NOTES_MISSING,
        DifferenceKind.NOTES_MISSING: DifferenceKind.NOTES_ADDED,
    }
    assert sorted(
        (change.get(d.kind, d.kind), exchanged.get(d.change, d.change)) for d in forth.differences
    ) == sorted((d.kind, d.change) for d in again.differences)


def laid_whole(text: Passage, witness: Passage) -> Beside:
    """Return the witness beside the text with every bar of both among the pairs."""
    beside = lay_beside(text, witness)
    assume(beside.obstacle is None)
    held = beside.reading_bar
    front = tuple(BarPair(bar, None) for bar in range(min(held)))
    back = tuple(BarPair(bar, None) for bar in range(max(held) + 1, len(text.bars)))
    return replace(beside, pairs=(*front, *beside.pairs, *back))


@given(DIFFERENT, st.data())
def test_any_bar_left_out_between_others_is_one_difference(
    piece: list[str], data: st.DataObject
) -> None:
    gone = data.draw(st.integers(1, len(piece) - 2))
    witness = music(drawn(*piece[:gone], *piece[gone + 1 :]))
    assert lines(music(drawn(*piece)), witness) == [f"bars missing {gone} after {gone - 1}"]
    assert lines(witness, music(drawn(*piece))) == [f"bars added {gone} after {gone - 1}"]


@given(st.lists(bars(), min_size=4, max_size=6, unique=True), MOVES, st.data())
def test_a_transposed_witness_differs_in_what_it_has_otherwise(
    piece: list[str], by: Move, data: st.DataObject
) -> None:
    gone = data.draw(st.integers(1, len(piece) - 2))
    text = music(drawn(*BARS, *piece, *RUNS))
    witness = music(drawn(*BARS, *piece[:gone], *piece[gone + 1 :], *RUNS))
    elsewhere = transposed(witness, {1: by})
    assert lines(text, elsewhere) == lines(text, witness)


@given(PIECES, PIECES)
def test_places_and_the_whole_tell_the_same(piece: list[str], other: list[str]) -> None:
    text = music(drawn(*piece), slur("0:0", "1:0"), dynamic("1:0", "p"))
    beside = laid_whole(text, music(drawn(*other), slur("0:0", "1:0")))
    version = Version(beside.passage, (), 1, "encoding", ("E",), None, beside)
    of_places = {
        told(d)
        for bar in range(len(text.bars))
        for d in differences(text, whole(text, bar, bar), version)
    }
    found = collate(text, beside, "E", 1)
    assert {told(d) for d in found.differences} <= of_places
