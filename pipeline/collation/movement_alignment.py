"""Which bar of a witness stands against which bar of the text over a whole movement, by content.

In come the fingerprints of both (see `pipeline.collation.fingerprints`); out go pairs of bars in
order, with None where one side has no such bar, and what the alignment costs. Numbers that are
printed decide only between alignments that are equal in content, the nearer the better: an upbeat
may be counted as bar 1, a repeat written out.

The alignment is one of least cost. The band of diagonals that is looked at doubles until no path
outside can be cheaper (E. Ukkonen, "Algorithms for Approximate String Matching", Information and
Control 64, 1985), or, where nearly every bar differs somewhere and so nothing can be proved, until
twice the band gives nothing and no stretch is left that is unlike; within it the path is found by
halving (D. S. Hirschberg, "A Linear Space Algorithm for Computing Maximal Common Subsequences",
Communications of the ACM 18, 1975). With n bars, d of them missing or added: O(n d) comparisons of
bars, memory O(n). Long versions are first held together by bars that stand for certain against each
other (`pipeline.collation.anchors`); then n and d are those of a stretch between two of these.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from itertools import accumulate

from pipeline.collation.anchors import anchors
from pipeline.collation.beside import BarPair
from pipeline.collation.fingerprints import Fingerprint

Bars = Sequence[Fingerprint]

_CONTENT = 1 << 24
"""What one token weighs; numbers that differ weigh a few, so content always comes first."""

_FURTHEST = 999
"""Bar numbers further apart than this are all the same to an alignment."""

_NO_BAR = 2
"""What it costs, in tokens, that a bar is missing, besides what is in it."""

_NOT_THE_SAME = 1
"""What it costs, in tokens, that two bars differ at all: a bar that is left out is then rather one
whose neighbours are whole than one whose neighbour has taken over its notes."""

_LONG = 300 * 300
"""Pairs of bars above which versions are held together by anchors."""

_MOST_PAIRS = 200_000
"""Pairs of bars that one band may hold. Versions without anchors that need more are of two works,
or hundreds of bars were moved; they are still aligned, as well as such a band allows."""

_LEAST_BAND = 64
"""Diagonals that are tried however long the versions are."""

_WIDE = 16
"""Diagonals from which on a band that gave nothing more may be taken for wide enough."""

_STRETCH = 6
"""Neighbouring pairs that are hardly alike: bars were moved, or are of another work."""

_SMALL = 4096
"""Pairs of bars up to which a stretch is aligned in one table instead of being halved."""

_OUT_OF_REACH = 1 << 62


@dataclass(frozen=True)
class Alignment:
    """Pairs in order and their cost: tokens that differ, and what differing at all costs."""

    pairs: tuple[BarPair, ...]
    cost: int


def align(text: Bars, reading: Bars) -> Alignment:
    """Return an alignment of least cost; of several the same one each time.

    Versions of more than `_LONG` pairs of bars are held together by their `anchors`, and only
    what lies between these is aligned.
    """
    fixed = anchors(text, reading) if len(text) * len(reading) > _LONG else []
    pairs: list[BarPair] = []
    i = j = 0
    for at in (*fixed, (len(text), len(reading))):
        pairs += (_moved(pair, i, j) for pair in _aligned(text[i : at[0]], reading[j : at[1]]))
        if at[0] < len(text):
            pairs.append(BarPair(*at))
        i, j = at[0] + 1, at[1] + 1
    cost = sum(pair_cost(pair, text, reading) for pair in pairs) // _CONTENT
    return Alignment(tuple(pairs), cost)


def _aligned(text: Bars, reading: Bars) -> list[BarPair]:
    front = _alike(text, reading)
    rest_text, rest_reading = text[front:], reading[front:]
    back = _alike(rest_text[::-1], rest_reading[::-1])
    middle_text = rest_text[: len(rest_text) - back]
    middle_reading = rest_reading[: len(rest_reading) - back]
    band = _Band(middle_text, middle_reading).wide_enough()
    pairs = [BarPair(index, index) for index in range(front)]
    pairs += [_moved(pair, front, front) for pair in band.path()]
    ends = len(text) - back, len(reading) - back
    return pairs + [BarPair(ends[0] + index, ends[1] + index) for index in range(back)]


def distance(one: Fingerprint, other: Fingerprint) -> int:
    """Return what it costs that two bars stand against each other: a metric."""
    by_number = 0 if one.n == other.n else _apart(one.n, other.n)
    ours, theirs = one.tokens, other.tokens
    if ours == theirs:
        return by_number
    different = len(ours) + len(theirs) - 2 * len(ours & theirs)
    return (different + _NOT_THE_SAME) * _CONTENT + by_number


@lru_cache(maxsize=1 << 14)
def _apart(one: str, other: str) -> int:
    """Return how far two printed numbers that differ are apart: 12 and 12a by 1, 12 and 14 by 4."""
    numbers = [re.match(r"\D*(\d{1,9})", n) for n in (one, other)]
    count = [int(found[1]) if found else 0 for found in numbers]
    return 2 * min(abs(count[0] - count[1]), _FURTHEST) or 1


def tokens(count: int) -> int:
    """Return what so many tokens that differ cost."""
    return count * _CONTENT


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


def _moved(pair: BarPair, of_text: int, of_reading: int) -> BarPair:
    return BarPair(
        None if pair.text is None else pair.text + of_text,
        None if pair.reading is None else pair.reading + of_reading,
    )


def pair_cost(pair: BarPair, text: Bars, reading: Bars) -> int:
    """Return what a pair costs: how far its bars are apart, or that one side lacks the bar."""
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
        """Return the narrowest doubled band that no cheaper path can leave, or seems to.

        It seems so where twice the band gave nothing and every stretch of bars is alike: bars that
        were moved far would leave a stretch behind that has nothing to do with the other side.
        """
        band, before = self, -1
        n, m = len(self.text), len(self.reading)
        widest = max(_LEAST_BAND, _MOST_PAIRS // max(n, m, 1))
        while band.beyond < min(widest, max(n, m)):
            least = band._row(0, n, 0, m)[-1]
            if band.holds_the_best(least):
                break
            if least == before and band.beyond >= _WIDE and band.all_alike():
                break
            band, before = _Band(band.text, band.reading, band.beyond * 2), least
        return band

    def holds_the_best(self, least: int) -> bool:
        """Return whether a path that leaves the band must cost as much as the best one inside.

        It would leave out so many bars on each side that even the emptiest ones are dearer.
        """
        n, m = len(self.text), len(self.reading)
        more = self.beyond + 1
        left_out = max(0, n - m) + more, max(0, m - n) + more
        return least <= _cheapest(self.text, left_out[0]) + _cheapest(self.reading, left_out[1])

    def all_alike(self) -> bool:
        """Return whether no `_STRETCH` neighbouring pairs of the path are hardly alike."""
        unlike = 0
        for pair in self.path():
            if pair.text is not None and pair.reading is not None:
                one, other = self.text[pair.text].tokens, self.reading[pair.reading].tokens
                alike = 2 * len(one & other) >= min(len(one), len(other))
                unlike = 0 if alike else unlike + 1
            if unlike == _STRETCH:
                return False
        return True

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
        size, reading = bar.size, self.reading
        first = max(left, i + 1 + self.lowest)
        last = min(right, i + 1 + self.highest)
        below = [_OUT_OF_REACH] * len(row)
        for at in range(first, last + 1):
            j = at - left
            best = row[j] + without
            if j:
                added = below[j - 1] + gaps[j - 1]
                if added < best:
                    best = added
                # Bars differ by no less than by what one of them has more: most pairs need not be
                # looked into.
                across = row[j - 1]
                other = reading[at - 1]
                if across + abs(size - len(other.tokens)) * _CONTENT < best:
                    across += distance(bar, other)
                    if across < best:
                        best = across
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
