"""Witnesses with errors of two models: what no tree can show.

In come the tree and the errors by who has them; out go the witnesses that share errors with one
witness which a second lacks, and with the second which the first lacks. In a tree of copies at most
one of three witnesses' pairs shares errors that the third lacks (common practice: contamination is
seen where errors contradict one another; P. Maas, "Textkritik", 1927, from memory).
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import combinations

from pipeline.collation.error_patterns import FEW, FULL, ErrorPatterns
from pipeline.collation.lost_models import MENDED, Node

CROSSED = 0.25
"""Of the errors that a third witness might have mended, the share it must lack, and more where it
stands several copies below the others. Our own choice, above what one copy mends (`MENDED`).
"""

Path = tuple[Node, ...]
"""The nodes from the top of the tree down to a witness, itself included."""


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
    paths = dict(_paths(roots, ()))
    found: dict[int, Mixture] = {}
    for three in combinations(sorted(paths), 3):
        exclusive = {
            third: _exclusive(third, [n for n in three if n != third], paths, patterns)
            for third in three
        }
        for mixed in three:
            first, second = (other for other in three if other != mixed)
            with_first, with_second = exclusive[second], exclusive[first]
            if not with_first or not with_second:
                continue
            if exclusive[mixed] >= min(with_first, with_second):
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
        if not any(node.witness in found for node in paths[number][:-1])
    )


def _strength(mixture: Mixture) -> tuple[float, float]:
    return mixture.with_second, mixture.with_first


def _exclusive(
    third: int, pair: Sequence[int], paths: Mapping[int, Path], patterns: ErrorPatterns
) -> int:
    """Return the errors that a pair shares and a third lacks, 0 where it may have mended them.

    The third may have mended some at every copy since what all three go back to.
    """
    one, other, lack = 1 << pair[0], 1 << pair[1], 1 << third
    both, everyone = one | other, one | other | lack
    shared = patterns.weight(lambda h, m: h & both == both and m & lack)
    inherited = patterns.weight(lambda h, _: h & everyone == everyone)
    common = 0
    for nodes in zip(paths[third], paths[pair[0]], paths[pair[1]], strict=False):
        if any(node is not nodes[0] for node in nodes):
            break
        common += 1
    copies = len(paths[third]) - common
    mended = max(CROSSED, 1 - (1 - MENDED) ** copies)
    if shared < FEW or shared <= mended * (shared + inherited):
        return 0
    return shared if patterns.enough(shared, one, other) else 0


def _paths(nodes: Sequence[Node], above: Path) -> Iterator[tuple[int, Path]]:
    """Yield every witness with its path."""
    for node in nodes:
        here = (*above, node)
        if node.witness is not None:
            yield node.witness, here
        yield from _paths(node.below, here)
