"""Which lines of the part stand on which page: breaks where the player rests, pages evenly filled.

Lines go in with their heights and the seconds of rest after each; pages come out. Every line is
used once and in order. Of all plans in which no page is overfull the one with the least cost is
taken, of two that cost the same the one with fewer pages. The time grows with the lines times the
lines that a page holds (dynamic programming over breaks, as D. E. Knuth and M. F. Plass,
"Breaking Paragraphs into Lines", 1981, do it for words).
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from math import inf

TURN_SECONDS = 2.0
"""A page is turned in this time without haste (common practice, no source)."""


@dataclass(frozen=True)
class Costs:
    """What each fault of a page weighs. Only proportions matter.

    A page whose lines stand twice as far apart as they should costs 1. `no_turn` is for a page that
    is to be turned and ends without any rest, less in proportion to what rest there is; `empty` for
    a page left wholly empty, by the square of the share left empty beyond the widest distance;
    `alone` for a single line of a movement on a page; `page` for each page; `title_page` for a
    first page without music, which lets the second and third be read without turning.
    """

    no_turn: float = 6.0
    empty: float = 12.0
    alone: float = 4.0
    page: float = 0.4
    title_page: float = 3.5


@dataclass(frozen=True)
class Distances:
    """How far lines stand apart, in millimetres, from ink to ink."""

    least: float = 2.0
    best: float = 5.5
    most: float = 10.0


@dataclass(frozen=True)
class PlanLine:
    """A line as the plan sees it. `above_mm` is the height of a heading that stands over it.

    `rest_seconds` is how long the player rests at the line's end and the beginning of the next
    together, infinite at the end of a movement. `notes` are the keys of the footnotes it needs on
    its page.
    """

    height_mm: float
    movement: int = 1
    above_mm: float = 0.0
    rest_seconds: float = 0.0
    notes: tuple[str, ...] = ()


@dataclass(frozen=True)
class PlanRoom:
    """What a page holds, in millimetres.

    `first_mm` is the room for lines on the first page, beside title and legend. `note_mm` gives the
    height of each footnote, `rule_mm` what the footnotes of a page need besides.
    """

    page_mm: float
    first_mm: float
    note_mm: Mapping[str, float]
    rule_mm: float = 0.0


@dataclass(frozen=True)
class PlannedPage:
    """A page: its number, its lines from `start` up to but without `end`, and how far apart.

    `rest_seconds` is how long the player rests after its last line.
    """

    number: int
    start: int
    end: int
    distance_mm: float
    notes: tuple[str, ...] = ()
    rest_seconds: float = inf

    @property
    def is_turned(self) -> bool:
        """Whether it lies on the right, so that it has to be turned to go on."""
        return self.number % 2 == 1


@dataclass(frozen=True)
class _Way:
    """The best way to have set the lines so far: its cost, its pages, the last one, those before.

    Only the side of the opening that the last page lies on matters to what follows, so there are
    two ways to each line.
    """

    cost: float
    pages: int
    before: _Way | None = None
    page: PlannedPage | None = None


def _pages_of(way: _Way) -> tuple[PlannedPage, ...]:
    pages: list[PlannedPage] = []
    at: _Way | None = way
    while at is not None:
        if at.page is not None:
            pages.append(at.page)
        at = at.before
    return tuple(reversed(pages))


@dataclass(frozen=True)
class Planner:
    """Sets lines on pages; the lines, the room, and what counts as a fault."""

    lines: Sequence[PlanLine]
    room: PlanRoom
    distances: Distances = Distances()
    costs: Costs = Costs()

    def best(self) -> tuple[PlannedPage, ...] | None:
        """Return the plan that costs least, or None where a line is too high for any page."""
        nothing = _Way(0.0, 0)
        ways = {(0, 0): nothing}
        self._take(ways, nothing, PlannedPage(1, 0, 0, 0.0))
        for start in range(len(self.lines)):
            for side in (0, 1):
                way = ways.get((start, side))
                if way is not None:
                    for page in self._pages(start, way.pages + 1):
                        self._take(ways, way, page)
        ends = [way for side in (0, 1) if (way := ways.get((len(self.lines), side)))]
        if not ends or not self.lines:
            return None
        return _pages_of(min(ends, key=lambda way: (way.cost, way.pages)))

    def greedy(self) -> tuple[PlannedPage, ...] | None:
        """Return the plan that fills each page as far as it goes: what `best` is held against."""
        pages: list[PlannedPage] = []
        start = 0
        while start < len(self.lines):
            filled = list(self._pages(start, len(pages) + 1))
            if not filled:
                return None
            pages.append(filled[-1])
            start = filled[-1].end
        return tuple(pages) or None

    def cost(self, page: PlannedPage) -> float:
        """Return what a page of a plan costs; a title page without music has its own price."""
        if page.start == page.end:
            return self.costs.title_page
        cost = self.costs.page + self._looseness(page)
        if page.is_turned and page.end < len(self.lines):
            cost += self.costs.no_turn * max(0.0, 1.0 - page.rest_seconds / TURN_SECONDS)
        return cost + self.costs.alone * self._lines_alone(page)

    def _take(self, ways: dict[tuple[int, int], _Way], before: _Way, page: PlannedPage) -> None:
        """Go on by a page, unless its end was reached on the same side at less cost."""
        reached = (page.end, page.number % 2)
        cost = before.cost + self.cost(page)
        if reached not in ways or cost < ways[reached].cost:
            ways[reached] = _Way(cost, page.number, before, page)

    def _pages(self, start: int, number: int) -> list[PlannedPage]:
        """Return all pages that begin with a line and are not overfull, the shortest first."""
        room = self.room.first_mm if number == 1 else self.room.page_mm
        pages = []
        notes: tuple[str, ...] = ()
        inked = 0.0
        for end in range(start + 1, len(self.lines) + 1):
            line = self.lines[end - 1]
            inked += line.above_mm + line.height_mm
            notes = tuple(dict.fromkeys((*notes, *line.notes)))
            left = room - inked - self.notes_mm(notes)
            gaps = end - start - 1
            if left < gaps * self.distances.least - 1e-6:
                break
            most = self.distances.best if end == len(self.lines) else self.distances.most
            distance = min(most, left / gaps) if gaps else 0.0
            pages.append(PlannedPage(number, start, end, distance, notes, line.rest_seconds))
        return pages

    def notes_mm(self, notes: Sequence[str]) -> float:
        """Return the height of the footnotes of a page together."""
        heights = sum(self.room.note_mm[note] for note in notes)
        return self.room.rule_mm + heights if notes else 0.0

    def _looseness(self, page: PlannedPage) -> float:
        """What distances that are too narrow or too wide cost, and room that is left over."""
        best = self.distances.best
        gaps = page.end - page.start - 1
        cost = 0.0
        if gaps:
            narrow = page.distance_mm < best
            reach = best - self.distances.least if narrow else best
            cost = ((page.distance_mm - best) / reach) ** 2
        if page.end == len(self.lines):
            return cost if gaps and page.distance_mm < best else 0.0
        return cost + self.costs.empty * self._share_left(page) ** 2

    def _share_left(self, page: PlannedPage) -> float:
        lines = self.lines[page.start : page.end]
        inked = sum(line.above_mm + line.height_mm for line in lines)
        apart = page.distance_mm * (len(lines) - 1)
        room = self.room.first_mm if page.number == 1 else self.room.page_mm
        return max(0.0, room - inked - apart - self.notes_mm(page.notes)) / room

    def _lines_alone(self, page: PlannedPage) -> int:
        """Count movements of which this page has one line and another page the rest."""
        return sum(
            1
            for at in {page.start, page.end - 1}
            if self._is_alone(at, page) and self._has_more(at, page)
        )

    def _is_alone(self, at: int, page: PlannedPage) -> bool:
        movement = self.lines[at].movement
        here = self.lines[page.start : page.end]
        return sum(line.movement == movement for line in here) == 1

    def _has_more(self, at: int, page: PlannedPage) -> bool:
        movement = self.lines[at].movement
        before = page.start > 0 and self.lines[page.start - 1].movement == movement
        after = page.end < len(self.lines) and self.lines[page.end].movement == movement
        return before or after
