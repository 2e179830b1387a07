"""By how much a staff of a witness is written higher or lower than the text, from end to end.

In come a staff of the text and the one that answers it; out goes the shift, or none. What stays
the same when a part is transposed, four notes' intervals and lengths, is looked up on the other
side and votes for the shift that it is found at; printed numbers and bar lines are not asked, so
that it can be told before the bars are aligned.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction
from itertools import pairwise

from pipeline.collation.beside import Shift
from pipeline.score.model import Event, Passage, Pitch

NEARLY_THE_WHOLE = Fraction(4, 5)
"""Share of what is found again at any pitch that must stand at one and the same shift.

Less than that is a passage that is written in another octave: a difference."""

ENOUGH = Fraction(1, 4)
"""Share of all runs of notes that must be found again; fewer are of another work, or chance."""

SHORTEST_STAFF = 16
"""Notes below which nothing is undone: an octave higher is then what the witness has there."""

_RUN = 4
"""Notes in a row that are looked up together."""

_CANDIDATES = 3
"""Shifts with the most votes that are tried."""

_STEPS = "CDEFGAB"

AS_WRITTEN = Shift(0, 0)

Height = tuple[int, int]
"""Staff steps and semitones above C of octave 0."""


@dataclass(frozen=True)
class Standing:
    """How a staff stands: its `shift`, and how many runs of notes of how many are found again."""

    shift: Shift
    found: int
    of: int


def height(pitch: Pitch) -> Height:
    """Return how high a pitch is written, in steps of the staff and in semitones."""
    return 7 * pitch.octave + _STEPS.index(pitch.step), pitch.midi


def standing(text: Passage, staff: int, encoding: Passage, other: int) -> Standing:
    """Return how an encoding's staff `other` stands to the text's staff. Linear in the notes."""
    one, two = _runs(text, staff), _runs(encoding, other)
    heights = _by_shape(one), _by_shape(two)
    anywhere = sum(
        min(len(found), len(heights[1].get(shape, ()))) for shape, found in heights[0].items()
    )
    votes: Counter[Height] = Counter()
    for shape, found in heights[0].items():
        for a, b in zip(found, heights[1].get(shape, ()), strict=False):
            votes[b[0] - a[0], b[1] - a[1]] += 1
    here = _found_at((0, 0), heights)
    best = max(
        ((_found_at(by, heights), by) for by, _ in votes.most_common(_CANDIDATES)),
        default=(here, (0, 0)),
        key=lambda row: row[0],
    )
    of = min(len(one), len(two))
    long_enough = min(len(one), len(two)) + _RUN - 1 >= SHORTEST_STAFF
    enough = max(NEARLY_THE_WHOLE * anywhere, ENOUGH * of)
    if long_enough and best[0] > here and best[0] >= enough:
        return Standing(Shift(*best[1]), best[0], of)
    return Standing(AS_WRITTEN, here, of)


Shape = tuple[tuple[int, ...], tuple[Fraction, ...]]
_Run = tuple[Shape, Height]


def _runs(passage: Passage, staff: int) -> list[_Run]:
    voices: dict[int, list[Event]] = {}
    for event in passage.events:
        if event.staff == staff and event.heads and not event.grace:
            voices.setdefault(event.voice, []).append(event)
    return [run for voice in sorted(voices) for run in _runs_of(voices[voice])]


def _runs_of(events: Sequence[Event]) -> Iterator[_Run]:
    tops = [max(height(pitch) for pitch in event.pitches) for event in events]
    lengths = [event.duration for event in events]
    rises = [b[1] - a[1] for a, b in pairwise(tops)]
    for at in range(len(events) - _RUN + 1):
        shape = tuple(rises[at : at + _RUN - 1]), tuple(lengths[at : at + _RUN])
        yield shape, tops[at]


def _by_shape(runs: Sequence[_Run]) -> dict[Shape, list[Height]]:
    found: dict[Shape, list[Height]] = {}
    for shape, at in runs:
        found.setdefault(shape, []).append(at)
    return found


def _found_at(
    by: Height, heights: tuple[dict[Shape, list[Height]], dict[Shape, list[Height]]]
) -> int:
    """Return how many runs of the text the other side has, so much higher."""
    found = 0
    for shape, ours in heights[0].items():
        theirs = heights[1].get(shape)
        if theirs:
            lowered = Counter((steps - by[0], semitones - by[1]) for steps, semitones in theirs)
            found += sum((Counter(ours) & lowered).values())
    return found
