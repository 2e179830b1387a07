"""Signs that versions have otherwise: `app` or `choice` around control events in their measure.

In come the sheet, the claims and what was woven of the notes. A sign that hangs on a note of the
text inside a lemma is given once more for every version that has other notes there, hung on that
version's notes, so that each branch is whole. MEI Guidelines 5.1, chapters 4.3 and 11.1.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from copy import deepcopy
from dataclasses import dataclass, field

from lxml import etree

from pipeline.collation.model import Difference, Side
from pipeline.layers.beats import keep_in_place
from pipeline.layers.readings import Witnesses, Woven, open_fork, strands_by_witness
from pipeline.layers.remaining import Exact
from pipeline.layers.segments import Claim
from pipeline.layers.sheet import Sheet, wrap
from pipeline.layers.standing import Standing, standing
from pipeline.layers.strands import Strand, references_of, voice_of
from pipeline.layers.tellings import Told
from pipeline.score.identifiers import referred
from pipeline.score.mei_names import XML_ID, Element, local
from pipeline.score.model import Event, Marking, Moment

Witness = tuple[str, str | None]
"""A siglum, and the later hand in it where it is one."""

_WITHOUT_MEANING = frozenset({XML_ID, "curvedir", "place"})
"""What may differ between signs that are the same: the side of the staff carries no meaning."""

_HOLDS_SIGNS = frozenset({"measure", "staff"})


@dataclass(frozen=True)
class _Piece:
    """A copy of a version's sign; `bar` is the text's bar that its beat is counted in, if it is."""

    xml_id: str
    bar: int | None
    element: Element


@dataclass
class _SignFork:
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


class _Loom:
    """The forks of signs while they are gathered; every sign of a version is placed once."""

    def __init__(self, sheet: Sheet) -> None:
        self._sheet = sheet
        self._forks: dict[object, _SignFork] = {}
        self._placed: set[tuple[Witness, str]] = set()
        self._hands: dict[str | None, None] = {None: None}

    def at(self, sign: Element) -> _SignFork:
        """Return the fork around a sign of the text."""
        return self._forks.setdefault(id(sign), _SignFork(sign, self.bar_of(sign)))

    def forks(self) -> list[_SignFork]:
        """Return all forks in the order in which they were opened."""
        return list(self._forks.values())

    def take(self, claim: Claim, difference: Difference) -> None:
        """Take in what a claim says of one sign."""
        anchors = [
            anchor
            for marking in _markings(difference.text)
            if (anchor := self.anchor(marking)) is not None
            and claim.strand.has(self.bar_of(anchor))
        ]
        homes = [self.at(anchor) for anchor in dict.fromkeys(anchors)]
        for home in homes:
            home.touch(claim)
        for piece in self.pieces(claim.strand, _markings(difference.reading)):
            self.place(claim, piece, homes, difference.start.bar)

    def place_counterparts(
        self, claim: Claim, siglum: str, home: _SignFork, pieces: Sequence[_Piece]
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

    def place(
        self, claim: Claim, piece: _Piece, homes: Sequence[_SignFork], otherwise: int
    ) -> None:
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
        return _anchor(self._sheet.by_id.get(marking.xml_id))

    def pieces(self, strand: Strand, markings: Iterable[Marking]) -> list[_Piece]:
        """Return copies of a version's signs, whole bars that only it has left out."""
        anchors = [_anchor(strand.by_id.get(m.xml_id)) for m in markings]
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
            pieces.append(_Piece(anchor.get(XML_ID, ""), bar if timed else None, copy))
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

    def _note(self, witness: Witness, piece: _Piece) -> None:
        self._placed.add((witness, piece.xml_id))
        self._hands.setdefault(witness[1])

    def _without_lemma(self, witness: Witness, piece: _Piece, otherwise: int) -> _SignFork:
        """Return the fork for a sign the text lacks; like signs of two witnesses share one."""
        bar = otherwise if piece.bar is None else piece.bar
        turn = 0
        while True:
            key = (bar, _signature(piece.element), turn)
            fork = self._forks.setdefault(key, _SignFork(None, bar))
            if not fork.contents.get(witness):
                return fork
            turn += 1

    def bar_of(self, sign: Element) -> int:
        """Return the text's bar in whose measure a sign of the text stands."""
        measure = self._sheet.measure_around(sign)
        return -1 if measure is None else self._sheet.bar_of_measure.get(measure, -1)


def weave_signs(sheet: Sheet, told: Told, woven: Woven) -> None:
    """Write every difference of signs into the music, told or not."""
    loom = _Loom(sheet)
    own = {id(strand): _signs_of(sheet, loom, strand) for strand in told.strands}
    for telling in told.tellings:
        for difference in telling.differences:
            if not difference.text.events and not difference.reading.events:
                loom.take(telling.claim, difference)
    _take_hanging(sheet, loom, woven, own)
    for strand in told.strands:
        _take_the_rest(loom, told, strand, own[id(strand)])
    for fork in loom.forks():
        _write(sheet, fork)


def _signs_of(sheet: Sheet, loom: _Loom, strand: Strand) -> Standing:
    """Compare the signs of the text with those of an encoding in the bars that both have."""
    text = [
        (marking, loom.bar_of(anchor))
        for marking in sheet.markings.values()
        if marking.staff == strand.text_staff
        and (anchor := loom.anchor(marking)) is not None
        and strand.has(loom.bar_of(anchor))
    ]
    own = [
        marking
        for marking in strand.music.markings.values()
        if marking.staff == strand.version.staff
        and (element := strand.by_id.get(marking.xml_id)) is not None
        and (bar := strand.music.bar_of(element)) is not None
        and strand.text_bar(bar) is not None
    ]
    return standing(Exact(sheet, strand), text, own)


def _take_the_rest(loom: _Loom, told: Told, strand: Strand, signs: Standing) -> None:
    """Let the text's sign stand for the witness's exactly where it is the same and nothing else."""
    (siglum,) = strand.version.witnesses
    todo = True
    while todo:
        todo = False
        for ours, theirs in (
            *signs.same,
            *((one, None) for one in signs.text),
            *((None, one) for one in signs.own),
        ):
            anchor = None if ours is None else loom.anchor(ours)
            own = None if theirs is None else _anchor(strand.by_id.get(theirs.xml_id))
            touched = anchor is None or loom.is_touched(anchor, siglum)
            placed = own is None or loom.is_placed(own.get(XML_ID, ""), strand)
            if touched == placed:
                continue
            todo = True
            bar = loom.bar_of(anchor) if anchor is not None else _bar_in_text(strand, own)
            claim = told.claim_at(strand, bar)
            if anchor is not None and not touched:
                loom.at(anchor).touch(claim)
            if theirs is not None and not placed:
                homes = [] if anchor is None else [loom.at(anchor)]
                for piece in loom.pieces(strand, [theirs]):
                    loom.place(claim, piece, homes, bar)


def _bar_in_text(strand: Strand, sign: Element | None) -> int:
    own = None if sign is None else strand.music.bar_of(sign)
    bar = None if own is None else strand.text_bar(own)
    return -1 if bar is None else bar


def _markings(side: Side) -> tuple[Marking, ...]:
    return side.parts or ((side.marking,) if side.marking is not None else ())


def _anchor(element: Element | None) -> Element | None:
    """Return the element to wrap: the child of the measure (or staff) that the sign stands in."""
    while element is not None:
        parent = element.getparent()
        if parent is None or local(element) in {"note", "chord", "layer"}:
            return None
        if local(parent) in _HOLDS_SIGNS:
            return element
        element = parent
    return None


def _take_hanging(
    sheet: Sheet, loom: _Loom, woven: Woven, own_signs: Mapping[int, Standing]
) -> None:
    if not woven.forks:
        return
    hanging = _hanging_signs(sheet)
    order = {id(sign): index for index, sign in enumerate(sheet.root.iter(etree.Element))}
    partners = {key: dict(_partners(signs)) for key, signs in own_signs.items()}
    for fork in woven.forks:
        signs = {id(sign): sign for note in fork.notes for sign in hanging.get(note, ())}
        for sign in sorted(signs.values(), key=lambda one: order[id(one)]):
            own = strands_by_witness(fork.claims)
            for claim in fork.claims:
                for siglum in claim.witnesses:
                    strand = own[siglum, claim.hand]
                    if not strand.has(loom.bar_of(sign)):
                        continue  # the sign goes with its bar
                    home = loom.at(sign)
                    if (siglum, claim.hand) in home.contents:
                        continue
                    if strand.whole:
                        known = partners[id(strand)]
                        mine = [known[i] for i in _markings_within(sheet, sign) if i in known]
                        pieces = loom.pieces(strand, mine)
                    else:
                        pieces = _counterparts(sheet, loom, sign, strand)
                    loom.place_counterparts(claim, siglum, home, pieces)


def _partners(signs: Standing) -> Iterator[tuple[str, Marking]]:
    for ours, theirs in signs.same:
        yield ours.xml_id, theirs


def _markings_within(sheet: Sheet, sign: Element) -> list[str]:
    """Return the xml:ids of the text's signs that an element is or holds."""
    return [i for e in sign.iter() if (i := e.get(XML_ID, "")) in sheet.markings]


def _hanging_signs(sheet: Sheet) -> dict[str, list[Element]]:
    """Return the signs beside the staves by the xml:ids that they are attached to."""
    found: dict[str, list[Element]] = {}
    for bar in sheet.movement.passage.bars:
        measure = sheet.by_id[bar.xml_id]
        for child in measure.iterchildren(etree.Element):
            if local(child) in {"staff", "ossia", "app", "choice"} or not local(child):
                continue
            for one in child.iter(etree.Element):
                for name in references_of(one):
                    for xml_id in referred(one.get(name, "")):
                        if child not in found.setdefault(xml_id, []):
                            found[xml_id].append(child)
    return found


def _counterparts(sheet: Sheet, loom: _Loom, sign: Element, strand: Strand) -> list[_Piece]:
    """Return the version's own sign of that kind at that place, hung on its own notes.

    A fragment gives only notes: the text's sign is then hung on the fragment's note of that time.
    """
    mine = [sheet.markings[xml_id] for xml_id in _markings_within(sheet, sign)]
    matched: list[Marking] = []
    for marking in mine:
        own = strand.own_bar(marking.start.bar)
        here = strand.passage.markings_in.get((strand.version.staff, own or 0), ())
        for other in here if own is not None else ():
            if other in matched or other.kind is not marking.kind:
                continue
            if _same_extent(strand, marking, other):
                matched.append(other)
                break
    if matched:
        return loom.pieces(strand, matched)
    if strand.version.origin == "encoding" and mine:
        return []
    return [_Piece(sign.get(XML_ID, ""), None, _hung_on_fragment(sheet, sign, strand))]


def _same_extent(strand: Strand, text: Marking, other: Marking) -> bool:
    if other.staff != strand.version.staff or text.content.split() != other.content.split():
        return False
    if _in_text(strand, other.start_id, other.start) != text.start:
        return False
    if text.end is None or other.end is None:
        return text.end is None and other.end is None
    return _in_text(strand, other.end_id, other.end) == text.end


def _in_text(strand: Strand, xml_id: str, moment: Moment) -> Moment | None:
    """Return the text's moment of a version's moment, by the note it hangs on if there is one."""
    same = strand.in_text(xml_id) if xml_id else None
    if same is not None:
        return strand.text.by_id[same].start
    return strand.moment_in_text(moment)


def _hung_on_fragment(sheet: Sheet, sign: Element, strand: Strand) -> Element:
    """Return a copy of the text's sign, hung on the version's notes where it hung on the text's."""
    copy = deepcopy(sign)
    copy.tail = None
    for one in copy.iter(etree.Element):
        xml_id = one.get(XML_ID)
        if xml_id is not None:
            owner = strand.owner or "-".join(strand.version.witnesses)
            one.set(XML_ID, sheet.names.music(xml_id, owner))
        for name in references_of(one):
            turned = [
                f"#{_note_at(sheet, strand, xml_id)}" for xml_id in referred(one.get(name, ""))
            ]
            if turned:
                one.set(name, " ".join(turned))
    return copy


def _note_at(sheet: Sheet, strand: Strand, xml_id: str) -> str:
    """Return the copy of the version's event at the time of one of the text's, else that one."""
    event = sheet.movement.passage.by_id.get(xml_id)
    if event is None:
        return xml_id
    line = strand.line(event.bar, event.voice)
    text = voice_of(sheet.movement.passage, event.staff, event.bar, event.voice)
    at = text.index(event)
    for block in line.blocks:
        if block.text_from <= at < block.text_to:
            candidates = [
                e
                for e in line.events[block.version_from : block.version_to]
                if e.xml_id in strand.copied
            ]
            if candidates:
                return strand.copied[_nearest(candidates, event).xml_id]
    return xml_id


def _nearest(candidates: Sequence[Event], event: Event) -> Event:
    return min(candidates, key=lambda e: (abs(e.onset - event.onset), e.grace))


def _write(sheet: Sheet, sign_fork: _SignFork) -> None:
    groups: dict[object, tuple[Witnesses, Sequence[Element]]] = {}
    for witness, elements in sign_fork.contents.items():
        key = (witness[1], tuple(_signature(e) for e in elements))
        groups.setdefault(key, ([], elements))[0].append(witness)
    run = [] if sign_fork.anchor is None else [sign_fork.anchor]
    fork = open_fork(sheet, sign_fork.claims, list(groups.values()), run)
    if sign_fork.anchor is None:
        sheet.measure(sign_fork.bar).append(fork)
    else:
        wrap([sign_fork.anchor], fork, fork[0])


def _signature(element: Element) -> str:
    """Return what a sign is, without the ids that only its file knows."""
    parts = []
    for one in element.iter(etree.Element):
        attributes = sorted((k, v) for k, v in one.attrib.items() if k not in _WITHOUT_MEANING)
        parts.append(f"{one.tag}{attributes}{(one.text or '').strip()}")
    return "".join(parts)
