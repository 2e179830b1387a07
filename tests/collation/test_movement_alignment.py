"""Laying a witness beside the text bar by bar: by what the bars hold, whatever their numbers.

Outside reference: an alignment by plain dynamic programming over the whole table, written here
(S. B. Needleman, C. D. Wunsch, "A general method applicable to the search for similarities", 1970).
"""

from __future__ import annotations

import re
import time
import tracemalloc

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pipeline.collation import movement_alignment
from pipeline.collation.fingerprints import Fingerprint, Fingerprints
from pipeline.collation.movement_alignment import align, distance, gap, pair_cost
from pipeline.collation.part_alignment import alike, part_of
from pipeline.score.model import Passage
from tests.collation.letters import music

TUNE = "4:C5 4:D5 2:E5 | 4:F5 4:E5 2:D5 | 2:C5 2:G4 | 1:C5 | 4:A4 4:B4 2:C5 | 1:D5"


def aligned(text: Passage, reading: Passage) -> str:
    """Return the pairs as `1-1 2-. .-2`, by printed number."""
    read = Fingerprints()
    found = align(read.of(text, (1,)), read.of(reading, (1,)))
    return " ".join(
        f"{'.' if pair.text is None else text.bars[pair.text].n}-"
        f"{'.' if pair.reading is None else reading.bars[pair.reading].n}"
        for pair in found.pairs
    )


def without(drawn: str, *bars: int) -> str:
    return " | ".join(b for n, b in enumerate(drawn.split(" | "), start=1) if n not in bars)


def test_the_same_music_stands_bar_against_bar() -> None:
    assert aligned(music(TUNE), music(TUNE)) == "1-1 2-2 3-3 4-4 5-5 6-6"


def test_a_missing_bar_is_found_though_the_witness_counts_on() -> None:
    assert aligned(music(TUNE), music(without(TUNE, 3))) == "1-1 2-2 3-. 4-3 5-4 6-5"


def test_an_added_bar_is_found() -> None:
    assert aligned(music(without(TUNE, 3)), music(TUNE)) == "1-1 2-2 .-3 3-4 4-5 5-6"


def test_an_upbeat_counted_as_bar_1_moves_only_the_numbers() -> None:
    text = music("4:G4 | " + TUNE, numbers="0 1 2 3 4 5 6")
    assert aligned(text, music("4:G4 | " + TUNE)) == "0-1 1-2 2-3 3-4 4-5 5-6 6-7"


def test_a_repeat_written_out_is_added_bars() -> None:
    twice = " | ".join([*TUNE.split(" | ")[:4], *TUNE.split(" | ")])
    assert aligned(music(TUNE), music(twice)).count(".-") == 4


def test_a_part_an_octave_lower_is_known_by_its_intervals_and_rhythm() -> None:
    lower = re.sub(r"([A-G])(\d)", lambda m: m[1] + str(int(m[2]) - 1), without(TUNE, 2))
    assert aligned(music(TUNE), music(lower)) == "1-1 2-. 3-2 4-3 5-4 6-5"


def test_a_bar_that_was_composed_anew_stands_against_the_old_one() -> None:
    new = TUNE.replace("2:C5 2:G4", "8:A5 8:F5 4:Bb4 4:Eb5 4:Ab4")
    assert aligned(music(TUNE), music(new)) == "1-1 2-2 3-3 4-4 5-5 6-6"


def test_of_equal_bars_the_printed_numbers_tell_which_is_missing() -> None:
    text = music("1:C5 | 1:C5 | 1:C5 | 1:C5")
    reading = music("1:C5 | 1:C5 | 1:C5", numbers="1 3 4")
    assert aligned(text, reading) == "1-1 2-. 3-3 4-4"


def test_silence_is_no_reason_to_follow_the_numbers() -> None:
    rests = " | ".join(["1:r"] * 12)
    text = music(f"{TUNE} | {rests} | 1:E5", numbers=" ".join(map(str, range(19))))
    reading = music(f"{TUNE} | {rests} | 1:E5")
    assert "." not in aligned(text, reading)


BARS = st.builds(
    lambda tokens, n: Fingerprint(frozenset(tokens), str(n)),
    st.lists(st.integers(0, 6), max_size=5),
    st.integers(1, 5),
)
SIDES = st.lists(BARS, max_size=14)


def least_cost(text: list[Fingerprint], reading: list[Fingerprint]) -> int:
    """Plain dynamic programming over every pair of bars."""
    table = [[0] * (len(reading) + 1) for _ in range(len(text) + 1)]
    for i in range(len(text) + 1):
        for j in range(len(reading) + 1):
            ways = []
            if i:
                ways.append(table[i - 1][j] + gap(text[i - 1]))
            if j:
                ways.append(table[i][j - 1] + gap(reading[j - 1]))
            if i and j:
                ways.append(table[i - 1][j - 1] + distance(text[i - 1], reading[j - 1]))
            table[i][j] = min(ways, default=0)
    return table[-1][-1]


def cost_of(text: list[Fingerprint], reading: list[Fingerprint]) -> int:
    """What the pairs come to; they must name every bar once and in order."""
    pairs = align(text, reading).pairs
    assert [p.text for p in pairs if p.text is not None] == list(range(len(text)))
    assert [p.reading for p in pairs if p.reading is not None] == list(range(len(reading)))
    total = 0
    for pair in pairs:
        one = None if pair.text is None else text[pair.text]
        other = None if pair.reading is None else reading[pair.reading]
        assert one or other
        if one and other:
            total += distance(one, other)
        else:
            total += gap(one or other)  # type: ignore[arg-type]
    return total


@given(SIDES, SIDES)
def test_no_alignment_costs_less(text: list[Fingerprint], reading: list[Fingerprint]) -> None:
    assert cost_of(text, reading) == least_cost(text, reading)


@given(SIDES, st.lists(st.integers(0, 13), max_size=6), SIDES)
def test_no_alignment_costs_less_where_stretches_are_halved(
    text: list[Fingerprint], left_out: list[int], added: list[Fingerprint]
) -> None:
    reading = [b for i, b in enumerate(text) if i not in left_out] + added[:3]
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(movement_alignment, "_SMALL", 4)
        patch.setattr(movement_alignment._Band, "beyond", 1)
        assert cost_of(text, reading) == least_cost(text, reading)


def least_cost_of_a_part(text: list[Fingerprint], reading: list[Fingerprint]) -> int | None:
    """Try every stretch of the text whose first and last bars are like those of the reading."""
    costs = []
    for i, first in enumerate(text):
        if not alike(first, reading[0]):
            continue
        if len(reading) == 1:
            costs.append(distance(first, reading[0]))
        for k in range(i + 1, len(text)):
            if len(reading) > 1 and alike(text[k], reading[-1]):
                ends = distance(first, reading[0]) + distance(text[k], reading[-1])
                costs.append(ends + least_cost(text[i + 1 : k], reading[1:-1]))
    return min(costs, default=None)


@settings(deadline=None)
@given(SIDES, SIDES.filter(bool))
def test_no_part_of_the_text_costs_less(
    text: list[Fingerprint], reading: list[Fingerprint]
) -> None:
    pairs = part_of(text, reading)
    least = least_cost_of_a_part(text, reading)
    if least is None:
        assert pairs == []
        return
    assert [p.reading for p in pairs if p.reading is not None] == list(range(len(reading)))
    held = [p.text for p in pairs if p.text is not None]
    assert held == list(range(held[0], held[-1] + 1))
    assert sum(pair_cost(pair, text, reading) for pair in pairs) == least


def test_a_part_of_a_long_movement_is_found_by_its_anchors() -> None:
    """Both its ends are written out twice."""
    bars = [Fingerprint(frozenset({i, i + 1, i + 7, 9000 + i % 5}), "") for i in range(900)]
    reading = [*bars[300:310], *bars[300:520], *bars[510:520]]
    pairs = part_of(bars, reading)
    assert [p.reading for p in pairs if p.reading is not None] == list(range(len(reading)))
    assert [p.text for p in pairs if p.text is not None] == list(range(300, 520))
    assert (pairs[0].text, pairs[-1].text) == (300, 519)


@given(BARS, BARS, BARS)
def test_the_distance_of_bars_is_a_metric(
    one: Fingerprint, other: Fingerprint, third: Fingerprint
) -> None:
    assert distance(one, other) == distance(other, one)
    assert distance(one, other) <= distance(one, third) + distance(third, other)
    assert distance(one, other) <= gap(one) + gap(other)
    assert gap(one) <= gap(other) + distance(one, other)
    assert (distance(one, other) == 0) == (one == other)


def test_a_long_movement_with_far_changes_takes_little_memory_and_time() -> None:
    bars = [Fingerprint(frozenset({i, i + 1, i + 7, 9000 + i % 5}), str(i)) for i in range(3000)]
    reading = [b for i, b in enumerate(bars) if i not in {5, 1500, 2990}]
    begun = time.process_time()
    found = align(bars, reading)
    assert time.process_time() - begun < 5
    assert [p.text for p in found.pairs if p.reading is None] == [5, 1500, 2990]
    tracemalloc.start()
    align(bars, reading)
    _, most = tracemalloc.get_traced_memory()
    tracemalloc.stop()
    assert most < 3_000_000
