"""Plans of pages, drawn: a letter a line, a bar a page turn, `.` a line after which one rests."""

from __future__ import annotations

from itertools import pairwise
from math import inf

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pipeline.typeset.part_plan import Costs, Distances, PlanLine, PlannedPage, Planner, PlanRoom

LINE_MM = 20.0
PAGE_MM = 4 * LINE_MM + 3 * 5.5
"""Room for four lines that stand apart as they should."""


def lines_of(drawn: str) -> list[PlanLine]:
    """Read `aa.a bb`: letters are movements, a dot after a line is a rest of two seconds."""
    lines: list[PlanLine] = []
    for sign in drawn.replace(" ", ""):
        if sign == ".":
            last = lines.pop()
            lines.append(PlanLine(last.height_mm, last.movement, last.above_mm, 2.0))
        else:
            lines.append(PlanLine(LINE_MM, ord(sign)))
    for at, (one, after) in enumerate(pairwise(lines)):
        if one.movement != after.movement:
            lines[at] = PlanLine(one.height_mm, one.movement, one.above_mm, inf)
    return lines


def drawn_plan(drawn: str, pages: tuple[PlannedPage, ...] | None) -> str:
    """Draw the plan: pages on the left and on the right of an opening as `left/right`."""
    assert pages is not None
    letters = [sign for sign in drawn.replace(" ", "") if sign != "."]
    shown = ["".join(letters[page.start : page.end]) or "-" for page in pages]
    return " ".join(shown)


def planner(drawn: str, first: float = PAGE_MM, **costs: float) -> Planner:
    return Planner(lines_of(drawn), PlanRoom(PAGE_MM, first, {}), costs=Costs(**costs))


@pytest.mark.parametrize(
    ("drawn", "plan"),
    [
        ("aaaa", "aaaa"),  # one page
        ("aaaa. aaaa", "aaaa aaaa"),  # the rest falls where the page is full
        ("aaa. aaaaaa", "aaa aaaa aa"),  # and where it is not, the page ends early
    ],
)
def test_a_page_that_is_turned_ends_with_a_rest(drawn: str, plan: str) -> None:
    assert drawn_plan(drawn, planner(drawn).best()) == plan


def test_a_page_on_the_left_is_not_turned_and_may_end_anywhere() -> None:
    drawn = "aaa. aaaa aaaa. aaa"
    assert drawn_plan(drawn, planner(drawn).best()) == "aaa aaaa aaaa aaa"
    assert drawn_plan(drawn, planner(drawn).greedy()) == "aaaa aaaa aaaa aa"


def test_where_the_first_turn_has_no_rest_the_music_begins_on_the_second_page() -> None:
    drawn = "aaaa aaaa. aaaa aa"
    room = PlanRoom(PAGE_MM, PAGE_MM, {})
    # As pages 2 and 3 the eight lines lie open before the player.
    assert drawn_plan(drawn, Planner(lines_of(drawn), room).best()) == "- aaaa aaaa aaaa aa"


def test_half_a_turn_of_rest_is_better_than_none() -> None:
    lines = lines_of("aaaaaaa")
    lines[2] = PlanLine(LINE_MM, lines[2].movement, rest_seconds=1.0)
    room = PlanRoom(PAGE_MM, PAGE_MM, {})
    best = Planner(lines, room, costs=Costs(title_page=100.0)).best()
    assert best is not None
    assert best[0].end == 3


def test_no_line_of_a_movement_stands_alone() -> None:
    drawn = "aaa bbbbbb"  # the fourth line of the first page would be the first b
    assert drawn_plan(drawn, planner(drawn).greedy()) == "aaab bbbb b"
    assert drawn_plan(drawn, planner(drawn).best()) == "aaa bbbb bb"


def test_a_movement_of_one_line_may_stand_alone() -> None:
    drawn = "aaaa b"
    assert drawn_plan(drawn, planner(drawn).best()) == "aaaa b"


def test_lines_are_drawn_apart_to_fill_a_page_but_not_the_last_one() -> None:
    room = PlanRoom(PAGE_MM - 18, PAGE_MM - 18, {})
    full, last = Planner(lines_of("aaa. aa"), room).best() or ()
    assert full.distance_mm == pytest.approx((PAGE_MM - 18 - 3 * LINE_MM) / 2)
    assert last.distance_mm == pytest.approx(5.5)


def test_lines_are_not_drawn_apart_without_measure() -> None:
    one, *_ = planner("aa. aaaa", title_page=100.0).best() or ()
    assert one.distance_mm == Distances().most


def test_a_heading_is_part_of_its_line_and_takes_its_room() -> None:
    lines = lines_of("aaab")
    headed = [*lines[:3], PlanLine(LINE_MM, lines[3].movement, above_mm=30.0)]
    pages = Planner(headed, PlanRoom(PAGE_MM, PAGE_MM, {})).best()
    assert drawn_plan("aaab", pages) == "aaa b"


def test_footnotes_stand_on_the_page_of_their_line_and_take_room_there() -> None:
    lines = lines_of("aaaa aaaa")
    noted = [PlanLine(LINE_MM, 97, notes=("n",) if at == 1 else ()) for at in range(len(lines))]
    room = PlanRoom(PAGE_MM, PAGE_MM, {"n": 15.0}, rule_mm=5.0)
    pages = Planner(noted, room).greedy() or ()
    assert drawn_plan("aaaaaaaa", pages) == "aaa aaaa a"
    assert [page.notes for page in pages] == [("n",), (), ()]


def test_a_footnote_that_two_lines_of_a_page_need_stands_there_once() -> None:
    noted = [PlanLine(LINE_MM, notes=("n",))] * 2
    pages = Planner(noted, PlanRoom(PAGE_MM, PAGE_MM, {"n": 15.0})).best() or ()
    assert [page.notes for page in pages] == [("n",)]


def test_a_line_that_is_higher_than_the_page_has_no_plan() -> None:
    lines = [PlanLine(PAGE_MM + 1)]
    assert Planner(lines, PlanRoom(PAGE_MM, PAGE_MM, {})).best() is None
    assert Planner([], PlanRoom(PAGE_MM, PAGE_MM, {})).best() is None


lines_drawn = st.lists(
    st.builds(
        PlanLine,
        height_mm=st.floats(10, 60),
        movement=st.integers(1, 3),
        above_mm=st.sampled_from([0.0, 12.0]),
        rest_seconds=st.sampled_from([0.0, 0.5, 1.5, 2.0, inf]),
        notes=st.sampled_from([(), ("m",), ("m", "n")]),
    ),
    min_size=1,
    max_size=30,
).map(lambda lines: sorted(lines, key=lambda line: line.movement))
rooms = st.builds(
    PlanRoom,
    page_mm=st.floats(100, 300),
    first_mm=st.floats(60, 250),
    note_mm=st.just({"m": 5.0, "n": 8.0}),
    rule_mm=st.just(3.0),
)


@given(lines_drawn, rooms)
def test_every_line_stands_once_in_order_and_no_page_is_overfull(
    lines: list[PlanLine], room: PlanRoom
) -> None:
    plan = Planner(lines, room)
    pages = plan.best()
    if pages is None:
        assert any(_height(plan, PlannedPage(2, i, i + 1, 0.0, lines[i].notes)) > room.page_mm
                   for i in range(len(lines)))  # fmt: skip
        return
    assert [page.number for page in pages] == list(range(1, len(pages) + 1))
    assert pages[0].start == 0
    assert pages[-1].end == len(lines)
    assert all(one.end == after.start for one, after in pairwise(pages))
    for page in pages:
        held = room.first_mm if page.number == 1 else room.page_mm
        assert _height(plan, page) <= held + 1e-6
        wanted = {note for line in lines[page.start : page.end] for note in line.notes}
        assert set(page.notes) == wanted


@given(lines_drawn, rooms)
def test_the_plan_is_never_worse_than_filling_page_after_page(
    lines: list[PlanLine], room: PlanRoom
) -> None:
    plan = Planner(lines, room)
    greedy = plan.greedy()
    if greedy is not None:
        best = plan.best()
        assert best is not None
        assert _cost(plan, best) <= _cost(plan, greedy) + 1e-9


@given(st.lists(st.sampled_from([0.0, 1.0, 2.0]), min_size=1, max_size=9))
def test_the_plan_is_the_best_of_all(rests: list[float]) -> None:
    lines = [PlanLine(LINE_MM, rest_seconds=rest) for rest in rests]
    plan = Planner(lines, PlanRoom(PAGE_MM, PAGE_MM - LINE_MM, {}))
    best = plan.best()
    assert best is not None
    assert _cost(plan, best) == pytest.approx(min(_cost(plan, one) for one in _all_plans(plan)))


def _all_plans(plan: Planner) -> list[tuple[PlannedPage, ...]]:
    def rest(start: int, number: int) -> list[tuple[PlannedPage, ...]]:
        if start == len(plan.lines):
            return [()]
        return [
            (page, *after)
            for page in plan._pages(start, number)
            for after in rest(page.end, number + 1)
        ]

    title = PlannedPage(1, 0, 0, 0.0)
    return [*rest(0, 1), *((title, *pages) for pages in rest(0, 2))]


def _height(plan: Planner, page: PlannedPage) -> float:
    lines = plan.lines[page.start : page.end]
    inked = sum(line.above_mm + line.height_mm for line in lines)
    return inked + page.distance_mm * max(0, len(lines) - 1) + plan.notes_mm(page.notes)


def _cost(plan: Planner, pages: tuple[PlannedPage, ...]) -> float:
    return sum(plan.cost(page) for page in pages)
