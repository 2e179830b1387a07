"""The bowings of the records, carried out on the music of their places.

In come decisions, the texts and edition.yaml; out go the same decisions, each bowing with the
strokes, signs and figures of every alternative. What a staff asks of the bow is computed once.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import replace

from pipeline.collation.model import BowingPlayed, Decision
from pipeline.edition.head import EditionHead
from pipeline.edition.records import Bowing
from pipeline.score.model import Passage
from pipeline.strings.bow import BowLine, bow_line
from pipeline.strings.bow_facts import bow_facts
from pipeline.strings.bowing import bowed, in_effect
from pipeline.strings.instruments import INSTRUMENTS
from pipeline.strings.pace import Pace, pace_of


def with_bowings(
    decisions: Iterable[Decision], texts: Mapping[int, Passage], head: EditionHead
) -> Iterator[Decision]:
    """Yield the decisions in their order, bowings with what they come to."""
    instrument = INSTRUMENTS.get(head.edited_staff.instrument)
    bow = None if instrument is None else instrument.bow
    lines: dict[tuple[int, int], BowLine] = {}
    paces = {one.n: pace_of(one, texts[one.n]) for one in head.movements if one.n in texts}
    for decision in decisions:
        record, span = decision.filed.record, decision.span
        if not isinstance(record, Bowing):
            yield decision
            continue
        staff = (span.movement, span.staff)
        if staff not in lines:
            lines[staff] = bow_line(texts[span.movement], span.staff)
        pace = paces.get(span.movement, Pace(()))
        done = [bowed(lines[staff], span.notes, one) for one in in_effect(record)]
        played = (BowingPlayed(one, bow_facts(one.strokes, pace, bow)) for one in done)
        yield replace(decision, bowings=tuple(played))
