"""Where the places of a tree stand from the left: each model over the middle of its copies.

Branches are moved together until they nearly touch (after Reingold and Tilford, "Tidier Drawings of
Trees", 1981, from memory). Linear in places times rows.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass


def tidy(models: Mapping[str, Sequence[str]], column_mm: float) -> dict[str, float]:
    """Return where each place stands (mm), places of one row at least a column apart.

    `models` name for each place the one above it, or none; there must be no circle.
    """
    copies: dict[str, list[str]] = {key: [] for key in models}
    for copy, from_ in models.items():
        for model in from_:
            copies[model].append(copy)
    x: dict[str, float] = {}
    edge: list[float] = []
    for key, from_ in models.items():
        if not from_:
            _join(_branch(key, copies, column_mm), edge, x, column_mm)
    return x


@dataclass(frozen=True)
class _Branch:
    """A branch with its top at 0: where its places stand, and how far it reaches in each row."""

    x: Mapping[str, float]
    left: tuple[float, ...]
    right: tuple[float, ...]


def _branch(key: str, copies: Mapping[str, Sequence[str]], column_mm: float) -> _Branch:
    below: dict[str, float] = {}
    left: list[float] = []
    right: list[float] = []
    tops = []
    for copy in copies[key]:
        branch = _branch(copy, copies, column_mm)
        at = _join(branch, right, below, column_mm)
        left += [at + reach for reach in branch.left[len(left) :]]
        tops.append(at)
    middle = (tops[0] + tops[-1]) / 2 if tops else 0.0
    return _Branch(
        {key: 0.0, **{name: at - middle for name, at in below.items()}},
        (0.0, *(reach - middle for reach in left)),
        (0.0, *(reach - middle for reach in right)),
    )


def _join(branch: _Branch, edge: list[float], x: dict[str, float], column_mm: float) -> float:
    """Set a branch at the right of those that stand, whose right edge is given row by row.

    Adds its places to `x` and moves the edge; returns where its top came to stand.
    """
    room = [right + column_mm - left for right, left in zip(edge, branch.left, strict=False)]
    at = max(room, default=0.0)
    x.update({name: at + place for name, place in branch.x.items()})
    edge[: len(branch.right)] = [at + reach for reach in branch.right]
    return at
