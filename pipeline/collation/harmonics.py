"""What the harmonics of ossias and traditions ask of the hand, beside those of the text below.

In come decisions, the texts and edition.yaml; out go the same decisions with those facts. The
strings are those that the music names, and for the text those of the fingerings in force.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import replace

from pipeline.collation.model import Decision
from pipeline.edition.head import EditionHead
from pipeline.edition.records import FingeringRecord, Status
from pipeline.score.model import Marking, Passage, Pitch, Span
from pipeline.strings.harmonic_facts import HarmonicFacts, way_as_written
from pipeline.strings.instruments import INSTRUMENTS, Instrument
from pipeline.strings.string_words import strings_named


def with_harmonics(
    decisions: Iterable[Decision], texts: Mapping[int, Passage], head: EditionHead
) -> Iterator[Decision]:
    """Yield the decisions in their order, those with harmonics of their own with their facts."""
    decisions = tuple(decisions)
    instrument = INSTRUMENTS.get(head.edited_staff.instrument)
    fingered: dict[str, Pitch] = {}
    if instrument is None:  # the check names it
        yield from decisions
        return
    for decision in decisions:
        fingered.update(_fingered(decision, instrument))
    for decision in decisions:
        version, span = decision.music, decision.span
        if version is None or span.staff != head.edited_staff.n:
            yield decision
            continue
        passage = version.passage
        named = strings_named(passage.events, passage.markings, instrument)
        ossia = way_as_written(passage.events, named, instrument)
        if ossia is None:
            yield decision
            continue
        signs = _markings(texts[span.movement], span)
        named = {**strings_named(span.events, signs, instrument), **fingered}
        text = way_as_written(span.events, named, instrument)
        facts = HarmonicFacts(text, ossia, instrument.vibrating_length_mm)
        yield replace(decision, harmonics=facts)


def _fingered(decision: Decision, instrument: Instrument) -> Iterator[tuple[str, Pitch]]:
    """Yield events with the string on which the printed fingering in force has them.

    A string that is named holds for the notes after it, as in print.
    """
    record = decision.filed.record
    if not isinstance(record, FingeringRecord) or record.status is not Status.ACCEPTED:
        return
    first = record.printed[0] if record.printed else record.alternatives[0].name
    string: Pitch | None = None
    for alternative in record.alternatives:
        if alternative.name != first:
            continue
        for event, entry in zip(decision.span.notes, alternative.fingers, strict=False):
            for finger in entry.fingers:
                string = (instrument.string(finger.string) if finger.string else None) or string
            if string is not None:
                yield event.xml_id, string


def _markings(text: Passage, span: Span) -> tuple[Marking, ...]:
    found = {
        marking.xml_id: marking
        for bar in range(span.start.bar, span.end.bar + 1)
        for marking in text.markings_in.get((span.staff, bar), ())
    }
    return tuple(found.values())
