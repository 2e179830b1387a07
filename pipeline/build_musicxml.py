"""The part as MusicXML among the products of a build: layered MEI in, one file out (4 to 6)."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING

from pipeline.checks.choices import alternatives_of, instead_of_text
from pipeline.checks.material import Material
from pipeline.edition.head import Role
from pipeline.edition.layer import Layer, layers_of
from pipeline.edition.strict import in_language
from pipeline.engrave.house_style import read_house_style
from pipeline.exchange.account import LeftOut
from pipeline.exchange.header import Heading, not_held
from pipeline.exchange.musicxml import Wished, write_musicxml
from pipeline.layers.annotations import in_force
from pipeline.layers.header import LAYER_NAMES
from pipeline.problems import Origin, Outcome, Problem, warning
from pipeline.strings.instruments import INSTRUMENTS
from pipeline.typeset.part_words import PartWords, part_words
from pipeline.typeset.remarks import remark_numbers

if TYPE_CHECKING:
    from pipeline.typeset.part_wishes import PartWishes

MUSICXML_FILE = "part.musicxml"


def musicxml_of(
    material: Material,
    mei: bytes,
    wishes: PartWishes,
    language: str,
    step: Callable[[str], None],
) -> Outcome[bytes]:
    """Return part.musicxml and a warning for each kind of sign that it cannot hold.

    `mei` is the layered document of the same material.
    """
    staff = material.edition.head.edited_staff
    taken = material.own.taken if material.own is not None else ()
    shown = alternatives_of(taken, material.decisions)
    step("6 writing the part as MusicXML")
    written = write_musicxml(
        mei,
        Wished(
            layers=wishes.layers | {Layer.TEXT},
            staff=staff.n,
            instrument=INSTRUMENTS.get(staff.instrument),
            without=frozenset(record for record, names in shown.items() if not names),
        ),
        _heading(material, language),
        read_house_style(),
    )
    above = sorted(instead_of_text(taken, material.decisions))
    problems = (*map(_problem, written.left_out), *map(_above_the_text, above))
    return Outcome(written.musicxml, problems)


def _heading(material: Material, language: str) -> Heading:
    head = material.edition.head
    main = head.main_language

    def people(role: Role) -> tuple[str, ...]:
        found = (one.name for one in head.agents.values() if one.role is role)
        return tuple(in_language(name, language, main) or "" for name in found)

    accepted = [decision for decision in material.decisions if in_force(decision)]
    numbers = remark_numbers(material.decisions_of_edition)
    words = part_words(material.edition, material.decisions, numbers, language)
    return Heading(
        title=in_language(head.title, language, main) or "",
        composer=", ".join(people(Role.COMPOSER)),
        editors=people(Role.EDITOR),
        rights=in_language(head.rights, language, main) or "",
        date=max((d.filed.record.date.isoformat() for d in accepted), default=""),
        layers={layer: LAYER_NAMES[layer] for layer in layers_of(head.agents)},
        records={d.id: _described(material, d.id, numbers, language) for d in accepted},
        footnotes={d.id: _footnote(words, d.id) for d in accepted},
    )


def _described(material: Material, record: str, numbers: dict[str, int], language: str) -> str:
    """Return a record in words: its number in the commentary, kind, agent and date."""
    filed, head = material.filed[record].record, material.edition.head
    name = in_language(head.agents[filed.by].name, language, head.main_language) or filed.by
    number = f"{numbers[record]}: " if record in numbers else ""
    return f"{number}{filed.kind}, {name}, {filed.date.isoformat()}"


def _footnote(words: PartWords, record: str) -> str:
    return "".join(run.text for run in words.note(record).text).strip()


def _problem(lost: LeftOut) -> Problem:
    return warning(
        "not-in-musicxml",
        Origin(MUSICXML_FILE),
        not_held(lost),
        "Put it in by hand in the program that opens the file; part.pdf and edition.mei have it.",
        f"movement {lost.movement}",
    )


def _above_the_text(record: str) -> Problem:
    return warning(
        "ossia-above-in-musicxml",
        Origin(MUSICXML_FILE),
        f"the ossia {record} stands on its small staff and not instead of the text",
        "Copy it into the staff in the program that opens the file; part.pdf has it there.",
    )
