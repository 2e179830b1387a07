"""The nodes of a string: where it is touched, which partial sounds, how far both are from tempered.

A string of length L touched at k/n (k and n without common divisor) sounds its n-th partial, n
times the frequency of the whole: H. Helmholtz, *On the Sensations of Tone*, any acoustics handbook.
Touched intervals over a stopped note: J. Wolfe, "Strings, standing waves and harmonics" (UNSW);
F. H. Martens, *Violin Mastery* (1919); the major sixth by arithmetic (2/5).
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property
from math import gcd, log2

HIGHEST_PARTIAL = 8
"""Partials beyond are not reckoned with: they speak on no instrument with any certainty."""


@dataclass(frozen=True, order=True)
class Node:
    """The place k/n of a string, from the nut or from the finger that stops it."""

    n: int
    k: int

    @property
    def partial(self) -> int:
        """The number of the partial that sounds."""
        return self.n

    @cached_property
    def semitones(self) -> float:
        """The pitch that the string would have if it were stopped here, above its own."""
        return 12 * log2(self.n / (self.n - self.k))

    @cached_property
    def interval(self) -> int:
        """The same in tempered semitones: the interval at which the touched note is written."""
        return round(self.semitones)

    @cached_property
    def touch_cents(self) -> float:
        """How far the node is above (below: negative) that tempered note."""
        return 100 * (self.semitones - self.interval)

    @cached_property
    def sounds_above(self) -> int:
        """The tempered semitones from the string's own pitch to what sounds."""
        return round(12 * log2(self.n))

    @cached_property
    def cents(self) -> float:
        """How far what sounds is above (below: negative) that tempered note."""
        return 100 * (12 * log2(self.n) - self.sounds_above)

    def __str__(self) -> str:
        return f"{self.k}/{self.n}"


NODES: tuple[Node, ...] = tuple(
    Node(n, k) for n in range(2, HIGHEST_PARTIAL + 1) for k in range(1, n) if gcd(k, n) == 1
)
"""Every node of the partials 2 to 8, the lowest partial first."""

TOUCHED_OVER_STOPPED: Mapping[int, Node] = {
    3: Node(6, 1), 4: Node(5, 1), 5: Node(4, 1), 7: Node(3, 1), 9: Node(5, 2), 12: Node(2, 1),
}  # fmt: skip
"""The intervals that are touched over a stopped note, by semitones."""


def _by_interval() -> dict[int, Node]:
    found: dict[int, Node] = {}
    for node in NODES:
        other = found.get(node.interval)
        if other is None or abs(node.touch_cents) < abs(other.touch_cents):
            found[node.interval] = node
    return found


TOUCHED_OVER_OPEN: Mapping[int, Node] = _by_interval()
"""The node that a touched note over an open string means, by tempered semitones: the nearest.

A written minor third is so the node of the sixth partial (16 cents away), as orchestration
handbooks have it, never that of the seventh (33 cents), which has no note of its own.
"""
