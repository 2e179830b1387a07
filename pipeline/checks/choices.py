"""Rules about a player's own copy: what is chosen is there to be chosen, and not too late.

The edition by itself has no choices, so these rules find nothing in it.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from datetime import date

from pipeline.checks.material import Material
from pipeline.checks.rule import Fault
from pipeline.checks.wording import counted, place_in_words, suggestion
from pipeline.collation.model import Decision
from pipeline.edition.choices import INSTEAD, Taken
from pipeline.edition.quoting import quoted
from pipeline.edition.records import (
    Bowing,
    FingeringRecord,
    Ossia,
    Record,
    Status,
    Tradition,
)
from pipeline.edition.suggestions import closest
from pipeline.problems import Origin


def choice_of_nothing(material: Material) -> Iterator[Fault]:
    """A choice of a record that the edition does not have.

    The player believes to have chosen, and the part shows something else.
    """
    for one in _taken(material):
        if one.of not in material.filed:
            near = closest(one.of, material.filed)
            yield Fault(
                one.origin,
                f"there is no record {quoted(one.of)} in this edition",
                f"Did you mean `{near}`?" if near else "Name a record, or remove the choice.",
            )


def choice_not_in_force(material: Material) -> Iterator[Fault]:
    """A choice of a record that was superseded since, or is only proposed.

    The edition no longer prints what was chosen; the player has to choose again.
    """
    for one, record in _of_records(material):
        if record.status is Status.SUPERSEDED:
            successor = record.superseded_by
            remedy = f"Look at `{successor}` and choose there" if successor else "Choose again"
            yield _fault(
                one,
                record,
                f"`{record.id}` is superseded{f' by `{successor}`' if successor else ''}",
                f"{remedy}, or remove the choice.",
            )
        elif record.status is Status.PROPOSED:
            message = f"`{record.id}` is only proposed; the part does not show it"
            yield _fault(one, record, message, "Remove the choice until it is decided.")


def choice_without_alternatives(material: Material) -> Iterator[Fault]:
    """A choice of a record that leaves no choice, or a name where only yes or no can be said.

    A reading is the text; a player who wants other notes writes an ossia.
    """
    for one, record in _of_records(material):
        if isinstance(record, Ossia | Tradition):
            if not isinstance(one.takes, bool) and one.takes != INSTEAD:
                message = f"`{record.id}` is one {record.kind}, without alternatives"
                remedy = "Write `takes: yes`, `takes: no`, or `takes: instead` of the text."
                yield _fault(one, record, message, remedy)
        elif not isinstance(record, FingeringRecord | Bowing | Ossia | Tradition):
            message = f"`{record.id}` is of kind `{record.kind}`; there is nothing to choose"
            remedy = "Choose of a fingering, a bowing, an ossia or a tradition."
            yield _fault(one, record, message, remedy)


def choice_of_no_alternative(material: Material) -> Iterator[Fault]:
    """A choice of an alternative that the record does not have.

    Nothing would stand above the notes where the player expects a fingering or a bowing.
    """
    for one, record in _of_records(material):
        if isinstance(one.takes, bool) or not isinstance(record, FingeringRecord | Bowing):
            continue
        known = [alternative.name for alternative in record.alternatives]
        for name in one.takes:
            if name not in known:
                yield _fault(
                    one,
                    record,
                    f"`{record.id}` has no alternative {quoted(name)}",
                    suggestion(name, known, "Its alternatives are"),
                )


def changed_before_performance(material: Material) -> Iterator[Fault]:
    """A fingering or bowing that a player chose or wrote shortly before a performance.

    On the stage the hand falls back on what it learned first (common practice, no source); the days
    are `settled_days` of the player's own copy.
    """
    own = material.own
    if own is None or own.performance is None:
        return
    day, days = own.performance, own.settled_days
    for one, record in _of_records(material):
        if one.day is not None and isinstance(record, FingeringRecord | Bowing):
            yield from _too_late(one.day, day, days, one.origin, record)
    for filed in own.records:
        if isinstance(filed.record, FingeringRecord | Bowing):
            origin = filed.origins.at("date")
            yield from _too_late(filed.record.date, day, days, origin, filed.record)


def _too_late(
    changed: date, performance: date, days: int, origin: Origin, record: Record
) -> Iterator[Fault]:
    left = (performance - changed).days
    if 0 <= left < days:
        when = "on the day of" if left == 0 else f"{counted(left, 'day')} before"
        yield Fault(
            origin,
            f"this {record.kind} was changed {when} the performance of {performance.isoformat()}",
            "Keep what the hand knows until then, and change it afterwards.",
            place_in_words(record.place),
        )


def alternatives_of(
    taken: Iterable[Taken], decisions: Iterable[Decision]
) -> Mapping[str, tuple[str, ...]]:
    """Return what is shown of the records that were chosen of, by id: see `PartOrder`.

    Names as they were chosen, nothing where `no` was said; a record that is shown as the edition
    has it (`yes`) is not in the mapping. Choices that the rules above refuse are left out.
    """
    records = {decision.id: decision.filed.record for decision in decisions}
    chosen: dict[str, tuple[str, ...]] = {}
    for one in taken:
        record = records.get(one.of)
        if one.takes is False and record is not None:
            chosen[one.of] = ()
        elif isinstance(one.takes, tuple) and isinstance(record, FingeringRecord | Bowing):
            known = {alternative.name for alternative in record.alternatives}
            if known.issuperset(one.takes):
                chosen[one.of] = one.takes
    return chosen


def instead_of_text(taken: Iterable[Taken], decisions: Iterable[Decision]) -> frozenset[str]:
    """Return the ids of the ossias and traditions that the player puts in place of the text."""
    variants = {d.id for d in decisions if isinstance(d.filed.record, Ossia | Tradition)}
    return frozenset(one.of for one in taken if one.takes == INSTEAD and one.of in variants)


def _taken(material: Material) -> tuple[Taken, ...]:
    return material.own.taken if material.own is not None else ()


def _of_records(material: Material) -> Iterator[tuple[Taken, Record]]:
    for one in _taken(material):
        filed = material.filed.get(one.of)
        if filed is not None:
            yield one, filed.record


def _fault(one: Taken, record: Record, message: str, remedy: str) -> Fault:
    return Fault(one.origin, message, remedy, place_in_words(record.place))
