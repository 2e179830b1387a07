"""A witness's encoding laid beside the text of a movement: which staves and bars answer which.

Everything that compares a witness with the text, or takes music from it, asks here where the
witness has a bar of the text; printed numbers are not asked, for an upbeat may be counted as bar 1.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from enum import StrEnum
from functools import cached_property
from typing import Any

from pipeline.score.model import Passage


@dataclass(frozen=True)
class BarPair:
    """Bar indexes that stand against each other; None where that side has no such bar."""

    text: int | None
    reading: int | None


@dataclass(frozen=True)
class Shift:
    """By how much a staff is written higher than the text throughout.

    `steps` are steps of the staff, `semitones` MIDI semitones: an octave is 7 and 12, a fourth
    down -3 and -5.
    """

    steps: int
    semitones: int


class Obstacle(StrEnum):
    """Why an encoding cannot be compared with the text at all."""

    EMPTY = "it has no notes"
    NO_STAFF = "none of its staves is one of the text"
    ANOTHER_WORK = "it is hardly like the text"


@dataclass(frozen=True)
class Beside:
    """An encoding beside the text of its movement.

    `passage` is the encoding with every shift undone, so that it stands at the text's pitch;
    `staves` give the encoding's staff number for each staff of the text that it has. `pairs` cover
    every bar of both sides, in order; a text bar before the first or after the last one that the
    encoding holds is not among them: it was not encoded. `shifts` are by staff of the text and hold
    only what is written higher or lower. `likeness` is the share (0 to 1) of the text's notes,
    in the bars that are paired, that the encoding has at the same pitch and time.
    Where there is an `obstacle` nothing is compared, `pairs` is empty.
    """

    passage: Passage
    staves: Mapping[int, int]
    pairs: tuple[BarPair, ...]
    shifts: Mapping[int, Shift] = field(default_factory=dict)
    missing_staves: tuple[int, ...] = ()
    further_staves: tuple[int, ...] = ()
    likeness: float = 1.0
    obstacle: Obstacle | None = None
    compared: dict[int, tuple[Passage, Any]] = field(
        default_factory=dict, init=False, compare=False, repr=False
    )
    """What `staff_comparison` keeps of it, by staff."""
    compared_bars: list[tuple[Passage, Any]] = field(
        default_factory=list, init=False, compare=False, repr=False
    )
    """What `bar_signs` keeps of it."""

    @cached_property
    def reading_bar(self) -> Mapping[int, int | None]:
        """The encoding's bar for each bar of the text it reaches; None where it lacks that bar."""
        return {pair.text: pair.reading for pair in self.pairs if pair.text is not None}

    @cached_property
    def with_added(self) -> Mapping[int, tuple[BarPair, ...]]:
        """The pair of each bar of the text it reaches, with the added bars that follow that one.

        Bars added before the first that is encoded go with that one.
        """
        found: dict[int, list[BarPair]] = {}
        before: list[BarPair] = []
        last = before
        for pair in self.pairs:
            if pair.text is not None:
                last = found.setdefault(pair.text, before)
                before = []
            last.append(pair)
        return {bar: tuple(pairs) for bar, pairs in found.items()}

    @cached_property
    def text_bar(self) -> Mapping[int, int | None]:
        """The text's bar for each bar of the encoding; None for a bar that only it has."""
        return {pair.reading: pair.text for pair in self.pairs if pair.reading is not None}


Besides = Mapping[tuple[str, int], Beside]
"""Every encoding beside its text, by siglum and number of the movement."""
