"""Fingerings written into the music: `fing` control events, one for each finger.

In come the sheet and a fingering record's decision. A digit the base text does not have stands in
`supplied` in its measure (a `fing` cannot name a source or a certainty, its wrapper can); one that
the base text has already is adopted, not doubled. MEI Guidelines 5.1, chapter 4.3 (fing) and 11.3.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping
from dataclasses import dataclass

from pipeline.collation.model import Decision
from pipeline.edition.fingers import Finger, Fingering
from pipeline.edition.head import Agent, Role
from pipeline.edition.layer import Layer, layer_of_agent
from pipeline.edition.records import FingeringAlternative, FingeringRecord
from pipeline.layers.sheet import Sheet, make
from pipeline.layers.supplied import supply
from pipeline.layers.tags import Provenance
from pipeline.score.mei_names import Element
from pipeline.score.model import Event, Marking, MarkingKind, NoteHead

SIDES = ("above", "below")
"""Where the alternatives that are printed stand: the first, the second; further ones below."""

_HARMONIC_ARTICULATIONS = frozenset({"harm", "flageolet"})


@dataclass(frozen=True)
class _Printed:
    """An alternative as it is printed: its number from 1, its side, who is responsible."""

    alternative: FingeringAlternative
    number: int
    side: str
    provenance: Provenance


def write_fingering(sheet: Sheet, decision: Decision, agents: Mapping[str, Agent]) -> None:
    """Write the alternatives that the record prints; the others stand in its annot only."""
    record = decision.filed.record
    assert isinstance(record, FingeringRecord)
    present = _present(sheet, decision)
    for printed in _printed(record, agents):
        holders: dict[int, Element] = {}
        string = ""
        entries = printed.alternative.fingers
        for event, entry in zip(decision.span.notes, entries, strict=False):
            for finger, head in _on_heads(entry, event):
                marking = _same_digit(present, event, head, finger)
                if marking is not None and record.composer_fingering == "kept":
                    _adopt(sheet, marking, record, agents, printed)
                else:
                    holder = _holder(sheet, holders, decision, record, printed, event)
                    holder.append(_digit(sheet, printed, finger, event, head))
            string = _write_string(sheet, decision, printed, event, entry, string, holders)
            _write_harmonic(sheet, decision, printed, event, entry)


def printed_alternatives(
    record: FingeringRecord,
) -> tuple[FingeringAlternative, ...]:
    """Return the alternatives the part shows, in the record's order of printing."""
    named = {one.name: one for one in record.alternatives}
    chosen = tuple(named[name] for name in record.printed if name in named)
    return chosen or record.alternatives[:1]


def _printed(record: FingeringRecord, agents: Mapping[str, Agent]) -> list[_Printed]:
    found = []
    for number, alternative in enumerate(printed_alternatives(record), start=1):
        agent = alternative.by or record.by
        side = SIDES[min(number, len(SIDES)) - 1]
        layer = layer_of_agent(agents[agent])
        found.append(_Printed(alternative, number, side, Provenance(record.id, layer, agent)))
    return found


def _on_heads(entry: Fingering, event: Event) -> list[tuple[Finger, NoteHead | None]]:
    """Pair fingers with the notes of a chord, lowest first; all on the one note otherwise.

    A stopped and a touching finger count as two where the chord has a note for each.
    """
    fingers: list[Finger] = []
    for finger in entry.fingers:
        fingers.append(finger)
        if finger.touched:
            fingers.append(Finger(digit=finger.touched))
    heads = sorted(event.heads, key=lambda head: head.pitch.midi)
    if len(heads) == len(fingers) > 1:
        return list(zip(fingers, heads, strict=True))
    return [(finger, None) for finger in fingers]


def _present(sheet: Sheet, decision: Decision) -> dict[str, list[Marking]]:
    """Return the fingerings that the base text has at the place, by the note they hang on."""
    passage = sheet.movement.passage
    found: dict[str, list[Marking]] = defaultdict(list)
    for bar in range(decision.span.start.bar, decision.span.end.bar + 1):
        for marking in passage.markings_in.get((decision.span.staff, bar), ()):
            if marking.kind is MarkingKind.FINGERING:
                found[marking.start_id or _key(marking)].append(marking)
    return found


def _key(marking: Marking) -> str:
    return f"{marking.start.bar}:{marking.start.offset}"


def _same_digit(
    present: Mapping[str, list[Marking]], event: Event, head: NoteHead | None, finger: Finger
) -> Marking | None:
    """Return the base text's own fingering of that note if it has that digit."""
    if head is not None:
        places = [head.xml_id]
    else:
        places = [event.xml_id, *(h.xml_id for h in event.heads)]
        places.append(f"{event.bar}:{event.onset}")
    for place in places:
        for marking in present.get(place, ()):
            if marking.content.strip() == finger.digit:
                return marking
    return None


def _adopt(
    sheet: Sheet,
    marking: Marking,
    record: FingeringRecord,
    agents: Mapping[str, Agent],
    printed: _Printed,
) -> None:
    """Tag the base text's own digit: it is the composer's, whoever keeps it."""
    composer = next((a for a, known in agents.items() if known.role is Role.COMPOSER), None)
    provenance = printed.provenance
    if composer is not None:
        provenance = Provenance(record.id, Layer.COMPOSER, composer)
    sheet.adopt(sheet.by_id[marking.xml_id], provenance, f"layer-{provenance.layer}")


def _holder(
    sheet: Sheet,
    holders: dict[int, Element],
    decision: Decision,
    record: FingeringRecord,
    printed: _Printed,
    event: Event,
) -> Element:
    """Return the `supplied` of this alternative in the event's measure."""
    if event.bar not in holders:
        holder = supply(sheet, decision, printed.provenance, reason=" ".join(record.purpose))
        holder.set("label", printed.alternative.name)
        sheet.measure(event.bar).append(holder)
        holders[event.bar] = holder
    return holders[event.bar]


def _digit(
    sheet: Sheet, printed: _Printed, finger: Finger, event: Event, head: NoteHead | None
) -> Element:
    fing = sheet.create(
        "fing",
        [printed.provenance],
        startid=f"#{head.xml_id if head else event.xml_id}",
        place=printed.side,
        n=str(printed.number),
        type=f"layer-{printed.provenance.layer}",
    )
    fing.text = finger.digit
    sheet.record(fing, [printed.provenance])
    return fing


def _write_string(
    sheet: Sheet,
    decision: Decision,
    printed: _Printed,
    event: Event,
    entry: Fingering,
    before: str,
    holders: dict[int, Element],
) -> str:
    """Write the string where it changes, as words: MEI has no place for it on a `fing`."""
    named = "+".join(f.string for f in entry.fingers if f.string)
    if named and named != before and not _says_string(sheet, event, named):
        record = decision.filed.record
        assert isinstance(record, FingeringRecord)
        words = sheet.create(
            "dir",
            [printed.provenance],
            startid=f"#{event.xml_id}",
            place=printed.side,
            n=str(printed.number),
            type=f"layer-{printed.provenance.layer} string",
        )
        rend = make("rend", fontstyle="italic")
        rend.text = named
        words.append(rend)
        _holder(sheet, holders, decision, record, printed, event).append(words)
        sheet.record(words, [printed.provenance])
    return named or before


def _says_string(sheet: Sheet, event: Event, string: str) -> bool:
    """Whether words of the base text over that note name the string already ("sul G")."""
    return any(
        marking.kind is MarkingKind.WORDS
        and marking.start == event.start
        and marking.content.split()[-1:] == [string]
        for marking in sheet.movement.passage.markings_in.get((event.staff, event.bar), ())
    )


def _write_harmonic(
    sheet: Sheet, decision: Decision, printed: _Printed, event: Event, entry: Fingering
) -> None:
    """Put the circle of a natural harmonic over a note that the base text does not mark as one."""
    if printed.number > 1 or not any(f.natural for f in entry.fingers):
        return
    marked = _HARMONIC_ARTICULATIONS & set(event.articulations)
    if marked or any(head.shape for head in event.heads):
        return
    holder = supply(sheet, decision, printed.provenance, reason="harmonic")
    circle = sheet.create(
        "artic",
        [printed.provenance],
        artic="harm",
        place="above",
        type=f"layer-{printed.provenance.layer}",
    )
    holder.append(circle)
    sheet.by_id[event.xml_id].append(holder)
    sheet.record(circle, [printed.provenance])
