"""Which witnesses have which errors, brought together: what a stemma is reckoned from.

In come the units of variation; out goes, for each different set of witnesses that have an error
while others lack it, what such errors weigh together.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Mapping
from dataclasses import dataclass

from pipeline.collation.agreement import Agreement, Kind
from pipeline.collation.collated import BarChange
from pipeline.collation.model import DifferenceKind

FULL, HALF, LITTLE = 10, 5, 1
"""Weights in tenths of an error."""

WEIGHTS: Mapping[Kind, int] = {
    DifferenceKind.PITCH: FULL,
    DifferenceKind.ACCIDENTAL: FULL,
    DifferenceKind.RHYTHM: FULL,
    DifferenceKind.NOTES_ADDED: FULL,
    DifferenceKind.NOTES_MISSING: FULL,
    DifferenceKind.TIE: FULL,
    DifferenceKind.OCTAVE_SIGN: FULL,
    BarChange.MISSING: FULL,
    BarChange.ADDED: FULL,
    DifferenceKind.SLUR: HALF,
    DifferenceKind.DYNAMIC: HALF,
    DifferenceKind.HAIRPIN: HALF,
    DifferenceKind.ORNAMENT: HALF,
    DifferenceKind.TEMPO: HALF,
    DifferenceKind.NOTE_HEAD: HALF,
    DifferenceKind.METER: HALF,
    DifferenceKind.REPEAT: HALF,
    DifferenceKind.ENDING: HALF,
}
"""What an error of each kind weighs; kinds not named here weigh `LITTLE`.

Our own choice, after common practice: what sounds wrong is copied as it stands and seldom made
twice; slurs and dynamics are placed freely, so that two copyists may err alike; dots, fingerings
and words are added and left out by anybody, on purpose.
"""

FEW = 3 * FULL
"""Fewer errors than three say nothing: two copyists may make them by chance. Our own choice."""

CHANCE = 0.05
"""The share of its errors that a witness may share with another by chance. Our own choice."""


@dataclass(frozen=True)
class ErrorPatterns:
    """The weight of the errors by who has and who lacks them.

    Sets of witnesses are bits: witness 0 is 1, witness 1 is 2, witness 2 is 4. A witness that does
    not hold a place neither has nor lacks its errors. Weights are tenths of an error.
    """

    witnesses: tuple[str, ...]
    weights: Mapping[tuple[int, int], int]

    def weight(self, where: Callable[[int, int], object]) -> int:
        """Return what the errors weigh for which `where(having, lacking)` holds."""
        return sum(weight for bits, weight in self.weights.items() if where(*bits))

    def total(self, witness: int) -> int:
        """Return what all errors of a witness (a bit) weigh."""
        return self.weight(lambda has, _: has & witness)

    def shared(self, one: int, other: int) -> int:
        """Return what the errors weigh that two witnesses (bits) have in common."""
        both = one | other
        return self.weight(lambda has, _: has & both == both)

    def enough(self, shared: float, one: int, other: int) -> bool:
        """Return whether so much in common is more than chance for two witnesses (bits)."""
        of_one = self.weight(lambda has, lacks: has & one and (has | lacks) & other)
        of_other = self.weight(lambda has, lacks: has & other and (has | lacks) & one)
        return shared >= FEW and shared >= CHANCE * min(of_one, of_other)


def error_patterns(agreement: Agreement) -> ErrorPatterns:
    """Return the errors of all units by who has and who lacks them."""
    bit = {siglum: 1 << number for number, siglum in enumerate(agreement.witnesses)}
    weights: Counter[tuple[int, int]] = Counter()
    for unit in agreement.units:
        contents = frozenset().union(*unit.readings.values())
        for content in contents:
            having = sum(bit[s] for s, reading in unit.readings.items() if content in reading)
            holding = sum(bit[s] for s in unit.readings)
            weights[having, holding & ~having] += WEIGHTS.get(unit.kind, LITTLE)
    return ErrorPatterns(agreement.witnesses, dict(weights))
