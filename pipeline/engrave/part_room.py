"""A line's ink in, moved where words and digits stand too near to a staff; in place.

Verovio measures words by another face than the one they are printed in, so that tall letters and
brackets come to touch staff lines, and what belongs to the staff seems to belong to the small staff
above it. Coordinates are those of Verovio's SVG; a staff space is 180.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping, Sequence

from pipeline.engrave.boxes import Box
from pipeline.engrave.part_ink import Ink

_BELOW = 50.0
"""Room between the bottom line and words or digits under it."""
_FARTHEST = 540.0
"""What is farther below a staff is there for something else."""
_BELOW_A_NOTE = 40.0
"""Room between a note's head and a digit under it."""
_LEFT_BELOW = 20.0
"""Room that is left over what stands lower down."""
_SMALL_STAFF = 60.0
"""Room between a small staff, its signs included, and the ink of the staff under it ..."""
_SMALL_STAFF_AND_WORDS = 130.0
"""... and words of that staff, which are not the small staff's."""
_WORDS = frozenset({"dir", "dynam", "fing"})


def off_the_bottom_line(
    pieces: Sequence[Ink], small: Collection[int], staves: Mapping[str, Box]
) -> None:
    """Move words and digits down that touch the bottom line, or a note, of the staff above them.

    `staves` are the boxes of the staves' lines, by xml:id of a small staff, else under "". `small`
    are the pieces of small staves, by `id()`. What stands in one column moves together; nothing
    moves onto what is lower down.
    """
    worded = [p for p in pieces if p.words is not None and p.classes & _WORDS]
    heads = [p for p in pieces if "notehead" in p.classes]
    for piece in sorted(worded, key=lambda p: p.box.top):
        ours = [box for key, box in staves.items() if bool(key) == (id(piece) in small)]
        down = max((_too_near(piece, staff, heads) for staff in ours), default=0.0)
        if down <= 0:
            continue
        column = [p for p in worded if p.box.top >= piece.box.top and not _apart(p, piece)]
        held = set(map(id, column))
        for one in column:
            for other in pieces:
                if id(other) in held or _apart(one, other) or other.box.top < one.box.bottom:
                    continue
                down = min(down, other.box.top - one.box.bottom - _LEFT_BELOW)
        for one in column if down > 0 else ():
            one.move(down)


def _too_near(piece: Ink, staff: Box, heads: Iterable[Ink]) -> float:
    """How far a piece under a staff has to be moved down, away from its lines and note heads."""
    below = piece.words is not None and staff.bottom < piece.words.y < staff.bottom + _FARTHEST
    if not below or piece.box.beside(staff):
        return 0.0
    lowest = max(
        (
            head.box.bottom
            for head in heads
            if head.box.middle < piece.box.middle and not _apart(head, piece)
        ),
        default=staff.bottom,
    )
    return max(staff.bottom + _BELOW, lowest + _BELOW_A_NOTE) - piece.box.top


def small_staves_clear(pieces: Sequence[Ink], small: Collection[int], staff_top: float) -> None:
    """Move the small staves of a line up where the ink of the staff below them is too near.

    What stands above them moves along.
    """
    ours = [piece for piece in pieces if id(piece) in small]
    below = [p for p in pieces if id(p) not in small and p.box.top < staff_top]
    rise = max((_missing(piece, ours) for piece in below), default=0.0)
    if rise <= 0:
        return
    roof = [p for p in below if any(p.box.bottom < one.box.middle for one in _over(p, ours))]
    for piece in (*ours, *roof):
        piece.move(-rise)


def _missing(piece: Ink, small: Iterable[Ink]) -> float:
    """How much room is missing between a piece and the small staff above it."""
    room = _SMALL_STAFF_AND_WORDS if piece.classes & {"dir"} else _SMALL_STAFF
    return max(
        (
            above.box.bottom + room - piece.box.top
            for above in _over(piece, small)
            if above.box.middle < piece.box.bottom
        ),
        default=0.0,
    )


def _over(piece: Ink, others: Iterable[Ink]) -> Iterable[Ink]:
    return (other for other in others if not other.box.beside(piece.box))


def _apart(one: Ink, other: Ink) -> bool:
    return one.box.beside(other.box)
