"""Line breaks: as few lines as hold the music, none nearly empty."""

from __future__ import annotations

from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pipeline.engrave.line_breaks import BarWidths, line_breaks

OPENING = 1.4 * 720


def in_a_row(*widths: float) -> BarWidths:
    """Bars of these widths, one after the other."""
    ends = [sum(widths[: n + 1]) for n in range(len(widths))]
    return BarWidths((0.0, *ends[:-1]), tuple(ends))


@pytest.mark.parametrize(
    ("widths", "width", "starts"),
    [
        ([3000, 3000], 10000, ()),
        ([4000] * 4, 11000, (2,)),
        ([4000] * 5, 11000, (2, 4)),
        ([9000, 3000, 3000, 3000], 10500, (1,)),
        ([30000, 3000], 10000, (1,)),
    ],
    ids=["fits", "evenly", "odd one out", "by width", "wider than the line"],
)
def test_bars_that_begin_a_line(widths: list[float], width: float, starts: tuple[int, ...]) -> None:
    assert line_breaks(in_a_row(*widths), width) == starts


@given(
    widths=st.lists(st.floats(500, 9000), min_size=1, max_size=14),
    width=st.floats(10500, 20000),
)
def test_no_line_is_too_wide_and_no_line_could_be_saved(widths: list[float], width: float) -> None:
    bars = in_a_row(*widths)
    edges = [0, *line_breaks(bars, width), len(widths)]
    lines = [(a, b - 1) for a, b in pairwise(edges)]
    assert all(bars.line(a, b) <= width * 1.04 + 1e-6 or a == b for a, b in lines)
    assert len(lines) == greedy(bars, width)


def greedy(bars: BarWidths, width: float) -> int:
    """The least number of lines: each filled as far as it goes."""
    lines, first = 0, 0
    while first < len(bars.starts):
        last = first
        while last + 1 < len(bars.starts) and bars.line(first, last + 1) <= width * 1.04:
            last += 1
        lines, first = lines + 1, last + 1
    return lines
