"""The forks of signs while they are gathered: what the text has, what each witness has instead.

Every sign of a version is placed once: beside the text's sign where it is in the same bar, else in
a fork of its own, with an empty lemma, that witnesses with the same sign share.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field

from lxml import etree

from pipeline.collation.model import Difference
from pipeline.layers.beats import keep_in_place
from pipeline.layers.segments import Claim
from pipeline.layers.sheet import Sheet
from pipeline.layers.strands import Strand
from pipeline.score.mei_names import XML_ID, Element, local
from pipeline.score.model import Marking

Witness = tuple[str, str | None]
"""A siglum, and the later hand in it where it is one."""

_WITHOUT_MEANING = frozenset({XML_ID, "curvedir", "place"})
"""What may differ between signs that are the same: the side of the staff carries no meaning."""

_HOLDS_SIGNS = frozenset({"measure", "staff"})


@dataclass(frozen=True)
class Piece:
    """A copy of a version's sign; `bar` is the text's bar that its beat is counted in, if it is."""

    xml_id: str
    bar: int | None
    element: Element


@dataclass
class SignFork:
    """One sign of the text, or the place of one it lacks, with what versions have instead."""

    anchor: Element | None
    bar: int
    claims: list[Claim] = field(default_factory=list)
    contents: dict[Witness, list[Element]] = field(default_factory=dict)

    def touch(self, claim: Claim) -> None:
        """Note that the witnesses of a claim have something else here, or nothing."""
        if claim not in self.claims:
            self.claims.append(claim)
        for siglum in claim.witnesses:
            self.contents.setdefault((siglum, claim.hand), [])


class Loom:
    """The forks of signs while they are gathered; every sign of a version is placed once."""

    def __init__(self, sheet: Sheet) -> None:
        self._sheet = sheet
        self._forks: dict[object, SignFork] = {}
        self._placed: set[tuple[Witness, str]] = set()
        self._hands: dict[str | None, None] = {None: None}

    def at(self, sign: Element) -> SignFork:
        """Return the fork around a sign of the text."""
        return self._forks.setdefault(id(sign), SignFork(sign, self.bar_of(sign)))

    def forks(self) -> list[SignFork]:
        """Return all forks in the order in which they were opened."""
        return list(self._forks.values())

    def take(self, claim: Claim, difference: Difference) -> None:
        """Take in what a claim says of one sign."""
        anchors = [
            anchor
            for marking in difference.text.markings
            if (anchor := self.anchor(marking)) is not None
            and claim.strand.has(self.bar_of(anchor))
        ]
        homes = [self.at(anchor) for anchor in dict.fromkeys(anchors)]
        for home in homes:
            home.touch(claim)
        for piece in self.pieces(claim.strand, difference.reading.markings):
            self.place(claim, piece, homes, difference.start.bar)

    def place_counterparts(
        self, claim: Claim, siglum: str, home: SignFork, pieces: Sequence[Piece]
    ) -> None:
        """Take in what one witness of a claim has for a sign that hangs on notes of a lemma."""
        witness = (siglum, claim.hand)
        if claim not in home.claims:
            home.claims.append(claim)
        home.contents[witness] = []
        for piece in pieces:
            if (witness, piece.xml_id) not in self._placed:
                self._note(witness, piece)
                home.contents[witness].append(piece.element)

    def place(self, claim: Claim, piece: Piece, homes: Sequence[SignFork], otherwise: int) -> None:
        """Put a sign beside the text's sign if it is in its bar, else into its own."""
        home = next((h for h in homes if piece.bar in {None, h.bar}), None)
        for siglum in claim.witnesses:
            witness = (siglum, claim.hand)
            if (witness, piece.xml_id) in self._placed:
                continue
            self._note(witness, piece)
            there = home or self._without_lemma(witness, piece, otherwise)
            there.touch(claim)
            there.contents[witness].append(piece.element)

    def anchor(self, marking: Marking) -> Element | None:
        """Return the element of the text to wrap for one of its signs."""
        return anchor_of(self._sheet.by_id.get(marking.xml_id))

    def pieces(self, strand: Strand, markings: Iterable[Marking]) -> list[Piece]:
        """Return copies of a version's signs, whole bars that only it has left out."""
        anchors = [anchor_of(strand.by_id.get(m.xml_id)) for m in markings]
        pieces = []
        for anchor in dict.fromkeys(anchors):
            own = None if anchor is None else strand.music.bar_of(anchor)
            bar = None if own is None else strand.text_bar(own)
            if anchor is None or (bar is None and strand.whole):
                continue
            (copy,) = strand.copies([anchor])
            strand.turn_references(copy)
            if strand.whole and own is not None and bar is not None:
                keep_in_place(self._sheet, strand, anchor, copy, (own, bar))
            timed = any("tstamp" in one.attrib for one in copy.iter(etree.Element))
            pieces.append(Piece(anchor.get(XML_ID, ""), bar if timed else None, copy))
        return pieces

    def is_touched(self, sign: Element, witness: str) -> bool:
        """Whether a witness, or a later hand in it, has something else than that sign."""
        fork = self._forks.get(id(sign))
        return fork is not None and any(siglum == witness for siglum, _ in fork.contents)

    def is_placed(self, xml_id: str, strand: Strand) -> bool:
        """Whether a sign of a whole encoding is in the music, for its witness or a hand in it."""
        return any(
            ((strand.version.witnesses[0], hand), xml_id) in self._placed for hand in self._hands
        )

    def _note(self, witness: Witness, piece: Piece) -> None:
        self._placed.add((witness, piece.xml_id))
        self._hands.setdefault(witness[1])

    def _without_lemma(self, witness: Witness, piece: Piece, otherwise: int) -> SignFork:
        """Return the fork for a sign the text lacks; like signs of two witnesses share one."""
        bar = otherwise if piece.bar is None else piece.bar
        turn = 0
        while True:
            key = (bar, signature(piece.element), turn)
            fork = self._forks.setdefault(key, SignFork(None, bar))
            if not fork.contents.get(witness):
                return fork
            turn += 1

    def bar_of(self, sign: Element) -> int:
        """Return the text's bar in whose measure a sign of the text stands."""
        measure = self._sheet.measure_around(sign)
        return -1 if measure is None else self._sheet.bar_of_measure.get(measure, -1)


def anchor_of(element: Element | None) -> Element | None:
    """Return the element to wrap: the child of the measure (or staff) that the sign stands in."""
    while element is not None:
        parent = element.getparent()
        if parent is None or local(element) in {"note", "chord", "layer"}:
            return None
        if local(parent) in _HOLDS_SIGNS:
            return element
        element = parent
    return None


def signature(element: Element) -> str:
    """Return what a sign is, without the ids that only its file knows."""
    parts = []
    for one in element.iter(etree.Element):
        attributes = sorted((k, v) for k, v in one.attrib.items() if k not in _WITHOUT_MEANING)
        parts.append(f"{one.tag}{attributes}{(one.text or '').strip()}")
    return "".join(parts)
