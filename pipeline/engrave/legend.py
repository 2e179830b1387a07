"""Samples for the legend: how each layer looks, engraved by the same means as the examples.

In come a few invented notes (templates/legend.mei) and the house style; out goes one small picture
for each kind of mark that a reader has to tell apart.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum
from functools import cache
from typing import Literal

from pipeline.edition.fingers import Fingering, read_entry
from pipeline.edition.layer import Layer
from pipeline.engrave.difference_brackets import difference_bracket
from pipeline.engrave.excerpts import Excerpt, cut
from pipeline.engrave.house_style import HOUSE_STYLE_FILE, HouseStyle
from pipeline.engrave.markings import with_bow_signs, with_fingering, with_markings, with_slur
from pipeline.engrave.pictures import pictures
from pipeline.engrave.svg_for_print import Svg
from pipeline.engrave.systems import StaffLine, System
from pipeline.problems import Origin
from pipeline.score.model import Event, Passage
from pipeline.score.read import read_passage

LEGEND_FILE = "legend.mei"
_WIDTH_MM = 80.0


class Sample(StrEnum):
    """What the legend shows, in the order in which it lists it."""

    TEXT_FINGERING = "text fingering"
    COMPOSER_FINGERING = "composer's fingering"
    WITNESS_FINGERING = "fingering of another source"
    EDITOR_FINGERING = "editor's fingering"
    TRADITION_FINGERING = "fingering of a tradition"
    PLAYER_FINGERING = "player's own fingering"
    DIVIDED_SLUR = "divided slur"
    JOINED_STROKES = "joined strokes"
    OSSIA = "ossia"
    TRADITION = "tradition"
    VARIANT = "variant"


@dataclass(frozen=True)
class LegendWords:
    """Labels beside the staves of the samples, in the language of the page."""

    text: str = ""
    ossia: str = "ossia"
    tradition: str = ""
    reading: str = ""


_FINGERED: Mapping[Sample, Layer] = {
    Sample.TEXT_FINGERING: Layer.TEXT,
    Sample.COMPOSER_FINGERING: Layer.COMPOSER,
    Sample.WITNESS_FINGERING: Layer.WITNESS,
    Sample.EDITOR_FINGERING: Layer.EDITOR,
    Sample.TRADITION_FINGERING: Layer.TRADITION,
    Sample.PLAYER_FINGERING: Layer.PLAYER,
}
_RUN, _SLURRED, _DOUBLE_STOPS, _SINGLE_NOTES, _PLAIN, _PLAYED, _CHANGED = range(7)
"""Bars of the legend's notes."""


def samples(
    style: HouseStyle, words: LegendWords | None = None, text_face: str = "serif"
) -> Mapping[Sample, Svg]:
    """Return a picture for each sample; its description is the sample's name.

    Raises RuntimeError where Verovio refuses the legend's notes: a fault of the set-up.
    """
    labels = words or LegendWords()
    return {
        sample: _picture(sample, _system(sample, style, labels), style, text_face)
        for sample in Sample
    }


def _picture(sample: Sample, system: System, style: HouseStyle, text_face: str) -> Svg:
    made, faults = pictures(system, style, _WIDTH_MM, sample.value, text_face)
    if len(made) != 1 or faults:
        raise RuntimeError(f"the legend's sample `{sample}` cannot be engraved: {faults}")
    return made[0]


def _system(sample: Sample, style: HouseStyle, words: LegendWords) -> System:
    if sample in _FINGERED:
        return _alone(_fingered(_FINGERED[sample], style))
    editor, tradition = style.look(Layer.EDITOR), style.look(Layer.TRADITION)
    plain = style.look(Layer.TEXT).label
    match sample:
        case Sample.DIVIDED_SLUR:
            notes = _notes(_SLURRED)
            signs: list[tuple[Event, Literal["down", "up"]]] = [
                (notes[0], "down"),
                (notes[4], "up"),
            ]
            return _alone(with_bow_signs(_bar(_SLURRED), signs, Layer.EDITOR, editor))
        case Sample.JOINED_STROKES:
            notes = _notes(_RUN)
            return _alone(with_slur(_bar(_RUN), notes[0], notes[-1], Layer.EDITOR, editor))
        case Sample.OSSIA:
            above = StaffLine(_bar(_SINGLE_NOTES, "o-"), words.ossia, editor.label, editor.staff)
            below = StaffLine(_bar(_DOUBLE_STOPS), words.text, plain)
            return _pair(above, below, leading=1)
        case Sample.TRADITION:
            above = StaffLine(
                _bar(_PLAYED, "o-"), words.tradition, tradition.label, tradition.staff
            )
            return _pair(above, StaffLine(_bar(_PLAIN), words.text, plain), leading=1)
        case _:
            look = style.look(Layer.WITNESS)
            changed = _bar(_CHANGED, "r-")
            if style.difference_bracket:
                unit = changed.opening.beat_unit
                corners = difference_bracket("r-", _notes(_CHANGED)[-1:], unit)
                changed = with_markings(changed, [(_CHANGED, corners)])
            reading = StaffLine(changed, words.reading, look.label, look.staff)
            return _pair(StaffLine(_bar(_RUN), words.text, plain), reading, leading=0)


def _alone(excerpt: Excerpt) -> System:
    return System((StaffLine(excerpt),), meter_hidden=True, number_hidden=True)


def _pair(above: StaffLine, below: StaffLine, leading: int) -> System:
    return System((above, below), leading, meter_hidden=True, number_hidden=True)


def _fingered(layer: Layer, style: HouseStyle) -> Excerpt:
    run: list[tuple[Event, Fingering]] = [
        (note, read_entry(digit)) for note, digit in zip(_notes(_RUN), "1243", strict=True)
    ]
    return with_fingering(_bar(_RUN), run, layer, style.look(layer))


def _bar(index: int, prefix: str = "t-") -> Excerpt:
    return cut(_legend_notes(), (index,), 1, prefix)


def _notes(index: int) -> list[Event]:
    return [event for event in _legend_notes().events if event.bar == index and event.heads]


@cache
def _legend_notes() -> Passage:
    read = read_passage(HOUSE_STYLE_FILE.parent, LEGEND_FILE, Origin(LEGEND_FILE))
    if read.value is None or read.problems:
        raise RuntimeError(f"{LEGEND_FILE} cannot be read: {read.problems}")
    return read.value
