"""Alternatives side by side: for each fingering or bowing of a record one staff with its signs.

The text's own slurs stay. Where the text has digits or bow signs of its own at these notes, it gets
a staff above the alternatives.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from itertools import pairwise

from pipeline.collation.model import Decision
from pipeline.edition.head import Agent
from pipeline.edition.layer import Layer, layer_of_agent
from pipeline.edition.records import FingeringRecord
from pipeline.engrave.excerpts import Excerpt, cut
from pipeline.engrave.house_style import HouseStyle, LayerLook
from pipeline.engrave.markings import (
    has_bow_signs,
    has_fingerings,
    in_text_look,
    with_bow_signs,
    with_digits_kept,
    with_fingering,
    with_slur,
    without_bow_signs,
)
from pipeline.engrave.parts import ExamplePart, Labels, PartRole
from pipeline.engrave.systems import StaffLine
from pipeline.score.model import Event, Passage
from pipeline.strings.bowing import Bowed
from pipeline.strings.instruments import Instrument


@dataclass(frozen=True)
class Setting:
    """What all examples of a run share: who is who, the wording, the house
    style, and the instrument of the edited staff where it is known."""

    agents: Mapping[str, Agent]
    labels: Labels
    style: HouseStyle
    instrument: Instrument | None = None

    def layer_of(self, decision: Decision, by: str | None) -> Layer:
        """Return the layer of an alternative by that agent, or by the record's own."""
        return decision.layer if by is None else layer_of_agent(self.agents[by])


def fingering_staves(
    decision: Decision,
    record: FingeringRecord,
    passage: Passage,
    bars: tuple[int, ...],
    setting: Setting,
) -> tuple[StaffLine, ...]:
    """Return a staff for each fingering, the text's above them where it has digits here.

    A digit of the text that a fingering keeps stands in the text's look: it is not the editor's.
    """
    notes = decision.span.notes
    staves: list[StaffLine] = []
    text = in_text_look(
        cut(passage, bars, decision.span.staff, "t-"), setting.style.look(Layer.TEXT)
    )
    if has_fingerings(text, notes):
        staves.append(_staff(decision, text, ExamplePart(PartRole.TEXT), setting))
    for index, alternative in enumerate(record.alternatives):
        excerpt = cut(passage, bars, decision.span.staff, f"a{index}-")
        layer = setting.layer_of(decision, alternative.by)
        run = tuple(zip(notes, alternative.fingers, strict=False))
        kept = in_text_look(with_digits_kept(excerpt, run), setting.style.look(Layer.TEXT))
        look = setting.style.look(layer)
        fingered = with_fingering(kept, run, layer, look, setting.instrument)
        part = ExamplePart(PartRole.ALTERNATIVE, index)
        staves.append(_staff(decision, fingered, part, setting))
    return tuple(staves)


def bowing_staves(
    decision: Decision,
    passage: Passage,
    bars: tuple[int, ...],
    setting: Setting,
) -> tuple[StaffLine, ...]:
    """Return a staff for each bowing, the text's above them where it has bow signs here."""
    notes = decision.span.notes
    staves: list[StaffLine] = []
    text = in_text_look(
        cut(passage, bars, decision.span.staff, "t-"), setting.style.look(Layer.TEXT)
    )
    if has_bow_signs(notes):
        staves.append(_staff(decision, text, ExamplePart(PartRole.TEXT), setting))
    for index, played in enumerate(decision.bowings):
        excerpt = without_bow_signs(cut(passage, bars, decision.span.staff, f"a{index}-"), notes)
        layer = setting.layer_of(decision, played.bowed.alternative.by)
        bowed = _bowed(excerpt, notes, played.bowed, layer, setting.style.look(layer))
        part = ExamplePart(PartRole.ALTERNATIVE, index)
        staves.append(_staff(decision, bowed, part, setting))
    return tuple(staves)


def _bowed(
    excerpt: Excerpt,
    notes: tuple[Event, ...],
    done: Bowed,
    layer: Layer,
    look: LayerLook,
) -> Excerpt:
    """Return the excerpt with the signs of a bowing; changes of bow that have none cut the slur."""
    alternative, signs = done.alternative, done.signs
    bowed = with_bow_signs(
        excerpt, [(notes[number - 1], sign.value) for number, sign in signs.items()], layer, look
    )
    if alternative.join:
        bowed = with_slur(bowed, notes[0], notes[-1], layer, look)
    if not all(number + 1 in signs for number in alternative.divide_after):
        for first, last in _strokes(alternative.divide_after, len(notes)):
            bowed = with_slur(bowed, notes[first - 1], notes[last - 1], layer, look)
    return bowed


def _strokes(divide_after: tuple[int, ...], count: int) -> list[tuple[int, int]]:
    """First and last note of each stroke of more than one note."""
    edges = [0, *sorted(n for n in set(divide_after) if 0 < n < count), count]
    pairs = pairwise(edges)
    return [(first + 1, last) for first, last in pairs if last - first > 1]


def _staff(decision: Decision, excerpt: Excerpt, part: ExamplePart, setting: Setting) -> StaffLine:
    label = setting.labels(decision, part)
    return StaffLine(excerpt, label, setting.style.look(Layer.TEXT).label)
