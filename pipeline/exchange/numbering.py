"""Numbers that tell signs of one kind apart which are open at once: slurs, hairpins, octave signs.

MusicXML 4.0, `number-level`. The numbers are the part's: an ossia must not end the slur of the
staff below it.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field
from fractions import Fraction

MOST_AT_ONCE = 16
"""The highest number of MusicXML 4.0; up to 3.1 it was 6, which is only passed where it must be."""

Position = tuple[int, Fraction | int]
"""Bar index, and a moment in it or a place in the order of the file."""

Extent = tuple[Position, Position]
"""From where to where a sign goes; its ends may come in either order."""


@dataclass(frozen=True)
class _Taken:
    first_bar: int
    last_bar: int
    number: int


@dataclass
class Numbers:
    """What was given so far, by kind of sign: one staff after the other asks."""

    _given: dict[str, list[_Taken]] = field(default_factory=dict)

    def give(self, kind: str, extents: Iterable[Extent]) -> list[int | None]:
        """Return for each extent of a staff the lowest number that nothing open at once has.

        Signs that touch count as open at once, so that an end is never taken for another's; those
        of another staff where they share a bar. None where there are more than numbers.
        """
        others = self._given.setdefault(kind, [])
        ordered = [(min(ends), max(ends), index) for index, ends in enumerate(extents)]
        found: list[int | None] = [None] * len(ordered)
        opened: list[tuple[Position, int]] = []
        given: list[_Taken] = []
        for start, end, index in sorted(ordered):
            opened = [one for one in opened if one[0] >= start]
            taken = {number for _, number in opened}
            taken |= {
                one.number for one in others if one.first_bar <= end[0] and start[0] <= one.last_bar
            }
            free = next((n for n in range(1, MOST_AT_ONCE + 1) if n not in taken), None)
            found[index] = free
            if free is not None:
                opened.append((end, free))
                given.append(_Taken(start[0], end[0], free))
        others += given
        return found
