"""Plants as many changes in a work as it has room for, all far enough apart to be one each."""

from __future__ import annotations

import random
from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass

from pipeline.score.model import Passage
from tests.planting.bar_signs import BAR_SIGN_OPERATIONS
from tests.planting.bars import BAR_OPERATIONS
from tests.planting.extents import EXTENT_OPERATIONS
from tests.planting.ground import Element, Ground, Operation, Plant, Told
from tests.planting.notes import NOTE_OPERATIONS
from tests.planting.rhythm import RHYTHM_OPERATIONS
from tests.planting.signs import SIGN_OPERATIONS
from tests.planting.sounding import SOUNDING_OPERATIONS

OPERATIONS: Mapping[str, Operation] = {
    **NOTE_OPERATIONS,
    **RHYTHM_OPERATIONS,
    **SOUNDING_OPERATIONS,
    **SIGN_OPERATIONS,
    **EXTENT_OPERATIONS,
    **BAR_SIGN_OPERATIONS,
    **BAR_OPERATIONS,
}
APART = 4
"""Bars from one plant to the next: each may reach into the bar after it, and signs are looked for
in the bars beside."""


@dataclass(frozen=True)
class Field:
    """A ground with all that was planted in it, by name of the operation."""

    ground: Ground
    plants: tuple[tuple[str, Plant], ...]

    @property
    def expected(self) -> list[Told]:
        """All that has to be told, sorted."""
        return sorted(told for _, plant in self.plants for told in plant.told)

    @property
    def touched(self) -> frozenset[str]:
        """The xml:ids, on either side, of all that was changed.

        Where one change takes a slur away and another puts the very same one there, neither counts.
        """
        touched = frozenset[str]().union(*(plant.touched for _, plant in self.plants))
        text, witness = self.ground.text.by_id, self.ground.witness.by_id
        one, other = ({_sign(side[name]): name for name in touched & side.keys()}
                      for side in (text, witness))  # fmt: skip
        restored = {(one[sign], other[sign]) for sign in one.keys() & other.keys() if sign}
        return touched - {
            name
            for a, b in restored
            if a != b
            for name, side in ((a, witness), (b, text))
            if name not in side
        }


def _sign(element: Element) -> tuple[str, ...]:
    """Return what a sign is and where it stands, nothing for a note."""
    if element.get("startid") is None:
        return ()
    return (str(element.tag), element.text or "",
            *(element.get(name, "") for name in ("startid", "endid", "form")))  # fmt: skip


def planted(base: Passage, chance: random.Random, counts: Counter[str]) -> Field:
    """Return the work with a change in every fourth bar, rarest operations first.

    `counts` says how often each was planted so far, and is brought up to date.
    """
    ground = Ground(base)
    plants = []
    for bar in range(chance.randrange(1, APART), len(base.bars) - 2, APART):
        names = sorted(OPERATIONS, key=lambda name: (counts[name], chance.random()))
        for name in names:
            plant = OPERATIONS[name](ground, bar, chance)
            if plant is not None:
                counts[name] += 1
                plants.append((name, plant))
                break
    return Field(ground, tuple(plants))


def planted_once(base: Passage, name: str, chance: random.Random) -> Field | None:
    """Return the work with one single change of that name, None where it has no room for it."""
    bars = list(range(1, len(base.bars) - 2))
    chance.shuffle(bars)
    ground = Ground(base)
    for bar in bars:
        plant = OPERATIONS[name](ground, bar, chance)
        if plant is not None:
            return Field(ground, ((name, plant),))
    return None


def planted_near(base: Passage, chance: random.Random, together: int) -> Field:
    """Return the work with so many changes in one bar, in every fourth bar.

    They touch different notes, but neighbours may be changed, signs hang on changed notes, and
    slurs lie over each other.
    """
    ground = Ground(base)
    plants = []
    for bar in range(chance.randrange(1, APART), len(base.bars) - 2, APART):
        names = [name for name in OPERATIONS if name not in BAR_OPERATIONS]
        chance.shuffle(names)
        found: list[tuple[str, Plant]] = []
        for name in names:
            if name in BAR_SIGN_OPERATIONS and any(one in BAR_SIGN_OPERATIONS for one, _ in found):
                continue  # a repeat sign taken away and put there again is no change
            plant = OPERATIONS[name](ground, bar, chance)
            if plant is not None:
                found.append((name, plant))
                ground.taken |= plant.touched
            if len(found) == together:
                break
        plants += found
    return Field(ground, tuple(plants))
