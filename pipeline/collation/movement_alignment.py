"""Which bar of a witness stands against which bar of the text over a whole movement, by content.

In come the fingerprints of both (see `pipeline.collation.fingerprints`); out go pairs of bars in
order, with None where one side has no such bar, and what the alignment costs. Numbers that are
printed decide only between alignments that are equal in content: an upbeat may be counted as bar 1,
a repeat written out.

The alignment is one of least cost. The band of diagonals that is looked at doubles until no path
outside can be cheaper (E. Ukkonen, "Algorithms for Approximate String Matching", Information and
Control 64, 1985); within it the path is found by halving (D. S. Hirschberg, "A Linear Space
Algorithm for Computing Maximal Common Subsequences", Communications of the ACM 18, 1975). With n
bars and d bars' worth of difference: O(n d) comparisons of bars, memory O(n).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import accumulate

from pipeline.collation.beside import BarPair
from pipeline.collation.fingerprints import Fingerprint

Bars = Sequence[Fingerprint]

_CONTENT = 1 << 16
"""What one token weighs; numbers that differ weigh 1, so content always comes first."""

_NO_BAR = 2
"""What it costs, in tokens, that a bar is missing, besides what is in it."""

_NOT_THE_SAME = 1
"""What it costs, in tokens, that two bars differ at all: a bar that is left out is then rather one
whose neighbours are whole than one whose neighbour has taken over its notes."""

WIDEST_BAND = 1024
"""Diagonals beside those that a different count of bars asks for. A witness that needs more is of
another work, or has hundreds of bars moved; it is still aligned, as well as this band allows."""

_SMALL = 4096
"""Pairs of bars up to which a stretch is aligned in one table instead of being halved."""

_OUT_OF_REACH = 1 << 62


@dataclass(frozen=True)
class Alignment:
    """Pairs in order and their cost: tokens that differ, and what differing at all costs."""

    pairs: tuple[BarPair, ...]
    cost: int


def align(text: Bars, reading: Bars) -> Alignment:
    """Return an alignment of least cost; of several the same one each time."""
    front = _alike(text, reading)
    rest_text, rest_reading = text[front:], reading[front:]
    back = _alike(rest_text[::-1], rest_reading[::-1])
    middle_text = rest_text[: len(rest_text) - back]
    middle_reading = rest_reading[: len(rest_reading) - back]
    band = _Band(middle_text, middle_reading).wide_enough()
    pairs = [BarPair(index, index) for index in range(front)]
    pairs += [_moved(pair, front) for pair in band.path()]
    ends = len(text) - back, len(reading) - back
    pairs += [BarPair(ends[0] + index, ends[1] + index) for index in range(back)]
    cost = sum(_pair_cost(pair, text, reading) for pair in pairs) // _CONTENT
    return Alignment(tuple(pairs), cost)


def distance(one: Fingerprint, other: Fingerprint) -> int:
    """Return what it costs that two bars stand against each other: a metric."""
    if one.tokens == other.tokens:
        return int(one.n != other.n)
    return (len(one.tokens ^ other.tokens) + _NOT_THE_SAME) * _CONTENT + (one.n != other.n)


def gap(bar: Fingerprint) -> int:
    """Return what it costs that the other side has no such bar."""
    return (bar.size + _NO_BAR) * _CONTENT


def _alike(one: Bars, other: Bars) -> int:
    """Return how many bars from the front are the same; a metric never loses by pairing these."""
    count = 0
    for a, b in zip(one, other, strict=False):
        if a != b:
            break
        count += 1
    return count


def _moved(pair: BarPair, by: int) -> BarPair:
    return BarPair(
        None if pair.text is None else pair.text + by,
        None if pair.reading is None else pair.reading + by,
    )


def _pair_cost(pair: BarPair, text: Bars, reading: Bars) -> int:
    if pair.text is None:
        return 0 if pair.reading is None else gap(reading[pair.reading])
    if pair.reading is None:
        return gap(text[pair.text])
    return distance(text[pair.text], reading[pair.reading])


@dataclass(frozen=True)
class _Band:
    """Diagonals (reading bar minus text bar) from those that the counts ask for, `beyond` more."""

    text: Bars
    reading: Bars
    beyond: int = 4

    @property
    def lowest(self) -> int:
        return min(0, len(self.reading) - len(self.text)) - self.beyond

    @property
    def highest(self) -> int:
        return max(0, len(self.reading) - len(self.text)) + self.beyond

    def wide_enough(self) -> _Band:
        """Return the narrowest doubled band that no cheaper path can leave."""
        band = self
        while not band.holds_the_best() and band.beyond < WIDEST_BAND:
            band = _Band(band.text, band.reading, band.beyond * 2)
        return band

    def holds_the_best(self) -> bool:
        """Return whether a path that leaves the band must cost as much as the best one inside.

        It would leave out so many bars on each side that even the emptiest ones are dearer.
        """
        n, m = len(self.text), len(self.reading)
        if self.beyond >= max(n, m):
            return True
        more = self.beyond + 1
        left_out = max(0, n - m) + more, max(0, m - n) + more
        cheapest = _cheapest(self.text, left_out[0]) + _cheapest(self.reading, left_out[1])
        return self._row(0, n, 0, m)[-1] <= cheapest

    def path(self) -> list[BarPair]:
        """Return the pairs of a path of least cost."""
        found: list[BarPair] = []
        self._halve(0, len(self.text), 0, len(self.reading), found)
        return found

    def _halve(self, top: int, bottom: int, left: int, right: int, found: list[BarPair]) -> None:
        """Append the pairs of text bars `top` to `bottom` and reading bars `left` to `right`."""
        if bottom - top < 2 or (bottom - top) * (right - left) <= _SMALL:
            found += self._table(top, bottom, left, right)
            return
        middle = (top + bottom) // 2
        down = self._row(top, middle, left, right)
        up = self._row_from_below(middle, bottom, left, right)
        sums = [a + b for a, b in zip(down, up, strict=True)]
        cut = left + sums.index(min(sums))
        self._halve(top, middle, left, cut, found)
        self._halve(middle, bottom, cut, right, found)

    def _row(self, top: int, bottom: int, left: int, right: int) -> list[int]:
        """Return the least cost from (top, left) to (bottom, each reading bar up to right)."""
        gaps = [gap(bar) for bar in self.reading[left:right]]
        row = list(accumulate(gaps, initial=0))
        row = [cost if self._inside(top, left + j) else _OUT_OF_REACH for j, cost in enumerate(row)]
        for i in range(top, bottom):
            row = self._next_row(row, i, left, right, gaps)
        return row

    def _next_row(
        self, row: list[int], i: int, left: int, right: int, gaps: Sequence[int]
    ) -> list[int]:
        bar, without = self.text[i], gap(self.text[i])
        first = max(left, i + 1 + self.lowest)
        last = min(right, i + 1 + self.highest)
        below = [_OUT_OF_REACH] * len(row)
        for at in range(first, last + 1):
            j = at - left
            best = row[j] + without
            if j:
                best = min(best, below[j - 1] + gaps[j - 1])
                # A distance is never less than nothing: most bars need not be looked into.
                if row[j - 1] < best:
                    best = min(best, row[j - 1] + distance(bar, self.reading[at - 1]))
            below[j] = best
        return below

    def _row_from_below(self, top: int, bottom: int, left: int, right: int) -> list[int]:
        """Return the least cost from (top, each reading bar from left) to (bottom, right)."""
        n, m = len(self.text), len(self.reading)
        turned = _Band(self.text[::-1], self.reading[::-1], self.beyond)
        return turned._row(n - bottom, n - top, m - right, m - left)[::-1]

    def _inside(self, i: int, j: int) -> bool:
        return self.lowest <= j - i <= self.highest

    def _table(self, top: int, bottom: int, left: int, right: int) -> list[BarPair]:
        """Return the pairs of a small stretch, every row kept."""
        gaps = [gap(bar) for bar in self.reading[left:right]]
        rows = [self._row(top, top, left, right)]
        for i in range(top, bottom):
            rows.append(self._next_row(rows[-1], i, left, right, gaps))
        pairs: list[BarPair] = []
        i, j = bottom, right
        while i > top or j > left:
            here = rows[i - top][j - left]
            if i > top and j > left and self._came_across(rows[i - 1 - top], i, j, left, here):
                i, j = i - 1, j - 1
                pairs.append(BarPair(i, j))
            elif i > top and rows[i - 1 - top][j - left] + gap(self.text[i - 1]) == here:
                i -= 1
                pairs.append(BarPair(i, None))
            else:
                j -= 1
                pairs.append(BarPair(None, j))
        return pairs[::-1]

    def _came_across(self, above: Sequence[int], i: int, j: int, left: int, here: int) -> bool:
        before = above[j - 1 - left]
        return before + distance(self.text[i - 1], self.reading[j - 1]) == here


def _cheapest(bars: Bars, count: int) -> int:
    return sum(sorted(map(gap, bars))[:count])
