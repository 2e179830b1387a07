"""Readings and emendations of notes written into the music: `app` or `choice` around the run.

In come the sheet of a movement and its decisions; afterwards the text's notes of each segment stand
in a `lem` (or `corr`), what each version has in a `rdg` (or `sic`) beside it, given once however
many witnesses have it. MEI Guidelines 5.1, chapter 11.1 (critical apparatus) and 11.3 (choice).
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field, replace

from pipeline.collation.model import Difference, DifferenceKind
from pipeline.edition.layer import Layer
from pipeline.layers.names import Names
from pipeline.layers.remaining import Exact, Run, says_its_sound
from pipeline.layers.segments import (
    AddedBar,
    Claim,
    Segment,
    Spot,
    children_around,
    common_containers,
    settle,
    touched_blocks,
)
from pipeline.layers.sheet import Sheet, children, make, wrap
from pipeline.layers.strands import Events, Strand, counterpart, voice_of
from pipeline.layers.tellings import Told
from pipeline.score.mei_names import XML_ID, Element, tag
from pipeline.score.model import Event

Witnesses = list[tuple[str, str | None]]

ENCODED = "encoded"
"""Second word of the `type` of a later hand's reading that the witness's encoding has."""


@dataclass
class Fork:
    """A place in the music where versions part: the wrapper and who has which branch.

    `strand_of` says, for each witness (siglum, later hand) that has another reading here, whose
    music it is. `notes` are the xml:ids of the text inside the lemma.
    """

    wrapper: Element
    claims: list[Claim]
    strand_of: dict[tuple[str, str | None], Strand]
    notes: frozenset[str] = frozenset()


@dataclass
class Woven:
    """What was woven into a movement, for the signs that hang on its notes.

    `exact` holds the comparison of each whole encoding, by the identity of its strand.
    """

    forks: list[Fork] = field(default_factory=list)
    copies: list[tuple[Strand, Element]] = field(default_factory=list)
    added_bars: list[AddedBar] = field(default_factory=list)
    exact: dict[int, Exact] = field(default_factory=dict)


def weave_notes(sheet: Sheet, told: Told) -> Woven:
    """Write every difference of notes into the music, told or not."""
    woven = Woven()
    dirty: dict[Spot, list[tuple[int, int, Claim]]] = defaultdict(list)
    known: dict[tuple[str, int], dict[Spot, set[Run]]] = defaultdict(lambda: defaultdict(set))
    for telling in told.tellings:
        claim, staff = telling.claim, telling.claim.strand.text_staff
        events = [_events_concerned(sheet, claim, d) for d in telling.differences]
        ranges, added = touched_blocks(claim, events, staff)
        for spot, blocks in ranges.items():
            dirty[spot] += [(start, end, claim) for start, end in blocks]
            if claim.strand.version.beside is not None:
                for siglum in claim.witnesses:
                    known[siglum, staff][spot].update(blocks)
        woven.added_bars += [AddedBar(claim, telling.last, bar) for bar in added]
    for strand in told.strands:
        of_witness = known[strand.version.witnesses[0], strand.text_staff]
        exact = woven.exact[id(strand)] = Exact(sheet, strand)
        for spot, (start, end) in exact.differing(of_witness):
            dirty[spot].append((start, end, told.claim_at(strand, spot.bar)))
    for spot in sorted(dirty, key=lambda s: (s.bar, s.staff, s.voice)):
        for segment in settle(sheet, spot, dirty[spot]):
            woven.forks.append(_weave(sheet, segment, woven))
    for strand, copy in woven.copies:
        strand.turn_references(copy)
    return woven


def _events_concerned(sheet: Sheet, claim: Claim, difference: Difference) -> tuple[Events, Events]:
    """Return the events of both sides; under an octave sign that differs, all that it shifts.

    They sound the same and are written an octave apart, so each side needs its own.
    """
    if difference.kind is not DifferenceKind.OCTAVE_SIGN:
        return difference.text.events, difference.reading.events
    passage = sheet.movement.passage
    shifted = tuple(
        event
        for bar in range(difference.start.bar, difference.end.bar + 1)
        for event in passage.events_in.get((difference.staff, bar), ())
        if difference.start <= event.start <= difference.end
    )
    return shifted, ()


def _weave(sheet: Sheet, segment: Segment, woven: Woven) -> Fork:
    text = voice_of(
        sheet.movement.passage, segment.spot.staff, segment.spot.bar, segment.spot.voice
    )[segment.start : segment.end]
    strand_of = strands_by_witness(segment.claims)
    readings: list[tuple[Witnesses, Sequence[Element]]] = []
    for witnesses, strands in _same_music(segment, strand_of):
        copies = _content(segment, strands, text)
        woven.copies += [(strands[0], copy) for copy in copies]
        readings.append((witnesses, copies))
    fork = open_fork(sheet, segment.claims, readings, _run(sheet, segment, text))
    _place(sheet, segment, text, fork)
    inside = frozenset(
        one.get(XML_ID, "") for one in branch_of_text(fork).iter() if isinstance(one.tag, str)
    )
    return Fork(fork, segment.claims, strand_of, inside)


def strands_by_witness(claims: Iterable[Claim]) -> dict[tuple[str, str | None], Strand]:
    """Return whose music each witness has: its own encoding if it is known, else what was said."""
    found: dict[tuple[str, str | None], Strand] = {}
    own: set[tuple[str, str | None]] = set()
    for claim in claims:
        for siglum in claim.witnesses:
            key = (siglum, claim.hand)
            of_its_own = claim.strand.version.witnesses[:1] == (siglum,)
            if key not in found or (of_its_own and key not in own):
                found[key] = claim.strand
            if of_its_own:
                own.add(key)
    return found


def _same_music(
    segment: Segment, strand_of: dict[tuple[str, str | None], Strand]
) -> list[tuple[Witnesses, list[Strand]]]:
    """Group the witnesses that have the same notes here and the same hand."""
    groups: dict[object, tuple[Witnesses, list[Strand]]] = {}
    for witness, strand in strand_of.items():
        music = tuple(_written(event, strand) for event in segment.version_events(strand))
        witnesses, strands = groups.setdefault((music, witness[1]), ([], []))
        witnesses.append(witness)
        if strand not in strands:
            strands.append(strand)
    return list(groups.values())


def _written(event: Event, strand: Strand) -> tuple[object, ...]:
    """Return what an event is, sounding and written, without what only its file knows.

    A tie by attribute and an alteration that is only sounding stand for themselves in any music; a
    tie by element, or an accidental of a note before, does not come along with the note.
    """
    heads = tuple(
        (
            h.pitch,
            strand.by_id[h.xml_id].get("oct"),
            h.accidental,
            h.shape,
            h.tie,
            strand.by_id[h.xml_id].get("tie"),
            says_its_sound(strand.by_id[h.xml_id]),
        )
        for h in event.heads
    )
    return (
        event.kind, event.written, event.duration, event.tuplet, event.grace,
        tuple(sorted(event.articulations)), heads, strand.by_id[event.xml_id].get("tie"),
    )  # fmt: skip


def _content(segment: Segment, strands: Sequence[Strand], text: Events) -> list[Element]:
    """Return copies of the music of the first strand; the others learn which copy is theirs."""
    first = strands[0]
    events = segment.version_events(first)
    if not events:
        return []
    elements = [first.by_id[e.xml_id] for e in events]
    if not text:
        layer = next(elements[0].iterancestors(tag("layer")))
        nodes = [layer]
    else:
        container = common_containers(elements)[segment.depth]
        start, end = children_around(container, elements)
        nodes = [n for n in children(container)[start : end + 1] if isinstance(n.tag, str)]
    copies = first.copies(nodes)
    if not text:
        copies[0].set("n", str(segment.spot.voice))
    for other in strands[1:]:
        for own, theirs in zip(events, segment.version_events(other), strict=True):
            for xml_id in (theirs.xml_id, *(h.xml_id for h in theirs.heads)):
                copied = first.copied[counterpart(theirs, xml_id, own)]
                other.copied.setdefault(xml_id, copied)
    return copies


def _place(sheet: Sheet, segment: Segment, text: Events, fork: Element) -> None:
    """Put the fork around the text's run, or where a voice would stand that the text lacks.

    A bar of the text may have no staff of that number at all.
    """
    run = _run(sheet, segment, text)
    if run:
        wrap(run, fork, branch_of_text(fork))
        return
    staff = sheet.staff(segment.spot.bar, segment.spot.staff)
    if staff is not None:
        staff.append(fork)
        return
    for branch in children(fork):
        if len(branch):
            around = make("staff", n=str(segment.spot.staff))
            around.extend(children(branch))
            branch.append(around)
    sheet.measure(segment.spot.bar).append(fork)


def _run(sheet: Sheet, segment: Segment, text: Events) -> list[Element]:
    """Return the children of the text's container that the segment covers."""
    if not text:
        return []
    elements = [sheet.by_id[e.xml_id] for e in text]
    container = common_containers(elements)[segment.depth]
    start, end = children_around(container, elements)
    return children(container)[start : end + 1]


def open_fork(
    sheet: Sheet,
    claims: Sequence[Claim],
    readings: Sequence[tuple[Witnesses, Sequence[Element]]],
    run: Sequence[Element],
) -> Element:
    """Return an `app`, or a `choice` where all of it is emendation, with an empty text branch.

    `readings` come with the witnesses (siglum, later hand) that have them; `run` is what the text
    has, still in its place.
    """
    provenances = list(dict.fromkeys(c.provenance for c in claims))
    # A `sic` cannot name the hand that wrote it, a `rdg` can; neither `sic` nor `corr` may hold the
    # `app` that a text or a version has of its own.
    held = [*run, *(node for _, nodes in readings for node in nodes)]
    only_emended = all(c.emendation and c.hand is None for c in claims) and not any(
        True for node in held for _ in node.iter(tag("app"))
    )
    fork = sheet.create("choice" if only_emended else "app", provenances)
    if only_emended:
        certainties = {c.certainty for c in claims}
        only = certainties.pop() if len(certainties) == 1 else ""
        branch = sheet.create("corr", provenances, cert=only)
    else:
        branch = sheet.create("lem", [replace(p, layer=Layer.TEXT) for p in provenances])
        set_sources(branch, sheet.names, _lemma_witnesses(claims, readings))
    fork.append(branch)
    for witnesses, nodes in readings:
        fork.append(_reading(sheet, claims, only_emended, witnesses, nodes))
    sheet.record(fork, provenances)
    return fork


def _reading(
    sheet: Sheet,
    claims: Sequence[Claim],
    only_emended: bool,
    witnesses: Witnesses,
    nodes: Sequence[Element],
) -> Element:
    claims_here = [
        c for c in claims if any((siglum, c.hand) in witnesses for siglum in c.witnesses)
    ]
    provenances = list(dict.fromkeys(c.provenance for c in claims_here))
    reading = sheet.create("sic" if only_emended else "rdg", provenances)
    reading.set("type", "layer-witness")
    hand = witnesses[0][1]
    if hand is not None and all(c.strand.version.beside is not None for c in claims_here):
        reading.set("type", f"layer-witness {ENCODED}")
    set_sources(reading, sheet.names, [siglum for siglum, _ in witnesses])
    if hand is not None and not only_emended:
        hands = [sheet.names.hand(siglum, hand) for siglum, _ in witnesses]
        reading.set("hand", " ".join(f"#{one}" for one in hands))
    for node in nodes:
        reading.append(node)
    return reading


def _lemma_witnesses(
    claims: Sequence[Claim], readings: Sequence[tuple[Witnesses, object]]
) -> list[str]:
    """Return the witnesses that have the text, less those that have another reading here."""
    otherwise = {w for witnesses, _ in readings for w, hand in witnesses if hand is None}
    return list(dict.fromkeys(w for c in claims for w in c.lemma if w not in otherwise))


def set_sources(element: Element, names: Names, sigla: Sequence[str]) -> None:
    """Name the witnesses; nothing is written where there is none."""
    if sigla:
        element.set("source", " ".join(f"#{names.witness(s)}" for s in dict.fromkeys(sigla)))


def branch_of_text(fork: Element) -> Element:
    """Return the branch that holds the text: `lem` or `corr`, always the first."""
    return fork[0]
