"""Rules about traditions: what is played but not the composer's says so and where it is from."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from pipeline.checks.material import Material
from pipeline.checks.rule import Fault
from pipeline.checks.wording import place_in_words
from pipeline.edition.head import Role
from pipeline.edition.model import FiledRecord
from pipeline.edition.records import Tradition


def tradition_without_origin(material: Material) -> Iterator[Fault]:
    """A tradition that does not say where it comes from.

    A variant without origin passes for the composer's sooner or later.
    """
    for filed, record in _traditions(material):
        if not _says_something(record.origin):
            yield _fault(
                filed,
                "origin",
                f"the tradition `{record.id}` does not say where it comes from",
                "Add `origin:` with what is known, if only that it is not known.",
            )


def tradition_without_note(material: Material) -> Iterator[Fault]:
    """A tradition without the note that is printed beside it.

    The player would see a variant on the page and take it for the composer's.
    """
    for filed, record in _traditions(material):
        if not _says_something(record.note):
            yield _fault(
                filed,
                "note",
                f"the tradition `{record.id}` has no note to be printed beside it",
                "Add `note:` with a few words that say it is not the composer's.",
            )


def tradition_by_the_composer(material: Material) -> Iterator[Fault]:
    """A tradition for which the composer is named as responsible.

    What the composer wrote is text or an ossia of the composer's, never a tradition.
    """
    agents = material.edition.head.agents
    for filed, record in _traditions(material):
        agent = agents.get(record.by)
        if agent is not None and agent.role is Role.COMPOSER:
            yield _fault(
                filed,
                "by",
                f"the tradition `{record.id}` is given to `{record.by}`, who is the composer",
                "Name who brought it in; if it is the composer's own, make it an `ossia`.",
            )


def _traditions(material: Material) -> Iterator[tuple[FiledRecord, Tradition]]:
    for filed in material.edition.records:
        if isinstance(filed.record, Tradition):
            yield filed, filed.record


def _says_something(text: Mapping[str, str]) -> bool:
    return any(words.strip() for words in text.values())


def _fault(filed: FiledRecord, key: str, message: str, remedy: str) -> Fault:
    return Fault(filed.origins.at(key), message, remedy, place_in_words(filed.record.place))
