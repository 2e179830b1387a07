"""Models that are lost: found where witnesses share errors that nothing above them has.

In come the witnesses that hang below one model (or the original) and the errors by who has them;
out go the same witnesses, those that share errors of their own put together below a lost model.
Bottom up by average likeness (average linkage: Sokal and Michener, 1958, from memory), then what
too few errors bear is undone. Linear in the patterns times the cube of the witnesses.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import cached_property, reduce
from itertools import combinations, product

from pipeline.collation.error_patterns import FEW, ErrorPatterns

MENDED = 0.15
"""The share of a model's errors that a copy may have mended and still be taken for its copy.

Our own choice: a scribe or engraver mends the plain slips, and not much besides.
"""


@dataclass(frozen=True)
class Node:
    """A witness by its number, or a lost model (None), with what hangs on it."""

    witness: int | None
    below: tuple[Node, ...] = ()

    @cached_property
    def bits(self) -> int:
        """The witness and all witnesses below, as bits."""
        own = 0 if self.witness is None else 1 << self.witness
        return own | union(self.below)

    def has(self, having: int) -> bool:
        """Return whether the node has an error that these witnesses have.

        A lost model has what at least two of its copies have.
        """
        if self.witness is not None:
            return bool(having >> self.witness & 1)
        return sum(1 for part in self.below if having & part.bits) > 1


def union(nodes: Iterable[Node]) -> int:
    """Return all witnesses of some nodes as bits."""
    return reduce(lambda bits, node: bits | node.bits, nodes, 0)


def lost_models(
    nodes: Sequence[Node], model: int | None, patterns: ErrorPatterns
) -> tuple[Node, ...]:
    """Return the nodes below a model, grouped below lost models where enough errors say so.

    `model` is the number of the witness they hang on; its errors are no sign of a lost model.
    """
    known = 0 if model is None else 1 << model
    clusters = [_Cluster((node,)) for node in nodes]
    while len(clusters) > 1:
        likeness, _, one, other = max(
            (
                (_likeness(one, other, known, patterns), _rank(one, other, patterns), one, other)
                for one, other in combinations(clusters, 2)
            ),
            key=lambda row: row[:2],
        )
        if not likeness:
            break
        clusters = [c for c in clusters if c is not one and c is not other]
        clusters.append(_Cluster((one, other)))
    everyone = union(nodes)
    found = [node for c in clusters for node in _settled(c, everyone, known, patterns)]
    return tuple(sorted(found, key=_first))


@dataclass(frozen=True)
class _Cluster:
    """Two clusters that were found most alike, or one node."""

    parts: tuple[_Cluster | Node, ...]

    @cached_property
    def nodes(self) -> tuple[Node, ...]:
        return tuple(
            node
            for part in self.parts
            for node in ((part,) if isinstance(part, Node) else part.nodes)
        )


def _likeness(one: _Cluster, other: _Cluster, known: int, patterns: ErrorPatterns) -> float:
    """Return the mean share of common errors over all pairs, 0.0 where that is no more than chance.

    Only pairs of which both hold some place with an error count.
    """
    pairs = [_common(_bit(a), _bit(b), known, patterns) for a, b in product(one.nodes, other.nodes)]
    known_pairs = [pair for pair in pairs if pair.places]
    if not known_pairs or sum(pair.enough for pair in known_pairs) * 2 < len(known_pairs):
        return 0.0
    return sum(pair.shared / pair.places for pair in known_pairs) / len(known_pairs)


def _rank(one: _Cluster, other: _Cluster, patterns: ErrorPatterns) -> list[int]:
    """Return what decides between pairs just as much alike: the alphabet, not the edition."""
    alphabet = {siglum: place for place, siglum in enumerate(sorted(patterns.witnesses))}
    bits = union((*one.nodes, *other.nodes))
    return sorted(-alphabet[siglum] for n, siglum in enumerate(patterns.witnesses) if bits >> n & 1)


@dataclass(frozen=True)
class _Common:
    """The errors whose places two witnesses hold, those that both have, and if they are enough."""

    places: int
    shared: int
    enough: bool


def _common(one: int, other: int, known: int, patterns: ErrorPatterns) -> _Common:
    both = one | other
    places = patterns.weight(lambda h, m: (h | m) & both == both and _new(m, known))
    shared = patterns.weight(lambda h, m: h & both == both and _new(m, known))
    return _Common(places, shared, patterns.enough(shared, one, other))


def _settled(
    cluster: _Cluster, everyone: int, known: int, patterns: ErrorPatterns
) -> tuple[Node, ...]:
    """Return a cluster as one lost model, or as its nodes where too few errors bear it."""
    if len(cluster.nodes) == 1:
        return cluster.nodes
    one, other = (part for part in cluster.parts if isinstance(part, _Cluster))
    parts = (
        *_settled(one, everyone, known, patterns),
        *_settled(other, everyone, known, patterns),
    )
    first, second = union(one.nodes), union(other.nodes)
    outside = everyone & ~(first | second)
    own = patterns.weight(
        lambda h, m: h & first and h & second and not h & outside and _new(m, known)
    )
    with_others = patterns.weight(
        lambda h, m: h & first and h & second and h & outside and _new(m, known)
    )
    if own < FEW or own <= MENDED * (own + with_others):
        return parts
    return (Node(None, tuple(sorted(parts, key=_first))),)


def _new(lacking: int, known: int) -> bool:
    """Return whether the witness above, if there is one, lacks the error."""
    return not known or bool(lacking & known)


def _bit(node: Node) -> int:
    return node.bits if node.witness is None else 1 << node.witness


def _first(node: Node) -> int:
    """Return the first witness of a node: the order in which branches stand."""
    return node.bits & -node.bits
