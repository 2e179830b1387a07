"""The fingerings of the records, each as a hand takes it on the music of its place.

In come decisions, the texts and edition.yaml; out go the same decisions, each fingering of the
edited staff with what the hand does in every alternative. Linear in the notes of the places.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import replace

from pipeline.collation.model import Decision
from pipeline.edition.head import EditionHead
from pipeline.edition.records import FingeringAlternative, FingeringRecord
from pipeline.score.model import Marking, Passage, Span
from pipeline.strings.frames import Hand
from pipeline.strings.instruments import INSTRUMENTS
from pipeline.strings.left_hand import LeftHand, left_hand


def with_hands(
    decisions: Iterable[Decision], texts: Mapping[int, Passage], head: EditionHead
) -> Iterator[Decision]:
    """Yield the decisions in their order, fingerings with what the hand does."""
    instrument = INSTRUMENTS.get(head.edited_staff.instrument)
    hand = None if instrument is None else Hand(instrument)
    for decision in decisions:
        record, span = decision.filed.record, decision.span
        if (
            hand is None
            or not isinstance(record, FingeringRecord)
            or span.staff != head.edited_staff.n
        ):
            yield decision
            continue
        slurs = _slurs(texts[span.movement], span)
        hands = (_hand_of(one, span, slurs, hand) for one in record.alternatives)
        yield replace(decision, hands=tuple(hands))


def _hand_of(
    alternative: FingeringAlternative, span: Span, slurs: tuple[Marking, ...], hand: Hand
) -> LeftHand | None:
    """Return what the hand does, None where the fingers do not fit the notes (a rule tells)."""
    if len(alternative.fingers) != len(span.notes) or any(
        len(entry.fingers) > len(note.heads)
        for entry, note in zip(alternative.fingers, span.notes, strict=True)
    ):
        return None
    return left_hand(span.notes, alternative.fingers, slurs, hand)


def _slurs(text: Passage, span: Span) -> tuple[Marking, ...]:
    return tuple(
        dict.fromkeys(
            marking
            for bar in range(span.start.bar, span.end.bar + 1)
            for marking in text.markings_in.get((span.staff, bar), ())
        )
    )
