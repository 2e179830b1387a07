"""Where a long example is broken into lines: as few lines as hold it, as evenly filled as can be.

Verovio's own breaking fills one line after the other and leaves a bar over, or stretches the first
bar over a whole line. In come bar widths at ordinary spacing, out go the bars that begin a line.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from functools import cache

from pipeline.engrave.verovio import SVG_UNITS_PER_STAFF

_BAR = re.compile(
    r'class="measure"[^>]*>.*?class="staff[^"]*"[^>]*><path d="M([\d.]+) [\d.]+ L([\d.]+) ',
    re.DOTALL,
)
_CLEF_AND_KEY = 1.4
"""Room for clef and key at the beginning of a line, in staff heights."""
_SQUEEZE = 1.04
"""How much wider than the line a line of bars may be at ordinary spacing: it is set tighter."""


@dataclass(frozen=True)
class BarWidths:
    """Where each bar begins and ends in one long line, in the units of Verovio's SVG."""

    starts: tuple[float, ...]
    ends: tuple[float, ...]

    def line(self, first: int, last: int) -> float:
        """Width of a line of these bars (indexes, inclusive) with label, clef and key."""
        opening = 0.0 if first == 0 else _CLEF_AND_KEY * SVG_UNITS_PER_STAFF
        return self.starts[0] + opening + self.ends[last] - self.starts[first]


def bar_widths(svg: str) -> BarWidths:
    """Return the widths of the bars of a system that was engraved in one line."""
    found = [(float(start), float(end)) for start, end in _BAR.findall(svg)]
    return BarWidths(tuple(start for start, _ in found), tuple(end for _, end in found))


def _late_breaks_first(way: tuple[int, float, tuple[int, ...]]) -> tuple[object, ...]:
    """Of two ways that are as good the one whose last line is the short one."""
    lines, badness, breaks = way
    return lines, round(badness, 6), tuple(-start for start in breaks)


def line_breaks(bars: BarWidths, width: float) -> tuple[int, ...]:
    """Return the indexes of the bars that begin a line, the first one left out.

    Least number of lines, then least sum of the squares of what is missing to the full width
    (the measure of D. E. Knuth and M. F. Plass, "Breaking Paragraphs into Lines", 1981). A bar
    that is wider than the line has a line of its own. Cost: square of the number of bars.
    """
    count = len(bars.starts)

    @cache
    def best(first: int) -> tuple[int, float, tuple[int, ...]]:
        """Lines, badness and breaks from this bar to the end."""
        if first == count:
            return 0, 0.0, ()
        candidates = []
        for last in range(first, count):
            line = bars.line(first, last)
            if line > width * _SQUEEZE and last > first:
                break
            lines, badness, breaks = best(last + 1)
            missing = (width - line) / width
            start = (last + 1, *breaks) if last + 1 < count else ()
            candidates.append((lines + 1, badness + missing * missing, start))
        return min(candidates, key=_late_breaks_first)

    return best(0)[2]
