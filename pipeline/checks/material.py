"""What the rules look at: everything read and computed, and nothing that they may change."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import cached_property

from pipeline.collation.model import Decision, Encodings
from pipeline.edition.model import Edition, FiledRecord
from pipeline.edition.records import Status
from pipeline.score.model import Passage, Score


@dataclass(frozen=True)
class Material:
    """An edition with its music and what was computed about each record."""

    edition: Edition
    score: Score
    encodings: Encodings
    music: Mapping[str, Passage]
    decisions: tuple[Decision, ...]

    @cached_property
    def filed(self) -> Mapping[str, FiledRecord]:
        """Every record by its id, the ones included that no decision could be made of."""
        return {filed.record.id: filed for filed in self.edition.records}

    @cached_property
    def texts(self) -> Mapping[int, Passage]:
        """The base text of each movement by its number."""
        return {movement.n: movement.passage for movement in self.score.movements}

    def in_force(self) -> Iterator[Decision]:
        """Yield the decisions that reach the part and the text, in the order of the music."""
        return (d for d in self.decisions if d.filed.record.status is Status.ACCEPTED)
