"""Ties that notes carry as attributes: which notes they join, and elements in their place.

MEI allows both (Guidelines 5.1, chapter 4.3.4). A copy whose tie is an attribute would say nothing
to a note that stays the text's, and that note nothing to it, where the text writes elements.
"""

from __future__ import annotations

from collections.abc import Mapping

from pipeline.layers.sheet import drop_attribute, make
from pipeline.score.mei_names import XML_ID, Element, tag
from pipeline.score.model import Event, Marking, MarkingKind, NoteHead, Passage


def ties_by_attribute(passage: Passage, by_id: Mapping[str, Element]) -> tuple[Marking, ...]:
    """Return the ties between notes that both carry it as an attribute, in the order they begin.

    Each gets the first note's id with `-tie` after it. A note is joined to the next one of its
    pitch on the staff that says it is tied from before, of its own voice if there is one.
    """
    begun: dict[tuple[object, ...], tuple[Event, NoteHead]] = {}
    found: list[Marking] = []
    for event in sorted(passage.events, key=lambda e: (e.bar, e.onset, not e.grace)):
        for head in event.heads:
            written = _written(by_id, event, head)
            place = (event.staff, head.pitch)
            if written in {"m", "t"}:
                first = begun.pop((*place, event.voice), None)
                for key in [k for k in begun if k[:2] == place] if first is None else ():
                    first = first or begun.pop(key)
                if first is not None:
                    found.append(_tie(*first, event, head))
            if written in {"i", "m"}:
                begun[(*place, event.voice)] = (event, head)
    return tuple(sorted(found, key=lambda tie: tie.start))


def ties_as_elements(passage: Passage, by_id: dict[str, Element]) -> tuple[Marking, ...]:
    """Put `tie` elements in place of the attributes in a tree; return their markings.

    An attribute of a note that is joined to no other stays.
    """
    ties = ties_by_attribute(passage, by_id)
    for tie in ties:
        element = make("tie", startid=f"#{tie.start_id}", endid=f"#{tie.end_id}")
        element.set(XML_ID, tie.xml_id)
        measure = next(by_id[tie.start_id].iterancestors(tag("measure")))
        measure.append(element)
        by_id[tie.xml_id] = element
    for tie in ties:
        for xml_id in (tie.start_id, tie.end_id):
            for one in (by_id[xml_id], by_id[passage.by_id[xml_id].xml_id]):
                drop_attribute(one, "tie")
    return ties


def _written(by_id: Mapping[str, Element], event: Event, head: NoteHead) -> str:
    own = by_id[head.xml_id].get("tie", "")
    return (own or by_id[event.xml_id].get("tie", ""))[:1]


def _tie(first: Event, begun: NoteHead, last: Event, ended: NoteHead) -> Marking:
    return Marking(
        f"{begun.xml_id}-tie", MarkingKind.TIE, first.staff, first.start, last.start,
        begun.xml_id, ended.xml_id,
    )  # fmt: skip
