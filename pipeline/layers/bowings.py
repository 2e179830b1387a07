"""Bowings written into the music: the slur stays as it is, signs and dashed slurs are supplied.

In come the sheet and a bowing record's decision. A bow sign is an `artic` in `supplied` in its
note; strokes taken in one bow get a dashed slur; a slur that is divided is tagged and stays, and
the record's annot says after which notes. MEI Guidelines 5.1, chapters 4.2.5 and 4.3.
"""

from __future__ import annotations

from collections.abc import Mapping

from pipeline.collation.model import Decision
from pipeline.edition.head import Agent
from pipeline.edition.layer import layer_of_agent
from pipeline.edition.records import Bowing, BowingAlternative
from pipeline.layers.fingerings import SIDES
from pipeline.layers.sheet import Sheet
from pipeline.layers.supplied import supply
from pipeline.layers.tags import Provenance
from pipeline.score.mei_names import local
from pipeline.score.model import Event, Marking, MarkingKind
from pipeline.strings.bow import Direction
from pipeline.strings.bowing import in_effect

ARTICULATION = {Direction.DOWN: "dnbow", Direction.UP: "upbow"}
"""Bow signs as MEI data.ARTICULATION names them."""


def write_bowing(sheet: Sheet, decision: Decision, agents: Mapping[str, Agent]) -> None:
    """Write the alternatives that the record prints; the others stand in its annot only."""
    record = decision.filed.record
    assert isinstance(record, Bowing)
    carried_out = {one.bowed.alternative.name: one.bowed for one in decision.bowings}
    for number, alternative in enumerate(printed_bowings(record), start=1):
        agent = alternative.by or record.by
        provenance = Provenance(record.id, layer_of_agent(agents[agent]), agent)
        side = SIDES[min(number, len(SIDES)) - 1]
        signs = carried_out[alternative.name].signs
        _write_signs(sheet, decision, signs, provenance, number, side)
        _tag_divided_slurs(sheet, decision, alternative, provenance)
        if alternative.join:
            _write_join(sheet, decision, provenance, number, side)


def printed_bowings(record: Bowing) -> tuple[BowingAlternative, ...]:
    """Return the alternatives the part shows, in effect, in the record's order of printing."""
    named = {one.name: one for one in in_effect(record)}
    chosen = tuple(named[name] for name in record.printed if name in named)
    return chosen or tuple(named.values())[:1]


def _write_signs(
    sheet: Sheet,
    decision: Decision,
    signs: Mapping[int, Direction],
    provenance: Provenance,
    number: int,
    side: str,
) -> None:
    """Write the signs that the record has, and those that follow from them at its divisions."""
    notes = decision.span.notes
    for place, direction in signs.items():
        event, sign = notes[place - 1], ARTICULATION[direction]
        if sign in event.articulations:
            _adopt_sign(sheet, event, sign, provenance)
            continue
        holder = supply(sheet, decision, provenance, reason="bowing")
        artic = sheet.create(
            "artic",
            [provenance],
            artic=sign,
            place=side,
            n=str(number),
            type=f"layer-{provenance.layer}",
        )
        holder.append(artic)
        sheet.by_id[event.xml_id].append(holder)
        sheet.record(artic, [provenance])


def _adopt_sign(sheet: Sheet, event: Event, sign: str, provenance: Provenance) -> None:
    """Tag the bow sign that the base text has: its element, else the note that carries it."""
    note = sheet.by_id[event.xml_id]
    for one in note.iter():
        if local(one) == "artic" and sign in one.get("artic", "").split():
            sheet.adopt(one, provenance, f"layer-{provenance.layer}")
            return
    sheet.adopt(note, provenance, "bowing-kept")


def _tag_divided_slurs(
    sheet: Sheet, decision: Decision, alternative: BowingAlternative, provenance: Provenance
) -> None:
    notes = decision.span.notes
    tagged: list[str] = []
    for place in alternative.divide_after:
        if not 1 <= place < len(notes):
            continue  # the check names a note that is not there
        before, after = notes[place - 1], notes[place]
        for slur in _slurs(sheet, decision):
            if slur.xml_id in tagged or slur.xml_id not in sheet.by_id:
                continue
            if slur.start <= before.start and slur.end is not None and after.start <= slur.end:
                sheet.adopt(sheet.by_id[slur.xml_id], provenance, "slur-divided")
                tagged.append(slur.xml_id)
        sheet.ledger.note(decision.id, after.xml_id)


def _slurs(sheet: Sheet, decision: Decision) -> list[Marking]:
    """Return the slurs of the staff that begin or lie over the place."""
    passage, staff = sheet.movement.passage, decision.span.staff
    found: dict[str, Marking] = {}
    for bar in range(decision.span.start.bar, decision.span.end.bar + 1):
        for marking in passage.markings_in.get((staff, bar), ()):
            if marking.kind is MarkingKind.SLUR:
                found[marking.xml_id] = marking
    return list(found.values())


def _write_join(
    sheet: Sheet, decision: Decision, provenance: Provenance, number: int, side: str
) -> None:
    """Write a dashed slur over the place unless the base text has a slur over just that."""
    notes = decision.span.notes
    if len(notes) < 2 or notes[0].start == notes[-1].start:
        return  # what begins at once, in two voices, is one stroke without a slur
    first, last = notes[0], notes[-1]
    for slur in _slurs(sheet, decision):
        if slur.start == first.start and slur.end == last.start and slur.xml_id in sheet.by_id:
            sheet.adopt(sheet.by_id[slur.xml_id], provenance, f"layer-{provenance.layer}")
            return
    holder = supply(sheet, decision, provenance, reason="bowing")
    slur_element = sheet.create(
        "slur",
        [provenance],
        startid=f"#{first.xml_id}",
        endid=f"#{last.xml_id}",
        curvedir=side,
        lform="dashed",
        n=str(number),
        type=f"layer-{provenance.layer}",
    )
    holder.append(slur_element)
    sheet.measure(first.bar).append(holder)
    sheet.record(slur_element, [provenance])
