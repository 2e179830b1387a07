"""Rules about names: sigla, agents and records that are spoken of have to be there."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator

from pipeline.checks.material import Material
from pipeline.checks.rule import Fault
from pipeline.checks.wording import place_in_words, suggestion
from pipeline.edition.model import Step
from pipeline.edition.records import (
    Bowing,
    Emendation,
    FingeringRecord,
    Reading,
    Record,
    Tradition,
)
from pipeline.edition.suggestions import closest
from pipeline.problems import Origin

Named = tuple[str, Origin, str]


def unknown_siglum(material: Material) -> Iterator[Fault]:
    """A siglum that no witness has.

    The reader looks it up in the list of sources in vain.
    """
    named = [*_sigla_of_head(material), *_sigla_of_records(material)]
    known = material.edition.head.witnesses
    return _unknown(named, known, "is not the siglum of a witness", "Witnesses are")


def unknown_agent(material: Material) -> Iterator[Fault]:
    """A person, house or tradition that is not among the agents.

    Nobody could tell who is responsible for what is printed.
    """
    named = [*_agents_of_head(material), *_agents_of_records(material)]
    known = material.edition.head.agents
    return _unknown(named, known, "is not an agent of this edition", "Agents are")


def _unknown(
    named: Iterable[Named], known: Collection[str], is_not: str, all_are: str
) -> Iterator[Fault]:
    for name, origin, place in named:
        if name not in known:
            yield Fault(origin, f"`{name}` {is_not}", suggestion(name, known, all_are), place)


def unknown_record(material: Material) -> Iterator[Fault]:
    """A `superseded_by` that names no record.

    The commentary sends the reader to a decision that does not exist.
    """
    for filed in material.edition.records:
        successor = filed.record.superseded_by
        if successor is not None and successor not in material.filed:
            near = closest(successor, material.filed)
            yield Fault(
                filed.origins.at("superseded_by"),
                f"there is no record `{successor}`",
                f"Did you mean `{near}`?"
                if near is not None
                else "Write the id of the record that replaces this one.",
                place_in_words(filed.record.place),
            )


def unknown_movement(material: Material) -> Iterator[Fault]:
    """An encoding of a movement that the edition does not have.

    Its readings would reach nobody.
    """
    head, origins = material.edition.head, material.edition.head_origins
    known = {str(movement.n) for movement in head.movements}
    for siglum, witness in head.witnesses.items():
        for n in witness.encodings:
            if str(n) not in known:
                yield Fault(
                    origins.at("witnesses", siglum, "encodings", str(n)),
                    f"{siglum} has an encoding of movement {n}, which the edition does not have",
                    "Write the number of a movement that stands under `movements`.",
                )


def _sigla_of_head(material: Material) -> Iterator[Named]:
    origins = material.edition.head_origins
    for key, witness in material.edition.head.witnesses.items():
        for index, siglum in enumerate(witness.copied_from):
            yield siglum, origins.at("witnesses", key, "copied_from", index), ""
        if witness.part_of is not None:
            yield witness.part_of, origins.at("witnesses", key, "part_of"), ""


def _sigla_of_records(material: Material) -> Iterator[Named]:
    for filed in material.edition.records:
        place = place_in_words(filed.record.place)
        for siglum, path in sigla_in(filed.record):
            yield siglum, filed.origins.at(*path), place


def sigla_in(record: Record) -> Iterator[tuple[str, tuple[Step, ...]]]:
    """Yield every siglum that a record names, with the path of keys to it."""
    for index, siglum in enumerate(record.evidence.witnesses):
        yield siglum, ("evidence", "witnesses", index)
    if isinstance(record, Reading):
        for index, siglum in enumerate(record.lemma):
            yield siglum, ("lemma", index)
    if isinstance(record, Reading | Emendation):
        for number, variant in enumerate(record.readings):
            for index, siglum in enumerate(variant.witnesses):
                yield siglum, ("readings", number, "witnesses", index)


def _agents_of_head(material: Material) -> Iterator[Named]:
    origins = material.edition.head_origins
    for key, witness in material.edition.head.witnesses.items():
        if witness.by is not None:
            yield witness.by, origins.at("witnesses", key, "by"), ""


def _agents_of_records(material: Material) -> Iterator[Named]:
    for filed in material.edition.records:
        place = place_in_words(filed.record.place)
        for agent, path in agents_in(filed.record):
            yield agent, filed.origins.at(*path), place


def agents_in(record: Record) -> Iterator[tuple[str, tuple[Step, ...]]]:
    """Yield every agent that a record names, with the path of keys to it."""
    yield record.by, ("by",)
    for index, agent in enumerate(_agents_of_alternatives(record)):
        if agent is not None:
            yield agent, ("alternatives", index, "by")
    if isinstance(record, Reading | Emendation):
        for index, variant in enumerate(record.readings):
            if variant.hand is not None:
                yield variant.hand, ("readings", index, "hand")
    if isinstance(record, Tradition):
        for index, player in enumerate(record.played_by):
            yield player, ("played_by", index)


def _agents_of_alternatives(record: Record) -> list[str | None]:
    match record:
        case FingeringRecord():
            return [alternative.by for alternative in record.alternatives]
        case Bowing():
            return [alternative.by for alternative in record.alternatives]
        case _:
            return []
