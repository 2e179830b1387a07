"""Traditions made up: an original copied again and again with errors, some copies lost.

A tradition is written as a person would draw it: `A(B C(D))` is a witness A with copies B and C,
D copied from C; a name in small letters is a copy that is lost: `x(A B)`.
"""

from __future__ import annotations

import random
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from fractions import Fraction

from pipeline.collation.agreement import Agreement, Kind, Unit, tallied
from pipeline.collation.model import DifferenceKind
from pipeline.collation.shared_errors import SuggestedStemma
from pipeline.score.model import Moment

Errors = Mapping[str, frozenset[str]]
Clades = frozenset[tuple[str, frozenset[str]]]
"""A tree without names of what is lost: each witness or lost model with all that hangs there."""


@dataclass(frozen=True)
class Copied:
    """A copy with its copies; lost where its name is in small letters."""

    name: str
    copies: tuple[Copied, ...] = ()

    @property
    def lost(self) -> bool:
        return self.name.islower()


def drawn(written: str) -> tuple[Copied, ...]:
    """Return what is copied from the original: `A(B) x(C D)`."""
    tokens = written.replace("(", " ( ").replace(")", " ) ").split()

    def row(at: int) -> tuple[tuple[Copied, ...], int]:
        found: list[Copied] = []
        while at < len(tokens) and tokens[at] != ")":
            name, at = tokens[at], at + 1
            below: tuple[Copied, ...] = ()
            if at < len(tokens) and tokens[at] == "(":
                below, at = row(at + 1)
                at += 1
            found.append(Copied(name, below))
        return tuple(found), at

    return row(0)[0]


def copied(
    tradition: Sequence[Copied], counts: Mapping[str, int] | int, mended: float = 0.0, seed: int = 0
) -> Errors:
    """Return the errors of each witness: those of its model, less what is mended, and its own."""
    luck = random.Random(seed)
    found: dict[str, frozenset[str]] = {}

    def down(node: Copied, before: frozenset[str]) -> None:
        count = counts if isinstance(counts, int) else counts[node.name]
        kept = frozenset(error for error in sorted(before) if luck.random() >= mended)
        errors = kept | {f"{node.name}.{number}" for number in range(count)}
        if not node.lost:
            found[node.name] = errors
        for copy in node.copies:
            down(copy, errors)

    for node in tradition:
        down(node, frozenset())
    return found


def errors(*runs: str) -> set[str]:
    """Return errors by name: `a5` are a1 to a5."""
    return {f"{run[0]}{n}" for run in runs for n in range(1, int(run[1:]) + 1)}


def agreeing(
    errors: Mapping[str, frozenset[str] | set[str]],
    kind: Kind = DifferenceKind.PITCH,
    gaps: Mapping[str, frozenset[str]] | None = None,
) -> Agreement:
    """Return the agreement of witnesses with these errors, one error at one place.

    `gaps` are the errors whose places a witness does not hold.
    """
    everywhere = sorted(set().union(*errors.values()))
    units = [
        Unit(1, 1, kind, Moment(bar, Fraction(0)), Moment(bar, Fraction(1)), {
            siglum: frozenset({(error,)}) if error in own else frozenset()
            for siglum, own in errors.items()
            if error not in (gaps or {}).get(siglum, frozenset())
        })
        for bar, error in enumerate(everywhere)
    ]  # fmt: skip
    return tallied(errors, units)


def clades(tradition: Sequence[Copied]) -> Clades:
    """Return the tree as far as the witnesses can show it.

    A lost copy with one copy or none is not to be seen.
    """

    @dataclass
    class Seen:
        here: set[tuple[str, frozenset[str]]] = field(default_factory=set)

    seen = Seen()

    def below(node: Copied) -> frozenset[str]:
        parts = [part for part in map(below, node.copies) if part]
        witnesses = frozenset().union(*parts) if parts else frozenset()
        if not node.lost:
            witnesses |= {node.name}
            seen.here.add((node.name, witnesses))
        elif len(parts) > 1:
            seen.here.add(("", witnesses))
        return witnesses

    for node in tradition:
        below(node)
    return frozenset(seen.here)


def clades_of(stemma: SuggestedStemma) -> Clades:
    """Return the suggested tree in the same form."""
    copies: dict[str, list[str]] = {}
    for branch in stemma.branches:
        copies.setdefault(branch.model, []).append(branch.name)
    lost = {branch.name for branch in stemma.branches if branch.lost}

    def below(name: str) -> frozenset[str]:
        own = frozenset() if name in lost else frozenset({name})
        return own.union(*(below(copy) for copy in copies.get(name, [])))

    return frozenset(
        ("" if branch.lost else branch.name, below(branch.name)) for branch in stemma.branches
    )


def at_random(luck: random.Random, size: int, lost: float) -> tuple[Copied, ...]:
    """Return a tradition of so many copies, each of the original or of any earlier copy."""
    above = [luck.randrange(-1, number) if number else -1 for number in range(size)]
    names = [f"x{number}" if luck.random() < lost else f"W{number}" for number in range(size)]

    def copies_of(number: int) -> Iterator[Copied]:
        for copy, model in enumerate(above):
            if model == number:
                yield Copied(names[copy], tuple(copies_of(copy)))

    return tuple(copies_of(-1))
