"""The part among the products of a build: layered MEI in, lines engraved (5), pages typeset (6)."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from typing import TYPE_CHECKING

from pipeline.checks.choices import alternatives_of, instead_of_text
from pipeline.checks.material import Material
from pipeline.engrave.house_style import read_house_style
from pipeline.engrave.legend import samples
from pipeline.engrave.part import engrave_part
from pipeline.engrave.part_model import EngravedPart
from pipeline.problems import Outcome, has_errors
from pipeline.strings.instruments import INSTRUMENTS
from pipeline.typeset.example_labels import legend_words
from pipeline.typeset.part import PART_FAMILIES, part_pdf
from pipeline.typeset.part_words import ossia_labels
from pipeline.typeset.remarks import remark_numbers

if TYPE_CHECKING:
    from pipeline.typeset.part_wishes import PartWishes


def engraved_part(
    material: Material, mei: bytes, wishes: PartWishes, language: str
) -> Outcome[EngravedPart]:
    """Return the lines of the part as they are wished, with what a player has chosen."""
    edition = material.edition
    staff = edition.head.edited_staff
    taken = material.own.taken if material.own is not None else ()
    order = wishes.order(alternatives_of(taken, material.decisions), staff.n)
    return engrave_part(
        mei,
        replace(order, instead=instead_of_text(taken, material.decisions)),
        read_house_style(),
        remark_numbers(material.decisions_of_edition),
        ossia_labels(edition, material.decisions, language),
        PART_FAMILIES,
        INSTRUMENTS.get(staff.instrument),
    )


def part_of(
    material: Material,
    mei: bytes,
    wishes: PartWishes,
    language: str,
    step: Callable[[str], None],
) -> Outcome[bytes]:
    """Return part.pdf; `mei` is the layered document of the same material."""
    step("5 engraving the part")
    engraved = engraved_part(material, mei, wishes, language)
    if engraved.value is None or has_errors(engraved.problems):
        return Outcome(None, engraved.problems)
    step("6 typesetting the part")
    pdf = part_pdf(
        material.edition,
        material.score,
        material.decisions,
        engraved.value,
        samples(read_house_style(), legend_words(language), PART_FAMILIES),
        remark_numbers(material.decisions_of_edition),
        wishes.paper,
        language,
    )
    return Outcome(pdf.value, (*engraved.problems, *pdf.problems))
