"""What the rules look at: everything read and computed, and nothing that they may change."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import cached_property

from pipeline.collation.answers import Answers, answers
from pipeline.collation.beside import Besides
from pipeline.collation.collated import Collation, Departure
from pipeline.collation.comparisons import answer_to, systematic
from pipeline.collation.departures import departures
from pipeline.collation.differences import differences
from pipeline.collation.model import Decision, Difference, Encodings, Version
from pipeline.collation.versions import witness_version
from pipeline.edition.choices import OwnCopy
from pipeline.edition.model import Edition, FiledRecord
from pipeline.edition.records import Emendation, Reading, Status
from pipeline.score.model import Passage, Score


@dataclass(frozen=True)
class Material:
    """An edition with its music and what was computed about each record.

    `encodings` are as they were read; `besides` and `collations` hold, by siglum and number of the
    movement, each of them laid beside its text and all that it has otherwise. `own` is the
    player's copy that the edition was joined with, None where an edition stands by itself.
    """

    edition: Edition
    score: Score
    encodings: Encodings
    besides: Besides
    collations: Mapping[tuple[str, int], Collation]
    music: Mapping[str, Passage]
    decisions: tuple[Decision, ...]
    own: OwnCopy | None = None

    @cached_property
    def filed(self) -> Mapping[str, FiledRecord]:
        """Every record by its id, the ones included that no decision could be made of."""
        return {filed.record.id: filed for filed in self.edition.records}

    @cached_property
    def owned(self) -> frozenset[str]:
        """Ids of the records that are the player's, not the edition's."""
        return frozenset(filed.record.id for filed in self.own.records) if self.own else frozenset()

    @cached_property
    def decisions_of_edition(self) -> tuple[Decision, ...]:
        """The decisions that the commentary numbers: all but the player's own."""
        return tuple(d for d in self.decisions if d.id not in self.owned)

    @cached_property
    def texts(self) -> Mapping[int, Passage]:
        """The base text of each movement by its number."""
        return {movement.n: movement.passage for movement in self.score.movements}

    @cached_property
    def departures(self) -> tuple[Departure, ...]:
        """All that witnesses have otherwise, in reading order, with the records that answer it."""
        return departures(self.collations, self.answers)

    @cached_property
    def answers(self) -> Answers:
        """What the records say of which witness, those in force and those proposed."""
        return answers(self.decisions, self.collations, self.texts)

    @cached_property
    def unread(self) -> Mapping[str, Mapping[str, tuple[Difference, ...]]]:
        """What encoded witnesses have differently where a record gives no reading of theirs.

        By id of the reading or emendation, then by siglum, in the order of the witnesses; only
        witnesses whose encoding has the place, and only what the record can be about (`throughout`
        names its kinds). A tie into the place is left out where a record tells it at the note where
        it begins.
        """
        return {
            decision.id: dict(self._unread_in(decision, decision.filed.record))
            for decision in self.decisions
            if isinstance(decision.filed.record, Reading | Emendation)
        }

    @cached_property
    def answered_throughout(self) -> frozenset[tuple[object, ...]]:
        """What records on what differs throughout say of which witness, where they are in force."""
        return frozenset(
            answer_to(difference, siglum, decision.span.movement)
            for decision in self.in_force()
            if systematic(decision)
            for comparison in decision.comparisons
            for difference in comparison.differences
            for siglum in comparison.version.witnesses
        )

    def _unread_in(
        self, decision: Decision, record: Reading | Emendation
    ) -> Iterator[tuple[str, tuple[Difference, ...]]]:
        text = self.texts[decision.span.movement]
        read = {siglum for one in record.readings if not one.hand for siglum in one.witnesses}
        for siglum in self.edition.head.witnesses:
            beside = self.besides.get((siglum, decision.span.movement))
            if siglum in read or beside is None:
                continue
            version = witness_version(text, decision.span, beside, siglum, None)
            if isinstance(version, Version):
                found = differences(text, decision.span, version)
                yield (
                    siglum,
                    tuple(
                        difference
                        for difference in found
                        if record.speaks_of(difference.kind, difference.change)
                        and not self._told_where_it_begins(
                            difference, siglum, decision.span.movement
                        )
                    ),
                )

    def _told_where_it_begins(self, difference: Difference, siglum: str, movement: int) -> bool:
        if difference.tied_from is None:
            return False
        said = self.answers.to(difference.tied_from, siglum, movement)
        return bool(said.accepted or said.proposed)

    def in_force(self) -> Iterator[Decision]:
        """Yield the decisions that reach the part and the text, in the order of the music.

        What a player's own copy leaves out is not among them.
        """
        left = {one.of for one in self.own.taken if one.takes is False} if self.own else frozenset()
        return (
            d
            for d in self.decisions
            if d.filed.record.status is Status.ACCEPTED and d.id not in left
        )
