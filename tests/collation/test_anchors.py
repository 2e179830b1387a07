"""Bars that hold two long versions together: rows of three that stand nowhere else."""

from __future__ import annotations

from itertools import pairwise

from hypothesis import given
from hypothesis import strategies as st

from pipeline.collation import movement_alignment
from pipeline.collation.anchors import anchors
from pipeline.collation.fingerprints import Fingerprint
from pipeline.collation.movement_alignment import align


def bars(letters: str) -> list[Fingerprint]:
    """Return bars known by a letter each; a dot is a silent bar."""
    return [
        Fingerprint(frozenset() if c == "." else frozenset({ord(c)}), str(n))
        for n, c in enumerate(letters, start=1)
    ]


def anchored(text: str, reading: str) -> str:
    return "".join(text[i] for i, _ in anchors(bars(text), bars(reading)))


def test_rows_that_stand_once_on_both_sides() -> None:
    assert anchored("abcdefgh", "abcdefgh") == "abcdefgh"
    assert anchored("abcdefgh", "abcXefgh") == "abcefgh"
    assert anchored("abcabcdef", "abcdef") == "bcdef"  # `abc` stands twice
    assert anchored("abcdef", "defabc") in {"abc", "def"}  # one of two that are exchanged
    assert anchored("ab...cd", "ab...cd") == ""


LETTERS = st.text("abcdef.", max_size=30)


@given(LETTERS, LETTERS)
def test_anchors_rise_on_both_sides_and_are_the_same_bars(text: str, reading: str) -> None:
    found = anchors(bars(text), bars(reading))
    assert all(text[i] == reading[j] for i, j in found)
    assert all(a < c and b < d for (a, b), (c, d) in pairwise(found))


@given(st.permutations("abcdefghijklmnopqrstuvwxyz"), st.integers(3, 22), st.integers(1, 3))
def test_a_stretch_left_out_is_found_as_without_anchors(
    letters: list[str], start: int, count: int
) -> None:
    text = bars("".join(letters))
    reading = text[:start] + text[start + count :]
    plain = align(text, reading)
    before = movement_alignment._LONG
    try:
        movement_alignment._LONG = 0
        assert align(text, reading) == plain
    finally:
        movement_alignment._LONG = before
