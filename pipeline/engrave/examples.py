"""Music examples for decisions: decisions and score in, SVG for the page out.

Text, readings, ossia or alternatives stand one above the other in one system, aligned in time;
what has other bars or meters than the text stands in a system of its own. Wording is the caller's:
every label is asked for.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction

from pipeline.collation.bar_signs import KINDS_OF_BAR_LINES
from pipeline.collation.model import Decision, DifferenceKind, Version
from pipeline.edition.head import Agent
from pipeline.edition.layer import Layer
from pipeline.edition.records import (
    Bowing,
    Emendation,
    FingeringRecord,
    Ossia,
    Reading,
    Tradition,
)
from pipeline.engrave.alternatives import Setting, bowing_staves, fingering_staves
from pipeline.engrave.difference_brackets import with_difference_brackets
from pipeline.engrave.excerpts import Excerpt, cut
from pipeline.engrave.faults import problems_of
from pipeline.engrave.house_style import HouseStyle
from pipeline.engrave.markings import in_text_look
from pipeline.engrave.parts import ExamplePart, Labels, PartRole
from pipeline.engrave.pictures import pictures
from pipeline.engrave.shared_readings import text_outside_place
from pipeline.engrave.svg_for_print import Svg
from pipeline.engrave.systems import StaffLine, System, can_be_aligned
from pipeline.problems import Outcome, Problem
from pipeline.score.model import Passage, Score, Span
from pipeline.strings.instruments import Instrument

_SHORT_QUARTERS = Fraction(1, 4)


@dataclass(frozen=True)
class Example:
    """The engraved example of one decision, from the first line of music to the last."""

    systems: tuple[Svg, ...]


def example_wanted(decision: Decision) -> bool:
    """Return whether a remark speaks of notes or signs that are better seen than described.

    What differs throughout a movement is neither: its summary says in which bars. Nor are repeat
    signs and endings: staves one above the other have the same bar lines.
    """
    record = decision.filed.record
    match record:
        case Reading() | Emendation() if record.systematic:
            return False
        case Reading() | Emendation():
            told = (d.kind for c in decision.comparisons for d in c.differences)
            return any(kind not in KINDS_OF_BAR_LINES for kind in told)
        case Ossia() | Tradition():
            return decision.music is not None
        case FingeringRecord() | Bowing():
            return bool(decision.span.notes)
        case _:
            return False


def engrave_examples(
    decisions: Sequence[Decision],
    score: Score,
    agents: Mapping[str, Agent],
    labels: Labels,
    style: HouseStyle,
    width_mm: float,
    text_face: str = "serif",
    instrument: Instrument | None = None,
) -> Outcome[Mapping[str, Example]]:
    """Return the examples by record id, for a text block `width_mm` wide.

    `text_face` is a CSS font-family for labels, digits and words, `instrument` that of the edited
    staff, by which strings are numbered. What Verovio complained of or did
    not draw comes back as problems at the record's place. About 10 ms an example.
    """
    passages = {movement.n: movement.passage for movement in score.movements}
    setting = Setting(agents, labels, style, instrument)
    examples: dict[str, Example] = {}
    problems: list[Problem] = []
    for decision in decisions:
        if not example_wanted(decision):
            continue
        description = labels(decision, ExamplePart(PartRole.WHOLE))
        made: list[Svg] = []
        for system in _systems(decision, passages[decision.span.movement], setting):
            lines, faults = pictures(system, style, width_mm, description, text_face)
            made.extend(lines)
            problems.extend(problems_of(faults, decision))
        if made:
            examples[decision.id] = Example(tuple(made))
    return Outcome(examples, tuple(problems))


def bars_shown(span: Span) -> tuple[int, ...]:
    """Return the indexes of the bars that a place touches: examples show whole bars."""
    touches_last = span.end.offset > 0 or span.end.bar == span.start.bar
    last = span.end.bar if touches_last else span.end.bar - 1
    return tuple(range(span.start.bar, last + 1))


def _has_digits_on_short_notes(span: Span, record: FingeringRecord) -> bool:
    """Return whether digits in brackets would touch at ordinary spacing: sixteenths and shorter."""
    return any(
        0 < event.duration <= _SHORT_QUARTERS and fingering.fingers
        for alternative in record.alternatives
        for event, fingering in zip(span.notes, alternative.fingers, strict=False)
    )


def _systems(decision: Decision, passage: Passage, setting: Setting) -> tuple[System, ...]:
    record = decision.filed.record
    bars = bars_shown(decision.span)
    match record:
        case FingeringRecord():
            staves = fingering_staves(decision, record, passage, bars, setting)
            wide = _has_digits_on_short_notes(decision.span, record)
            return (System(staves, widely_spaced=wide),)
        case Bowing():
            return (System(bowing_staves(decision, passage, bars, setting)),)
        case Ossia():
            return _beside_text(decision, passage, bars, PartRole.OSSIA, setting)
        case Tradition():
            return _beside_text(decision, passage, bars, PartRole.TRADITION, setting)
        case _:
            return _under_text(decision, passage, bars, setting)


def _text_staff(
    decision: Decision, passage: Passage, bars: tuple[int, ...], setting: Setting
) -> StaffLine:
    label = setting.labels(decision, ExamplePart(PartRole.TEXT))
    look = setting.style.look(Layer.TEXT).label
    excerpt = cut(passage, bars, decision.span.staff, "t-")
    return StaffLine(in_text_look(excerpt, setting.style.look(Layer.TEXT)), label, look)


def _under_text(
    decision: Decision, passage: Passage, bars: tuple[int, ...], setting: Setting
) -> tuple[System, ...]:
    """The text with all readings that have as many bars under it, the others after that.

    A witness that lacks the bars has nothing to show; the remark says so.
    """
    text = _text_staff(decision, passage, bars, setting)
    look = setting.style.look(Layer.WITNESS)
    under: list[StaffLine] = []
    apart: list[System] = []
    for index, comparison in enumerate(decision.comparisons):
        if not comparison.differences or not comparison.version.bars:
            continue
        excerpt = _cut_version(comparison.version, f"r{index}-")
        label = setting.labels(decision, ExamplePart(PartRole.READING, index))
        if can_be_aligned(text.excerpt, excerpt):
            if len(comparison.version.witnesses) > 1 and not decision.span.whole_bars:
                as_text = cut(passage, bars, decision.span.staff, "t-")
                excerpt = text_outside_place(
                    excerpt, comparison.version, as_text, passage, decision.span
                )
            if setting.style.difference_bracket:
                excerpt = with_difference_brackets(excerpt, comparison, passage, bars)
            tempo = any(d.kind is DifferenceKind.TEMPO for d in comparison.differences)
            under.append(StaffLine(excerpt, label, look.label, look.staff, keeps_tempo=tempo))
        else:
            apart.append(_apart(StaffLine(excerpt, label, look.label, look.staff), text))
    return (System((text, *under)), *apart)


def _beside_text(
    decision: Decision,
    passage: Passage,
    bars: tuple[int, ...],
    role: PartRole,
    setting: Setting,
) -> tuple[System, ...]:
    """The ossia or tradition above the text, as it stands in the part."""
    if decision.music is None:
        return ()
    text = _text_staff(decision, passage, bars, setting)
    look = setting.style.look(decision.layer)
    label = setting.labels(decision, ExamplePart(role))
    above = StaffLine(_cut_version(decision.music, "o-"), label, look.label, look.staff)
    if can_be_aligned(text.excerpt, above.excerpt):
        return (System((above, text), leading=1),)
    return (_apart(above, text), System((text,)))


def _apart(other: StaffLine, text: StaffLine) -> System:
    """A system for what has other bars than the text; its meter is shown where it is another."""
    same_meter = other.excerpt.opening.meter_text in {"", text.excerpt.opening.meter_text}
    return System((other,), meter_hidden=same_meter and not text.excerpt.opening.meter_is_new)


def _cut_version(version: Version, prefix: str) -> Excerpt:
    return cut(version.passage, version.bars, version.staff, prefix)
