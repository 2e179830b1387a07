"""Bars of two long versions that stand against each other for certain, before they are aligned.

In come the fingerprints of both; out go pairs of bars in order on both sides: three bars in a row
that stand so nowhere else in either version. What lies between them is aligned as usual, so that
the time for long movements grows with their length and not with its square, as when a witness holds
only a part from the middle. After J. W. Hunt and M. D. McIlroy, "An Algorithm for Differential File
Comparison", Bell Laboratories, 1976, whose longest chain of what is the same this is, for what
stands only once (from memory). Cost O(n log n).
"""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Sequence

from pipeline.collation.fingerprints import Fingerprint

Bars = Sequence[Fingerprint]
Three = tuple[frozenset[int], frozenset[int], frozenset[int]]

_ROW = 3


def anchors(text: Bars, reading: Bars) -> list[tuple[int, int]]:
    """Return the pairs of bar indexes, each index once, in order."""
    ours, theirs = _standing_once(text), _standing_once(reading)
    starts = sorted((i, theirs[three]) for three, i in ours.items() if three in theirs)
    found = {(i + ahead, j + ahead) for i, j in _longest_chain(starts) for ahead in range(_ROW)}
    return _each_once(sorted(found))


def _standing_once(bars: Bars) -> dict[Three, int]:
    """Return where each three bars in a row begin that stand nowhere else; silent ones left out."""
    at: dict[Three, int] = {}
    for i in range(len(bars) - _ROW + 1):
        three = (bars[i].tokens, bars[i + 1].tokens, bars[i + 2].tokens)
        if all(three):
            at[three] = i if three not in at else -1
    return {three: i for three, i in at.items() if i >= 0}


def _longest_chain(pairs: Sequence[tuple[int, int]]) -> list[tuple[int, int]]:
    """Return the longest run of pairs that rises on both sides; the first index rises already."""
    ends: list[int] = []
    at: list[int] = []
    before: list[int] = []
    for index, (_, j) in enumerate(pairs):
        length = bisect_left(ends, j)
        before.append(at[length - 1] if length else -1)
        if length == len(ends):
            ends.append(j)
            at.append(index)
        else:
            ends[length] = j
            at[length] = index
    chain = []
    index = at[-1] if at else -1
    while index >= 0:
        chain.append(pairs[index])
        index = before[index]
    return chain[::-1]


def _each_once(pairs: Sequence[tuple[int, int]]) -> list[tuple[int, int]]:
    """Leave out pairs that do not rise on both sides: rows that overlap on one side only."""
    found: list[tuple[int, int]] = []
    for i, j in pairs:
        if not found or (i > found[-1][0] and j > found[-1][1]):
            found.append((i, j))
    return found
