"""What agreement and the suggested stemma cost, and how often a simulated tradition comes back."""

from __future__ import annotations

import random
import time
from pathlib import Path

from pipeline.build import examine
from pipeline.collation.agreement import agreement, tallied
from pipeline.collation.shared_errors import suggested_stemma
from tests.collation.traditions import agreeing, at_random, clades, clades_of, copied, drawn

TWELVE = "A(B x(C D) E(F(G))) y(H z(J K)) L M"
ERRORS_A_COPY = (100, 400, 1600)
TRADITIONS = 200


def agreeing_cost(edition: Path) -> None:
    """Print the cost for the example edition and for ever more places, then rates of recovery."""
    print("How the sources agree (processor time)")
    material = examine(edition).value
    assert material is not None
    begun = time.process_time()
    found = agreement(material.collations)
    counted = time.process_time()
    suggested_stemma(found)
    _print_row(edition.name, len(found.units), counted - begun, time.process_time() - counted)
    for count in ERRORS_A_COPY:
        made = agreeing(copied(drawn(TWELVE), count, mended=0.05))
        begun = time.process_time()
        tallied(made.witnesses, made.units)
        counted = time.process_time()
        suggested_stemma(made)
        _print_row("12 witnesses", len(made.units), counted - begun, time.process_time() - counted)
    for mended in (0.0, 0.05, 0.1):
        back = sum(_comes_back(seed, mended) for seed in range(TRADITIONS))
        print(
            f"  {mended:.0%} mended at each copy: {back} of {TRADITIONS} traditions come back whole"
        )


def _comes_back(seed: int, mended: float) -> bool:
    """Eight copies, a third of them lost, 25 errors a copy."""
    tradition = at_random(random.Random(seed), 8, 1 / 3)
    found = suggested_stemma(agreeing(copied(tradition, 25, mended=mended, seed=seed)))
    return found is None or clades_of(found) == clades(tradition)


def _print_row(what: str, places: int, counting: float, suggesting: float) -> None:
    print(
        f"  {what:<20}{places:6d} places {1000 * counting:8.1f} ms counted"
        f"{1000 * suggesting:8.1f} ms stemma"
    )
