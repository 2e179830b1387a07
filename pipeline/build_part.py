"""The part among the products of a build: layered MEI in, lines engraved (5), pages typeset (6)."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING

from pipeline.checks.choices import alternatives_of
from pipeline.checks.material import Material
from pipeline.engrave.house_style import read_house_style
from pipeline.engrave.legend import samples
from pipeline.engrave.part import engrave_part
from pipeline.problems import Outcome, has_errors
from pipeline.strings.instruments import INSTRUMENTS
from pipeline.typeset.example_labels import legend_words
from pipeline.typeset.part import PART_FAMILIES, part_pdf
from pipeline.typeset.part_words import ossia_labels
from pipeline.typeset.remarks import remark_numbers

if TYPE_CHECKING:
    from pipeline.typeset.part_wishes import PartWishes


def part_of(
    material: Material,
    mei: bytes,
    wishes: PartWishes,
    language: str,
    step: Callable[[str], None],
) -> Outcome[bytes]:
    """Return part.pdf; `mei` is the layered document of the same material."""
    edition, decisions = material.edition, material.decisions
    staff = edition.head.edited_staff
    style, numbers = read_house_style(), remark_numbers(material.decisions_of_edition)
    taken = material.own.taken if material.own is not None else ()
    step("5 engraving the part")
    engraved = engrave_part(
        mei,
        wishes.order(alternatives_of(taken, decisions), staff.n),
        style,
        numbers,
        ossia_labels(edition, decisions, language),
        PART_FAMILIES,
        INSTRUMENTS.get(staff.instrument),
    )
    if engraved.value is None or has_errors(engraved.problems):
        return Outcome(None, engraved.problems)
    step("6 typesetting the part")
    legend = samples(style, legend_words(language), PART_FAMILIES)
    pdf = part_pdf(
        edition,
        material.score,
        decisions,
        engraved.value,
        legend,
        numbers,
        wishes.paper,
        language,
    )
    return Outcome(pdf.value, (*engraved.problems, *pdf.problems))
