"""Repeat signs and endings: measures and `ending` elements in, what they say of each bar out.

MEI Guidelines 5.1, chapter 4.2 (`measure/@left`, `@right`; data.BARRENDITION) and `ending`. One and
the same repeat sign may be written on the bar before the line or on the bar after it.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import replace

from pipeline.score.mei_names import Element, local
from pipeline.score.model import Bar

_STARTS = frozenset({"rptstart", "rptboth"})
_ENDS = frozenset({"rptend", "rptboth"})
_FIGURES = re.compile(r"(\d{1,3})(?:\s*[-–]\s*(\d{1,3}))?")


def with_repeats(bars: Sequence[Bar], measures: Sequence[Element]) -> list[Bar]:
    """Return the bars with the repeat signs that their measures have; linear."""
    return [
        replace(bar, repeat_start=start, repeat_end=end) if start or end else bar
        for bar, (start, end) in zip(bars, repeats_of(measures), strict=True)
    ]


def repeats_of(measures: Sequence[Element]) -> list[tuple[bool, bool]]:
    """Return for each measure whether a repeat sign stands at its beginning, and at its end."""
    left = [measure.get("left", "") for measure in measures]
    right = [measure.get("right", "") for measure in measures]
    before, after = ["", *right], [*left[1:], ""]
    return [
        (left[i] in _STARTS or before[i] in _STARTS, right[i] in _ENDS or after[i] in _ENDS)
        for i in range(len(measures))
    ]


def ending_of(element: Element) -> str:
    """Return the numbers of an ending, "1" or "1, 2": as written, else by its place in the row."""
    for written in (element.get("n", ""), element.get("label", "")):
        figures = [
            n
            for first, last in _FIGURES.findall(written)
            for n in range(int(first), int(last or first) + 1)
        ]
        if figures:
            return ", ".join(map(str, figures))
    row = 1
    before = element.getprevious()
    while before is not None and local(before) in {"ending", ""}:
        row += local(before) == "ending"
        before = before.getprevious()
    return str(row)
