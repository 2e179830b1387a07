"""Changes planted into works nobody wrote for this project: each is found, and nothing else.

Outside reference: works of music21's corpus (see tests/corpus.py). The changes are made in the
MEI file of the work, element by element, not in the objects that are compared, and what has to be
told of each is reckoned from where its notes stand in the unchanged work.
"""

from __future__ import annotations

import random
from collections import Counter
from functools import cache

import pytest

from tests.corpus import work
from tests.planting.ground import Ground, named_by, told_by
from tests.planting.neutral import REWRITINGS
from tests.planting.planting import OPERATIONS, Field, planted, planted_near, planted_once
from tests.planting.works import DENSE, FOR_SINGLE_CHANGES, LIGHT

WORKS = {**dict.fromkeys(LIGHT, 6), **dict.fromkeys(DENSE, 2)}
"""Works, and how often each is planted anew."""

NEAR = (*LIGHT[::2], *DENSE[::2])
REWRITTEN = ("beach/prayer_of_a_tired_child.musicxml", *LIGHT[2:5])


@cache
def sown() -> dict[str, tuple[Field, ...]]:
    """Return each work with changes planted in it, differently for every seed."""
    counts: Counter[str] = Counter()
    return {
        name: tuple(planted(work(name), random.Random(seed), counts) for seed in range(seeds))
        for name, seeds in WORKS.items()
    }


def test_there_are_a_thousand_changes_of_every_sort() -> None:
    counts = Counter(name for fields in sown().values() for f in fields for name, _ in f.plants)
    assert counts.total() >= 1000
    assert len(WORKS) >= 10
    assert {name: counts[name] for name in OPERATIONS if counts[name] < 2} == {}


@pytest.mark.parametrize("name", WORKS)
def test_every_planted_change_is_found_and_no_other(name: str) -> None:
    for field in sown()[name]:
        found = told_by(field.ground.collated(), field.ground.base)
        assert found == field.expected


@pytest.mark.parametrize("operation", OPERATIONS)
def test_one_single_change_is_all_that_is_told(operation: str) -> None:
    found = (planted_once(work(name), operation, random.Random(1)) for name in FOR_SINGLE_CHANGES)
    field = next(one for one in found if one is not None)
    assert told_by(field.ground.collated(), field.ground.base) == field.expected


@pytest.mark.parametrize("together", [2, 3])
@pytest.mark.parametrize("name", NEAR)
def test_changes_near_each_other_are_told_and_nothing_beside_them(name: str, together: int) -> None:
    field = planted_near(work(name), random.Random(together), together)
    assert named_by(field.ground.collated()) == field.touched


@pytest.mark.parametrize("rewriting", [*REWRITINGS, "all of them"])
def test_notation_without_meaning_is_no_difference(rewriting: str) -> None:
    count = 0
    for name in REWRITTEN:
        ground = Ground(work(name))
        count += sum(
            write(ground) for one, write in REWRITINGS.items() if rewriting in {one, "all of them"}
        )
        assert told_by(ground.collated(), ground.base) == []
    assert count > 0


@pytest.mark.parametrize("name", WORKS)
def test_a_work_does_not_differ_from_itself(name: str) -> None:
    ground = Ground(work(name))
    collation = ground.collated()
    assert told_by(collation, ground.base) == []
    assert collation.beside.likeness == 1
    assert collation.beside.staves == {staff.n: staff.n for staff in ground.base.staves}
