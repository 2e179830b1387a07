"""Which bars of the text an encoding of some bars stands against, the rest of the text aside.

In come the fingerprints of both; out go pairs of bars from the first to the last bar of the
encoding. What the text has before and after them costs nothing, so that bars that only the encoding
has (a repeat written out) are not drawn to quite other bars of the text. After P. H. Sellers, "The
Theory and Computation of Evolutionary Distances: Pattern Recognition", Journal of Algorithms 1,
1980 (from memory). O(n m) for n and m bars; what is long is first held together by bars that stand
against each other for certain, and only its two ends are sought in this way.
"""

from __future__ import annotations

from collections.abc import Sequence

from pipeline.collation.anchors import anchors
from pipeline.collation.beside import BarPair
from pipeline.collation.fingerprints import Fingerprint
from pipeline.collation.movement_alignment import Bars, align, distance, gap, tokens

_LONG = 200 * 200
"""Pairs of bars up to which all of it is aligned in one table."""

_MOST_PAIRS = 200_000
"""Pairs of bars beyond which an end is not sought: the versions are hardly alike."""

_OUT_OF_REACH = 1 << 62

Rows = list[list[int]]


def part_of(text: Bars, reading: Bars) -> list[BarPair]:
    """Return pairs of least cost, the text's bars outside aside; none where there are no such.

    The first and the last bar of the part stand against bars that are alike: a part that begins
    with bars of its own is not torn off the text's beginning for that. Of versions of more than
    `_LONG` pairs of bars, what lies between their first and last anchors is aligned as ever.
    """
    if not reading:
        return []
    if len(text) * len(reading) <= _LONG:
        rows = _rows(text, reading)
        ends = [
            above[-2] + distance(bar, reading[-1]) if alike(bar, reading[-1]) else _OUT_OF_REACH
            for above, bar in zip(rows, text, strict=False)
        ]
        least = min(ends, default=_OUT_OF_REACH)
        if least >= _OUT_OF_REACH:
            return []
        last = BarPair(ends.index(least), len(reading) - 1)
        return [*_path(rows, text, reading, ends.index(least), len(reading) - 1), last]
    fixed = anchors(text, reading)
    if not fixed:
        return []
    (i, j), (k, m) = fixed[0], fixed[-1]
    if max(i * j, (len(text) - k) * (len(reading) - m)) > _MOST_PAIRS:
        return []
    head = _up_to_the_end(text[:i], reading[:j])
    tail = _up_to_the_end(text[k + 1 :][::-1], reading[m + 1 :][::-1])
    if head is None or tail is None:
        return []
    middle = align(text[i : k + 1], reading[j : m + 1]).pairs
    return [
        *head,
        *(BarPair(_plus(pair.text, i), _plus(pair.reading, j)) for pair in middle),
        *(_turned(pair, len(text) - 1, len(reading) - 1) for pair in reversed(tail)),
    ]


def alike(one: Fingerprint, other: Fingerprint) -> bool:
    """Return whether two bars share half of the smaller one; bars of rest are alike."""
    if not one.tokens or not other.tokens:
        return one.tokens == other.tokens
    return 2 * len(one.tokens & other.tokens) >= min(one.size, other.size)


def _up_to_the_end(text: Bars, reading: Bars) -> list[BarPair] | None:
    """Return pairs that begin anywhere in the text and end where it ends; None without such."""
    if not reading:
        return []
    rows = _rows(text, reading)
    if rows[-1][-1] >= _OUT_OF_REACH:
        return None
    return _path(rows, text, reading, len(text), len(reading))


def _plus(index: int | None, more: int) -> int | None:
    return None if index is None else index + more


def _turned(pair: BarPair, last_text: int, last_reading: int) -> BarPair:
    return BarPair(
        None if pair.text is None else last_text - pair.text,
        None if pair.reading is None else last_reading - pair.reading,
    )


def _rows(text: Bars, reading: Bars) -> Rows:
    """Return the least cost of so many bars of the reading against any that end at one of the text.

    They begin at any bar of the text that is like the first of them: the first of each row is 0.
    """
    gaps = [gap(bar) for bar in reading]
    rows = [[0, *(_OUT_OF_REACH for _ in reading)]]
    for bar in text:
        rows.append(_next_row(rows[-1], bar, reading, gaps))
    return rows


def _next_row(
    above: Sequence[int], bar: Fingerprint, reading: Bars, gaps: Sequence[int]
) -> list[int]:
    without, size = gap(bar), bar.size
    first = distance(bar, reading[0]) if alike(bar, reading[0]) else _OUT_OF_REACH
    row = [0, min(above[1] + without, first)]
    for j in range(1, len(reading)):
        best = min(above[j + 1] + without, row[j] + gaps[j])
        across = above[j]
        # Bars differ by no less than by what one of them has more.
        if across + tokens(abs(size - reading[j].size)) < best:
            best = min(best, across + distance(bar, reading[j]))
        row.append(min(best, _OUT_OF_REACH))
    return row


def _path(rows: Rows, text: Bars, reading: Bars, i: int, j: int) -> list[BarPair]:
    """Return the pairs that lead to bars `i` and `j`, these left out."""
    pairs: list[BarPair] = []
    while j:
        here = rows[i][j]
        if rows[i - 1][j - 1] + distance(text[i - 1], reading[j - 1]) == here:
            i, j = i - 1, j - 1
            pairs.append(BarPair(i, j))
        elif rows[i - 1][j] + gap(text[i - 1]) == here:
            i -= 1
            pairs.append(BarPair(i, None))
        else:
            j -= 1
            pairs.append(BarPair(None, j))
    return pairs[::-1]
