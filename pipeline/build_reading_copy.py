"""Steps 4 to 6 for the reading copy: layers with every alternative, lines, examples, the page."""

from __future__ import annotations

from collections.abc import Callable

from pipeline.checks.material import Material
from pipeline.edition.layer import layers_of
from pipeline.engrave.examples import engrave_examples
from pipeline.engrave.house_style import read_house_style
from pipeline.engrave.part import engrave_part
from pipeline.engrave.part_model import EngravedPart, PartOrder
from pipeline.layers.write import write_layers
from pipeline.problems import Outcome
from pipeline.strings.instruments import INSTRUMENTS
from pipeline.typeset.example_labels import example_labels
from pipeline.typeset.faces import MUSIC_TEXT_FAMILIES
from pipeline.typeset.part_words import ossia_labels
from pipeline.typeset.reading_copy import (
    EXAMPLE_WIDTH_MM,
    LINE_WIDTH_MM,
    STAFF_HEIGHT_MM,
    languages_of,
    reading_copy_html,
    with_every_alternative,
)
from pipeline.typeset.remarks import remark_numbers


def reading_copy_of(
    material: Material, layered: bytes, language: str, step: Callable[[str], None]
) -> Outcome[bytes]:
    """Return the reading copy, which opens in that language; `layered` is the edition's MEI.

    The lines are engraved twice: as the edition prints them, and with every alternative, so that
    what a player chooses has room.
    """
    edition, score, decisions = material.edition, material.score, material.decisions
    style, head = read_house_style(), material.edition.head
    instrument = INSTRUMENTS.get(head.edited_staff.instrument)
    step("5 engraving the lines and examples of the reading copy")
    every = write_layers(edition, score, with_every_alternative(decisions), material.collations)
    order = PartOrder(
        layers=frozenset(layers_of(head.agents)),
        line_width_mm=LINE_WIDTH_MM,
        staff_height_mm=STAFF_HEIGHT_MM,
        staff=head.edited_staff.n,
    )

    numbers, labels = remark_numbers(decisions), ossia_labels(edition, decisions, language)

    def engraved(mei: bytes) -> Outcome[EngravedPart]:
        return engrave_part(mei, order, style, numbers, labels, MUSIC_TEXT_FAMILIES, instrument)

    lines = engraved(layered), engraved(every)
    examples, problems = {}, [*lines[0].problems]
    for code in languages_of(edition, language):
        made = engrave_examples(
            decisions,
            score,
            head.agents,
            example_labels(edition, code),
            style,
            EXAMPLE_WIDTH_MM,
            MUSIC_TEXT_FAMILIES,
            instrument,
        )
        examples[code] = made.value or {}
    if lines[0].value is None or lines[1].value is None:
        return Outcome(None, tuple(problems))
    step("6 typesetting the reading copy")
    page = reading_copy_html(
        edition, score, decisions, every, (lines[0].value, lines[1].value), examples, style
    )
    return Outcome(page.encode(), tuple(problems))
