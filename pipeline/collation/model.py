"""What is computed about each record: where it is, what the versions have, how they differ."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum
from typing import Literal

from pipeline.collation.beside import Beside
from pipeline.edition.kinds_of_difference import Change as Change
from pipeline.edition.kinds_of_difference import DifferenceKind as DifferenceKind
from pipeline.edition.layer import Layer
from pipeline.edition.model import FiledRecord
from pipeline.score.model import Event, Marking, Moment, Passage, Span
from pipeline.strings.bow_facts import BowFacts
from pipeline.strings.bowing import Bowed
from pipeline.strings.harmonic_facts import HarmonicFacts
from pipeline.strings.left_hand import LeftHand

Encodings = Mapping[tuple[str, int], Passage]
"""What a witness's encoding of a movement holds, by siglum and movement number."""


@dataclass(frozen=True)
class Side:
    """What one version has where two differ: events of one voice, or one marking, or nothing.

    `parts` lists all the slurs or hairpins, `marking` the first, where one of the other version
    is divided into several.
    """

    events: tuple[Event, ...] = ()
    marking: Marking | None = None
    parts: tuple[Marking, ...] = ()

    @property
    def markings(self) -> tuple[Marking, ...]:
        """All markings: several where one of the other version is divided."""
        return self.parts or ((self.marking,) if self.marking else ())

    @property
    def empty(self) -> bool:
        """Whether this version has nothing here."""
        return not self.events and self.marking is None


@dataclass(frozen=True)
class Difference:
    """One thing that a version has otherwise than the text.

    `start` and `end` are moments of the text. A difference of events holds the shortest run on
    both sides that begins and ends together in time. `tied_from` is set for a tie that a place only
    receives: the same as it is told at the note where the tie begins.
    """

    kind: DifferenceKind
    staff: int
    start: Moment
    end: Moment
    text: Side
    reading: Side
    change: Change = Change.OTHERWISE
    tied_from: Difference | None = None


@dataclass(frozen=True)
class Version:
    """Music that stands beside the text: a witness's reading, an ossia, a tradition.

    `bars` are indexes into `passage.bars`, in order: those that stand against the place. `staff` is
    the staff's number within `passage`. `beside` is the whole encoding beside the text, for a
    version that is one (of origin "encoding"), None for any other.
    """

    passage: Passage
    bars: tuple[int, ...]
    staff: int
    origin: Literal["encoding", "file", "derived"]
    witnesses: tuple[str, ...] = ()
    hand: str | None = None
    beside: Beside | None = None


@dataclass(frozen=True)
class Comparison:
    """A version with all that it has differently inside the place of its record.

    `variant` is the index of the reading in the record that it belongs to.
    """

    version: Version
    variant: int
    differences: tuple[Difference, ...]


class Follows(StrEnum):
    """Which of the two the text follows where a part has another reading than its own score."""

    SCORE = "score"
    PART = "part"
    NEITHER = "neither"
    SCORE_IN_PART = "score in part"
    PART_IN_PART = "part in part"
    BOTH_IN_PART = "each in part"


@dataclass(frozen=True)
class PartAgainstScore:
    """A part that has another reading at a place than the score it belongs to, by their sigla."""

    part: str
    score: str
    follows: Follows


@dataclass(frozen=True)
class BowingPlayed:
    """An alternative of a bowing carried out, and what that comes to at the tempo."""

    bowed: Bowed
    facts: BowFacts


@dataclass(frozen=True)
class Decision:
    """A record with everything that was computed about it: what the later stages print.

    `comparisons` are filled for readings and emendations, one for each different version;
    `music` for ossias and traditions, `bowings` for bowings, one an alternative in the order of the
    record; `harmonics` where the music of an ossia or tradition has some. A reading that is only
    described (`says`) has none. `hands` are filled for fingerings of the edited staff, one an
    alternative in the order of the record, None where its fingers do not fit the notes.
    `parts_against_scores` are filled for readings and emendations.
    """

    filed: FiledRecord
    layer: Layer
    span: Span
    comparisons: tuple[Comparison, ...] = ()
    music: Version | None = None
    bowings: tuple[BowingPlayed, ...] = ()
    harmonics: HarmonicFacts | None = None
    hands: tuple[LeftHand | None, ...] = ()
    parts_against_scores: tuple[PartAgainstScore, ...] = ()

    @property
    def id(self) -> str:
        """The record's id."""
        return self.filed.record.id
