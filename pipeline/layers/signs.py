"""Signs that versions have otherwise: `app` or `choice` around control events in their measure.

In come the sheet, the claims and what was woven of the notes. A sign that hangs on a note of the
text inside a lemma is given once more for every version that has other notes there, hung on that
version's notes, so that each branch is whole. MEI Guidelines 5.1, chapters 4.3 and 11.1.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from copy import deepcopy

from lxml import etree

from pipeline.layers.loom import Loom, Piece, SignFork, anchor_of, signature
from pipeline.layers.readings import Witnesses, Woven, open_fork, strands_by_witness
from pipeline.layers.remaining import Exact
from pipeline.layers.sheet import Sheet, wrap
from pipeline.layers.standing import Standing, standing
from pipeline.layers.strands import Strand, references_of, voice_of
from pipeline.layers.tellings import Told
from pipeline.score.identifiers import referred
from pipeline.score.mei_names import XML_ID, Element, local
from pipeline.score.model import Event, Marking, Moment


def weave_signs(sheet: Sheet, told: Told, woven: Woven) -> None:
    """Write every difference of signs into the music, told or not.

    What hangs on notes of a lemma is given with them; then the text's sign is made to stand for a
    whole encoding's exactly where it is the same.
    """
    loom = Loom(sheet)
    own = {key: _signs_of(sheet, loom, exact) for key, exact in woven.exact.items()}
    for telling in told.tellings:
        for difference in telling.differences:
            if not difference.text.events and not difference.reading.events:
                loom.take(telling.claim, difference)
    _take_hanging(sheet, loom, woven, own)
    for strand in told.strands:
        _take_the_rest(loom, told, strand, own[id(strand)])
    for fork in loom.forks():
        _write(sheet, fork)


def _signs_of(sheet: Sheet, loom: Loom, exact: Exact) -> Standing:
    """Compare the signs of the text with those of an encoding in the bars that both have."""
    strand = exact.strand
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
    return standing(exact, text, own)


def _take_the_rest(loom: Loom, told: Told, strand: Strand, signs: Standing) -> None:
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
            own = None if theirs is None else anchor_of(strand.by_id.get(theirs.xml_id))
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


def _take_hanging(
    sheet: Sheet, loom: Loom, woven: Woven, own_signs: Mapping[int, Standing]
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


def _counterparts(sheet: Sheet, loom: Loom, sign: Element, strand: Strand) -> list[Piece]:
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
    return [Piece(sign.get(XML_ID, ""), None, _hung_on_fragment(sheet, sign, strand))]


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


def _write(sheet: Sheet, sign_fork: SignFork) -> None:
    groups: dict[object, tuple[Witnesses, Sequence[Element]]] = {}
    for witness, elements in sign_fork.contents.items():
        key = (witness[1], tuple(signature(e) for e in elements))
        groups.setdefault(key, ([], elements))[0].append(witness)
    run = [] if sign_fork.anchor is None else [sign_fork.anchor]
    fork = open_fork(sheet, sign_fork.claims, list(groups.values()), run)
    if sign_fork.anchor is None:
        sheet.measure(sign_fork.bar).append(fork)
    else:
        wrap([sign_fork.anchor], fork, fork[0])
