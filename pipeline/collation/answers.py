"""Which records speak of a difference of a witness, wherever they tell it.

In come decisions and whole collations; out go, for one difference of one witness, the ids of the
records that answer it. Built once for an edition, asked in constant time.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from fractions import Fraction

from pipeline.collation.bars import bars_of
from pipeline.collation.collated import BarDifference, Collation
from pipeline.collation.comparisons import answer_to
from pipeline.collation.differences import differences
from pipeline.collation.model import Change, Decision, Difference, DifferenceKind, Version
from pipeline.collation.versions import witness_version
from pipeline.edition.records import Emendation, Reading, Status, Variant
from pipeline.score.model import Passage, Span

Collations = Mapping[tuple[str, int], Collation]
"""What each witness has otherwise, by siglum and number of the movement."""


@dataclass(frozen=True)
class Answered:
    """The ids of the records that speak of a difference: those in force and those proposed."""

    accepted: tuple[str, ...] = ()
    proposed: tuple[str, ...] = ()


@dataclass(frozen=True)
class _Covering:
    """A record that names a witness at a bar; `described` where it gives the reading itself."""

    record: str
    status: Status
    described: bool


@dataclass(frozen=True)
class Answers:
    """What the readings and emendations of an edition say of which witness."""

    told: dict[tuple[object, ...], list[tuple[str, Status]]] = field(
        default_factory=lambda: defaultdict(list)
    )
    bars: dict[tuple[str, int, int], list[_Covering]] = field(
        default_factory=lambda: defaultdict(list)
    )

    def to(self, difference: Difference, siglum: str, movement: int) -> Answered:
        """Return the records that tell just this of the witness."""
        return _answered(self.told.get(answer_to(difference, siglum, movement), ()))

    def to_bars(self, difference: BarDifference, siglum: str, movement: int) -> Answered:
        """Return the records that name the witness at bars that one side lacks, on any staff.

        All missing bars lie in one place; of added ones the place holds the bar before. A record
        about the bar after them speaks of them only where it gives the reading itself, or where
        there is no bar before.
        """
        if difference.text:
            of_bars = [self.bars.get((siglum, movement, bar), []) for bar in difference.text]
            common = set.intersection(*({one.record for one in of_bar} for of_bar in of_bars))
            return _answered((one.record, one.status) for one in of_bars[0] if one.record in common)
        before = self.bars.get((siglum, movement, difference.after), [])
        following = self.bars.get((siglum, movement, difference.after + 1), [])
        following = [one for one in following if one.described or difference.after < 0]
        return _answered((one.record, one.status) for one in (*before, *following))


def answers(
    decisions: Iterable[Decision], collations: Collations, texts: Mapping[int, Passage]
) -> Answers:
    """Return what all records say, superseded ones aside. Linear in what they tell."""
    found = Answers()
    for decision in decisions:
        record = decision.filed.record
        if record.status is Status.SUPERSEDED or not isinstance(record, Reading | Emendation):
            continue
        for siglum, difference in _told(decision, record, collations, texts):
            key = answer_to(difference, siglum, decision.span.movement)
            found.told[key].append((decision.id, record.status))
        if not _speaks_of_bars(record):
            continue
        covered = tuple(_whole_bars(decision.span, texts[decision.span.movement]))
        for siglum, variant in _first_hand(record.readings):
            described = bool(variant.says) or variant.music is not None
            covering = _Covering(decision.id, record.status, described)
            for bar in covered:
                found.bars[siglum, decision.span.movement, bar].append(covering)
    return found


def _told(
    decision: Decision,
    record: Reading | Emendation,
    collations: Collations,
    texts: Mapping[int, Passage],
) -> Iterator[tuple[str, Difference]]:
    """Yield what a record tells of which witness, described readings included.

    A reading that is described, or has notes of its own, stands for all that the encoding has at
    the place. One of a later hand speaks of the encoding only if it was taken from there.
    """
    for comparison in decision.comparisons:
        if comparison.version.origin == "encoding":
            for siglum in comparison.version.witnesses:
                for difference in comparison.differences:
                    yield siglum, difference
    for siglum, variant in _first_hand(record.readings):
        collation = collations.get((siglum, decision.span.movement))
        if collation is not None and (variant.says or variant.music is not None):
            text = texts[decision.span.movement]
            version = witness_version(text, decision.span, collation.beside, siglum, None)
            if isinstance(version, Version):
                for difference in differences(text, decision.span, version):
                    if record.speaks_of(difference.kind, difference.change):
                        yield siglum, difference


def _speaks_of_bars(record: Reading | Emendation) -> bool:
    """Return whether the record is about whole bars too, not just about some kinds throughout."""
    return record.speaks_of(DifferenceKind.NOTES_MISSING, Change.MISSING) or record.speaks_of(
        DifferenceKind.NOTES_ADDED, Change.ADDED
    )


def _first_hand(variants: Sequence[Variant]) -> Iterator[tuple[str, Variant]]:
    for variant in variants:
        if variant.hand is None:
            for siglum in variant.witnesses:
                yield siglum, variant


def _answered(records: Iterable[tuple[str, Status]]) -> Answered:
    once = dict(records)
    return Answered(
        tuple(name for name, status in once.items() if status is Status.ACCEPTED),
        tuple(name for name, status in once.items() if status is Status.PROPOSED),
    )


def _whole_bars(span: Span, text: Passage) -> Iterator[int]:
    """Yield the bars that a place covers from first to last."""
    for bar in bars_of(span):
        begins = span.start.bar < bar or span.start.offset == Fraction(0)
        ends = span.end.bar > bar or span.end.offset >= text.bars[bar].filled
        if begins and ends:
            yield bar
