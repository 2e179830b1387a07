"""Laws of the left hand: least is least, and the instrument looks the same from every string."""

from __future__ import annotations

from itertools import pairwise, product

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pipeline.strings.fingering_ranking import Wishes, rank_of, suggest
from pipeline.strings.fingering_search import (
    Layer,
    Weights,
    best_fingerings,
    finger_travel_mm,
    strain_mm,
)
from pipeline.strings.frames import Places
from pipeline.strings.grips import Grip, Stop, grips_of
from pipeline.strings.hand_faults import feasible
from pipeline.strings.hand_places import (
    least_moves,
    places_of,
    slide_mm,
    way_of_least_moves,
)
from tests.collation.letters import music
from tests.strings.hands import VIOLIN, played

INTERVALS = st.lists(
    st.builds(lambda low, width: Places(low, low + width), st.integers(0, 9), st.integers(0, 4)),
    min_size=1,
    max_size=6,
)


def fewest_by_trying_all(places: list[Places], slides: list[bool]) -> int:
    ways = product(*(range(p.low, p.high + 1) for p in places))
    return min(
        sum(a != b or slid for (a, b), slid in zip(pairwise(way), slides, strict=True))
        for way in ways
    )


@given(INTERVALS, st.data())
def test_the_least_number_of_moves_is_the_least(places: list[Places], data: st.DataObject) -> None:
    steps = len(places) - 1
    slides = data.draw(st.lists(st.booleans(), min_size=steps, max_size=steps))
    least = least_moves(places, slides)
    assert least == fewest_by_trying_all(places, slides)
    way = way_of_least_moves(places, [10.0 * slid for slid in slides], [False] * steps, VIOLIN)
    assert sum(way.moved) == least
    assert all(p.low <= at <= p.high for p, at in zip(places, way.places, strict=True))


@given(INTERVALS)
def test_the_travel_is_the_least_for_that_many_moves(places: list[Places]) -> None:
    steps = len(places) - 1
    way = way_of_least_moves(places, [0.0] * steps, [False] * steps, VIOLIN)
    best = min(
        (sum(a != b for a, b in pairwise(tried)),
         round(sum(VIOLIN.between(a, b) for a, b in pairwise(tried)), 6))
        for tried in product(*(range(p.low, p.high + 1) for p in places))
    )  # fmt: skip
    assert (sum(way.moved), sum(way.steps_mm)) == (best[0], pytest.approx(best[1], abs=1e-4))


SINGLE = st.builds(Stop, st.integers(1, 3), st.integers(1, 14), st.sampled_from("1234"))
OCTAVE = st.builds(
    lambda string, semitones, upper: (
        Stop(string, semitones, "1"),
        Stop(string - 1, semitones + 5, upper),
    ),
    st.integers(2, 3),
    st.integers(1, 12),
    st.sampled_from("34"),
)
RUN = st.lists(st.one_of(SINGLE.map(lambda stop: (stop,)), OCTAVE).map(Grip), min_size=1,
               max_size=8)  # fmt: skip


def facts(grips: list[Grip]) -> tuple[int, float]:
    places = [places_of(grip, VIOLIN) for grip in grips]
    known = [p for p in places if p is not None]
    slides = [slide_mm(a, b, VIOLIN) for a, b in pairwise(grips)]
    way = way_of_least_moves(known, slides, [False] * len(slides), VIOLIN)
    return sum(way.moved), round(sum(way.steps_mm), 3)


@given(RUN)
def test_a_run_read_backwards_moves_the_hand_as_often_and_as_far(run: list[Grip]) -> None:
    assert facts(run[::-1]) == facts(run)


@given(RUN)
def test_a_fifth_higher_on_the_next_string_is_the_same_for_the_hand(run: list[Grip]) -> None:
    next_string = [
        Grip(tuple(Stop(s.string - 1, s.semitones, s.finger) for s in grip.stops)) for grip in run
    ]
    assert facts(next_string) == facts(run)


@given(RUN, st.integers(0, 7))
def test_a_run_moves_no_less_than_any_part_of_it(run: list[Grip], cut: int) -> None:
    assert facts(run[:cut])[0] + facts(run[cut:])[0] <= facts(run)[0]


def test_transposed_by_a_fifth_to_the_next_string() -> None:
    low = played("8:A3 8:B3 8:C4 8:D4 8:E4", "1 on G, 2, 1, 2, 4").facts
    high = played("8:E4 8:F#4 8:G4 8:A4 8:B4", "1 on D, 2, 1, 2, 4").facts
    assert low == high


NOTES = ["G3", "A3", "Bb3", "C4", "D4", "E4", "F#4", "A4", "C5", "E5", "G5", "D4+B4", "A4+F5"]
WEIGHTS = st.builds(
    Weights,
    move=st.sampled_from([0.0, 30.0, 100.0]),
    travel=st.sampled_from([0.0, 0.5, 2.0]),
    stretch=st.sampled_from([0.0, 2.0]),
    string=st.sampled_from([0.0, 6.0, 50.0]),
    height=st.sampled_from([0.0, 0.2]),
)


def cost_by_trying_all_places(grips: tuple[Grip, ...], weights: Weights) -> float:
    """The cost of a fingering as the definition has it: the hand anywhere, open strings free."""
    down = [(n, grip) for n, grip in enumerate(grips) if grip.fingered]
    strings = sum(weights.string for a, b in pairwise(grips) if a.strings != b.strings)
    best = None
    for way in product(*(_places(grip) for _, grip in down)):
        cost = strings
        for (_, grip), at in zip(down, way, strict=True):
            cost += weights.stretch * strain_mm(grip, at, VIOLIN)
            cost += weights.height * abs(VIOLIN.mm(at) - VIOLIN.mm(2))
        for ((n, old), a), ((m, new), b) in pairwise(zip(down, way, strict=True)):
            slide = slide_mm(old, new, VIOLIN) if m == n + 1 else 0.0
            if a == b and not slide:
                goes_on = finger_travel_mm(old, new, VIOLIN) if m == n + 1 else 0.0
                cost += weights.travel * goes_on
            else:
                cost += weights.move + weights.travel * max(VIOLIN.between(a, b), slide)
        best = cost if best is None else min(best, cost)
    assert best is not None
    return best


def _places(grip: Grip) -> range:
    places = places_of(grip, VIOLIN)
    assert places is not None
    return range(places.low, places.high + 1)


@settings(max_examples=25, deadline=None)
@given(st.lists(st.sampled_from(NOTES), min_size=1, max_size=3), WEIGHTS)
def test_the_best_fingerings_are_the_best_of_all(notes: list[str], weights: Weights) -> None:
    events = music(" ".join(f"4:{note}" for note in notes)).events
    layers = [
        Layer(tuple(g for g in grips_of(event, (), VIOLIN) if feasible(g, VIOLIN)))
        for event in events
    ]
    every = {
        grips: cost_by_trying_all_places(grips, weights)
        for grips in product(*(layer.grips for layer in layers))
    }
    best = best_fingerings(layers, VIOLIN, weights, count=4)
    assert len({found.grips for found in best}) == len(best) == min(4, len(every))
    for found, cost in zip(best, sorted(every.values()), strict=False):
        assert found.cost == pytest.approx(cost, abs=0.05)
        assert every[found.grips] == pytest.approx(found.cost, abs=0.05)


@settings(max_examples=25, deadline=None)
@given(st.lists(st.sampled_from(NOTES), min_size=1, max_size=8))
def test_a_suggestion_written_into_a_record_is_read_back_as_the_same_grips(
    notes: list[str],
) -> None:
    drawn = " ".join(f"4:{note}" for note in notes)
    (best,) = suggest(music(drawn).events, (), VIOLIN, Wishes(), 1).best
    again = played(drawn, best.fingers)
    assert [note.grip for note in again.notes] == [note.grip for note in best.hand.notes]
    assert again.facts == best.hand.facts


def test_the_rank_of_a_cost() -> None:
    best = suggest(music("4:B4 4:D5 4:F5").events, (), VIOLIN, Wishes(), 3).best
    costs = [one.cost for one in best]
    assert costs == sorted(costs)
    assert rank_of(costs[0], best) == 1
    assert rank_of(costs[0] - 1, best) == 1
    assert rank_of(costs[-1] + 1, best) is None
    assert rank_of(5.0, ()) is None
