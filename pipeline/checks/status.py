"""Rules about decisions that were replaced: each place has one decision in force."""

from __future__ import annotations

from collections.abc import Iterator

from pipeline.checks.material import Material
from pipeline.checks.rule import Fault
from pipeline.checks.wording import place_in_words
from pipeline.edition.model import FiledRecord
from pipeline.edition.records import Status


def superseded_in_force(material: Material) -> Iterator[Fault]:
    """A record that names its successor and is still in force.

    Old and new decision would both be printed, and the reader could not tell which one holds.
    """
    for filed in material.edition.records:
        record = filed.record
        if record.superseded_by is not None and record.status is not Status.SUPERSEDED:
            yield _fault(
                filed,
                "superseded_by" if "status" not in record.model_fields_set else "status",
                f"`{record.id}` is replaced by `{record.superseded_by}`, "
                f"but its status is `{record.status}`",
                "Write `status: superseded`, or remove `superseded_by`.",
            )


def superseded_without_successor(material: Material) -> Iterator[Fault]:
    """A superseded record that does not name its successor.

    Whoever follows an old reference to it learns that it no longer holds, but not what does.
    """
    for filed in material.edition.records:
        record = filed.record
        if record.status is Status.SUPERSEDED and record.superseded_by is None:
            yield _fault(
                filed,
                "status",
                f"`{record.id}` is superseded, but does not say by which record",
                "Add `superseded_by:` with the id of the record that holds now.",
            )


def successor_not_in_force(material: Material) -> Iterator[Fault]:
    """A record whose successor is itself superseded, or only proposed.

    The reference leads to a decision that is not printed.
    """
    circles = _records_in_circles(material)
    for filed in material.edition.records:
        record = filed.record
        if record.status is not Status.SUPERSEDED or record.superseded_by is None:
            continue
        successor = material.filed.get(record.superseded_by)
        if successor is None or record.id in circles:
            continue
        if successor.record.status is not Status.ACCEPTED:
            last = _last_successor(successor, material)
            remedy = (
                f"Write `superseded_by: {last}`."
                if last is not None
                else f"Accept `{successor.record.id}`, or put `{record.id}` in force again."
            )
            yield _fault(
                filed,
                "superseded_by",
                f"`{record.id}` is replaced by `{successor.record.id}`, "
                f"which is itself {successor.record.status}",
                remedy,
            )


def superseded_in_a_circle(material: Material) -> Iterator[Fault]:
    """Records that replace each other in a circle, or a record that replaces itself.

    No decision is in force at the place, and nothing is printed.
    """
    for circle in dict.fromkeys(_records_in_circles(material).values()):
        first = material.filed[circle[0]]
        if len(circle) == 1:
            message = f"`{circle[0]}` is replaced by itself"
        else:
            path = " by ".join(f"`{name}`" for name in (*circle[1:], circle[0]))
            message = f"`{circle[0]}` is replaced by {path}"
        yield _fault(
            first, "superseded_by", message, "Decide which of them holds, and let it be accepted."
        )


def _fault(filed: FiledRecord, key: str, message: str, remedy: str) -> Fault:
    return Fault(filed.origins.at(key), message, remedy, place_in_words(filed.record.place))


def _last_successor(filed: FiledRecord, material: Material) -> str | None:
    """Return the accepted record at which the chain of successors ends, if it ends at one."""
    seen: set[str] = set()
    while filed.record.status is not Status.ACCEPTED:
        successor = material.filed.get(filed.record.superseded_by or "")
        if successor is None or successor.record.id in seen:
            return None
        seen.add(successor.record.id)
        filed = successor
    return filed.record.id


def _records_in_circles(material: Material) -> dict[str, tuple[str, ...]]:
    """Return, for each record in a circle of successors, the circle from its first record on."""
    found: dict[str, tuple[str, ...]] = {}
    done: set[str] = set()
    for start in material.filed:
        path: list[str] = []
        name: str | None = start
        while name is not None and name in material.filed and name not in done:
            done.add(name)
            path.append(name)
            name = material.filed[name].record.superseded_by
        if name is not None and name in path:
            circle = tuple(path[path.index(name) :])
            found.update(dict.fromkeys(circle, circle))
    return found
