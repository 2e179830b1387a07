"""What collating whole movements gives: what each witness has otherwise, and who answers it."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from pipeline.collation.beside import Beside
from pipeline.collation.model import Difference


class BarChange(StrEnum):
    """Whole bars that only one side has."""

    MISSING = "bars missing"
    ADDED = "bars added"


@dataclass(frozen=True)
class BarDifference:
    """Neighbouring bars that the witness lacks, or has more than the text, on all its staves.

    For missing bars `text` holds their indexes in the text; for added bars `reading` holds their
    indexes in the witness and `after` the text's bar that they follow, -1 before the first.
    """

    change: BarChange
    after: int
    text: tuple[int, ...] = ()
    reading: tuple[int, ...] = ()

    @property
    def at(self) -> int:
        """The text's bar at which this is told: the first that is missing, else the one before."""
        return self.text[0] if self.text else max(self.after, 0)


class SetAside(StrEnum):
    """Notation that differs without another meaning: counted, never told one by one."""

    STEM = "stem direction"
    BEAM = "beams"
    CLEF = "clef that leaves the sound"
    OCTAVE_SIGN = "octave sign that leaves the sound"
    KEY = "key signature that leaves the sound"
    METER = "how the meter is written"
    BAR_LINE = "kind of bar line"
    BREAK = "system and page breaks"
    SIDE = "side of the staff"
    REST = "how silence is written"
    CHORD = "order of the notes of a chord"
    BRACKET = "brackets around an accidental"
    BAR_NUMBER = "printed bar numbers"


@dataclass(frozen=True)
class Collation:
    """All that one witness has otherwise in one movement.

    `differences` are in reading order: by moment, staff and kind. What lies in `bars` (whole bars
    that one side lacks) is not among them.
    """

    siglum: str
    movement: int
    beside: Beside
    differences: tuple[Difference, ...] = ()
    bars: tuple[BarDifference, ...] = ()


@dataclass(frozen=True)
class Departure:
    """One thing in which witnesses depart from the text in one and the same way.

    `differences` has one for each of `witnesses`, in their order; they say the same and differ only
    in what belongs to the file. `answers` are the ids of accepted records that speak of it for
    every one of the witnesses, `proposed` those of proposed ones.
    """

    movement: int
    witnesses: tuple[str, ...]
    differences: tuple[Difference, ...] | tuple[BarDifference, ...]
    answers: tuple[str, ...] = ()
    proposed: tuple[str, ...] = ()

    @property
    def open(self) -> bool:
        """Whether no record, in force or proposed, speaks of it."""
        return not self.answers and not self.proposed
