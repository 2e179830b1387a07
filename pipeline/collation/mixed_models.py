"""Witnesses with errors of two models: what no tree can show.

In come the tree and the errors by who has them; out go the witnesses that share errors with one
witness which a second lacks, and with the second which the first lacks. In a tree of copies at most
one of three witnesses' pairs shares errors that the third lacks (common practice: contamination is
seen where errors contradict one another; P. Maas, "Textkritik", 1927, from memory).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import combinations

from pipeline.collation.error_patterns import FEW, FULL, ErrorPatterns
from pipeline.collation.lost_models import Node

CROSSED = 0.25
"""Of errors that a third witness might have mended, the share it must lack to speak of a mixture.

Our own choice, above what one copy mends: a witness may stand several copies below the others.
"""


@dataclass(frozen=True)
class Mixture:
    """A witness with errors of two others, weighed: `with_first` the second lacks, and so on."""

    witness: str
    first: str
    second: str
    with_first: float
    with_second: float


def mixtures(roots: Sequence[Node], patterns: ErrorPatterns) -> tuple[Mixture, ...]:
    """Return the strongest contradiction of each mixed witness; its copies are not named again."""
    lines = dict(_lines(roots, ()))
    found: dict[int, Mixture] = {}
    for three in combinations(sorted(lines), 3):
        for mixed in three:
            first, second = (other for other in three if other != mixed)
            with_first = _exclusive(mixed, first, second, patterns)
            with_second = _exclusive(mixed, second, first, patterns)
            if not with_first or not with_second:
                continue
            if _exclusive(first, second, mixed, patterns) >= min(with_first, with_second):
                continue
            if with_second > with_first:
                first, second = second, first
                with_first, with_second = with_second, with_first
            sigla = patterns.witnesses
            one = Mixture(
                sigla[mixed], sigla[first], sigla[second], with_first / FULL, with_second / FULL
            )
            found[mixed] = max(found.get(mixed, one), one, key=_strength)
    return tuple(
        mixture
        for number, mixture in sorted(found.items())
        if not any(above in found for above in lines[number])
    )


def _strength(mixture: Mixture) -> tuple[float, float]:
    return mixture.with_second, mixture.with_first


def _exclusive(one: int, other: int, third: int, patterns: ErrorPatterns) -> int:
    """Return the errors that two share and a third lacks, 0 where it may have mended them."""
    both, lack = 1 << one | 1 << other, 1 << third
    shared = patterns.weight(lambda h, m: h & both == both and m & lack)
    all_three = patterns.weight(lambda h, _: h & (both | lack) == both | lack)
    if shared < FEW or shared <= CROSSED * (shared + all_three):
        return 0
    return shared if patterns.enough(shared, 1 << one, 1 << other) else 0


def _lines(nodes: Sequence[Node], above: tuple[int, ...]) -> Sequence[tuple[int, tuple[int, ...]]]:
    """Return every witness with the witnesses above it."""
    found: list[tuple[int, tuple[int, ...]]] = []
    for node in nodes:
        here = above
        if node.witness is not None:
            found.append((node.witness, above))
            here = (*above, node.witness)
        found += _lines(node.below, here)
    return found
