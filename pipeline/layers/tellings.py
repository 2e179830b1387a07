"""What is told of each witness, and by whom: the decisions in force, and what none of them answers.

In come the decisions and the whole collations; out go tellings, each with the claim of a decision
or of nobody, and what it says of one version on one staff. A witness that is encoded has what its
encoding has, whoever tells it; music that a record gives for it stands for witnesses that are not.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property

from pipeline.collation.answers import Answers, Collations
from pipeline.collation.bars import bars_of
from pipeline.collation.collated import BarChange, BarDifference, Collation
from pipeline.collation.comparisons import answer_to
from pipeline.collation.differences import differences
from pipeline.collation.model import Comparison, Decision, Difference, Version
from pipeline.collation.versions import witness_version
from pipeline.edition.layer import Layer
from pipeline.edition.records import Emendation, Reading
from pipeline.layers.names import COLLATION, undecided
from pipeline.layers.segments import Claim
from pipeline.layers.sheet import Sheet
from pipeline.layers.strands import Strand, Strands
from pipeline.layers.tags import Provenance
from pipeline.score.model import Span


@dataclass(frozen=True)
class Telling:
    """What a claim says of its version on one staff; `last` is the last bar of the place."""

    claim: Claim
    differences: tuple[Difference, ...]
    last: int


@dataclass(frozen=True)
class BarTelling:
    """Whole bars that a witness lacks or has more: a claim for each staff that its encoding has."""

    difference: BarDifference
    claims: tuple[Claim, ...]


@dataclass
class Told:
    """All that is told of a movement; `strands` are those of whole encodings."""

    movement: int
    tellings: list[Telling] = field(default_factory=list)
    bars: list[BarTelling] = field(default_factory=list)
    strands: list[Strand] = field(default_factory=list)

    def claim_at(self, strand: Strand, bar: int) -> Claim:
        """Return a claim of the witness at a bar of the text on the strand's staff, else nobody's.

        It says on whose word the witness has what follows from a difference without being one.
        """
        return self._claims.get((id(strand), bar)) or claim_of_nobody(strand, self.movement)

    @cached_property
    def _claims(self) -> Mapping[tuple[int, int], Claim]:
        claims: dict[tuple[int, int], Claim] = {}
        for telling in self.tellings:
            if telling.claim.strand.whole:
                for d in telling.differences:
                    for bar in range(d.start.bar, d.end.bar + 1):
                        claims.setdefault((id(telling.claim.strand), bar), telling.claim)
        for told in self.bars:
            bars = told.difference.text or (told.difference.after,)
            for claim in told.claims:
                for bar in (bars[0] - 1, *bars, bars[-1] + 1):
                    claims.setdefault((id(claim.strand), bar), claim)
        return claims


def told_of(
    sheet: Sheet,
    decisions: Sequence[Decision],
    collations: Collations,
    said: Answers,
) -> Told:
    """Return what the decisions, which must be in force, tell of a movement, then what is open.

    `said` are the answers of the whole edition. Linear in the differences.
    """
    here = {siglum: c for (siglum, n), c in collations.items() if n == sheet.movement.n}
    teller = _Teller(sheet, here, said, {decision.id: decision for decision in decisions})
    for decision in decisions:
        teller.take(decision)
    for siglum in here:
        teller.take_the_rest(siglum)
    return teller.told


class _Teller:
    """Gathers tellings; every strand of an encoding is made, whether or not it differs."""

    def __init__(
        self,
        sheet: Sheet,
        collations: Mapping[str, Collation],
        said: Answers,
        decisions: Mapping[str, Decision],
    ) -> None:
        self.told = Told(sheet.movement.n)
        self._movement = sheet.movement
        self._collations = collations
        self._said = said
        self._decisions = decisions
        self._strands = Strands(sheet)
        self._exact: set[tuple[object, ...]] = set()
        self._whole: dict[tuple[str, int], Strand] = {}

    def take(self, decision: Decision) -> None:
        """Take in what a decision tells of the versions that it compares."""
        last = decision.span.end.bar - (0 if decision.span.end.offset else 1)
        for index, comparison in enumerate(decision.comparisons):
            version = comparison.version
            if version.origin == "encoding" and version.hand is None:
                for siglum in version.witnesses:
                    found = self._of_encoding(decision, comparison, siglum)
                    strand = self.strand(siglum, decision.span.staff)
                    self._tell(_claim(_provenance(decision), strand, decision), found, last)
                continue
            owner = version.hand if version.origin == "encoding" else f"{decision.id}.{index}"
            strand = self._strands.of(version, decision.span.staff, owner or "")
            strand.know_bars(decision, version)
            witnesses = tuple(
                siglum
                for siglum in version.witnesses
                if version.hand is not None or not self._encoded(siglum, decision.span)
            )
            if witnesses:
                claim = _claim(_provenance(decision), strand, decision)
                claim = replace(claim, witnesses=witnesses)
                self._tell(claim, comparison.differences, last)

    def take_the_rest(self, siglum: str) -> None:
        """Take in what a witness has otherwise and no decision tells in just that way."""
        collation = self._collations[siglum]
        for staff in collation.beside.staves:
            self.strand(siglum, staff)
        rest: dict[tuple[str, int], list[Difference]] = {}
        for difference in collation.differences:
            if answer_to(difference, siglum, self._movement.n) not in self._exact:
                answered = self._said.to(difference, siglum, self._movement.n).accepted
                for record in answered or ("",):
                    rest.setdefault((record, difference.staff), []).append(difference)
        for (record, staff), found in rest.items():
            last = found[-1].end.bar
            self._tell(self._claim_of(record, self.strand(siglum, staff)), tuple(found), last)
        for bars in (*collation.bars, *_bars_besides(collation)):
            answered = self._said.to_bars(bars, siglum, self._movement.n).accepted
            claims = [
                self._claim_of(record, self.strand(siglum, staff))
                for record in answered or ("",)
                for staff in collation.beside.staves
            ]
            self.told.bars.append(BarTelling(bars, tuple(claims)))

    def strand(self, siglum: str, staff: int) -> Strand:
        """Return the strand of a witness's whole encoding on a staff of the text."""
        if (siglum, staff) not in self._whole:
            beside = self._collations[siglum].beside
            version = Version(
                beside.passage, (), beside.staves[staff], "encoding", (siglum,), None, beside
            )
            self._whole[siglum, staff] = self._strands.of(version, staff, "")
            self.told.strands.append(self._whole[siglum, staff])
        return self._whole[siglum, staff]

    def _tell(self, claim: Claim, found: tuple[Difference, ...], last: int) -> None:
        self.told.tellings.append(Telling(claim, found, last))
        if claim.strand.version.beside is not None:  # a later hand in the encoding included
            for siglum in claim.witnesses:
                self._exact.update(answer_to(d, siglum, self._movement.n) for d in found)

    def _claim_of(self, record: str, strand: Strand) -> Claim:
        decision = self._decisions.get(record)
        if decision is None:
            return claim_of_nobody(strand, self._movement.n)
        return _claim(_provenance(decision), strand, decision)

    def _encoded(self, siglum: str, span: Span) -> bool:
        """Whether the witness's encoding holds the place."""
        collation = self._collations.get(siglum)
        if collation is None or span.staff not in collation.beside.staves:
            return False
        return all(bar in collation.beside.reading_bar for bar in bars_of(span))

    def _of_encoding(
        self, decision: Decision, comparison: Comparison, siglum: str
    ) -> tuple[Difference, ...]:
        """Return what is told of one of several witnesses that have the same, in its own music."""
        if comparison.version.witnesses[0] == siglum:
            return comparison.differences
        wanted = {answer_to(d, siglum, decision.span.movement) for d in comparison.differences}
        text, beside = self._movement.passage, self._collations[siglum].beside
        version = witness_version(text, decision.span, beside, siglum, None)
        if not isinstance(version, Version):
            return ()
        own = differences(text, decision.span, version)
        return tuple(d for d in own if answer_to(d, siglum, decision.span.movement) in wanted)


def _bars_besides(collation: Collation) -> Iterator[BarDifference]:
    """Yield bars that only one side has and that are no difference: one bar there is two here."""
    lacking = {bar for one in collation.bars for bar in one.text}
    adding = {bar for one in collation.bars for bar in one.reading}
    after = -1
    for pair in collation.beside.pairs:
        if pair.reading is None and pair.text is not None and pair.text not in lacking:
            yield BarDifference(BarChange.MISSING, after, text=(pair.text,))
        if pair.text is None and pair.reading is not None and pair.reading not in adding:
            yield BarDifference(BarChange.ADDED, after, reading=(pair.reading,))
        after = after if pair.text is None else pair.text


def _provenance(decision: Decision) -> Provenance:
    record = decision.filed.record
    return Provenance(record.id, decision.layer, record.by)


def claim_of_nobody(strand: Strand, movement: int) -> Claim:
    """Return the claim that a witness has something else, which no decision tells."""
    key = undecided(strand.version.witnesses[0], movement)
    return _claim(Provenance(key, Layer.WITNESS, COLLATION), strand)


def _claim(provenance: Provenance, strand: Strand, decision: Decision | None = None) -> Claim:
    record = decision.filed.record if decision is not None else None
    certainty = getattr(record, "certainty", None)
    return Claim(
        provenance,
        isinstance(record, Emendation),
        strand.version.witnesses,
        strand.version.hand,
        strand,
        record.lemma if isinstance(record, Reading) else (),
        certainty.value if certainty is not None else "",
    )
