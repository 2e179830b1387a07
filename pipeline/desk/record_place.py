"""One record of an edition with what stands at its place: for commands about a single passage.

Reads the edition and its base text, nothing else; problems of other records are not told.
"""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from pipeline.edition.model import Edition, FiledRecord
from pipeline.edition.quoting import quoted
from pipeline.edition.suggestions import closest
from pipeline.problems import Origin, Outcome, error, has_errors, in_reading_order
from pipeline.score.model import Movement, Span


@dataclass(frozen=True)
class RecordPlace:
    """A record, the movement it is about, and its place there."""

    edition: Edition
    filed: FiledRecord
    movement: Movement
    span: Span


def record_place(folder: Path, record: str) -> Outcome[RecordPlace]:
    """Return the record of that id with its place, or the problems that keep it from being found.

    A record that could not be read is told with what is wrong with it.
    """
    from pipeline.edition.read import HEAD_FILE, read_edition
    from pipeline.score.read import read_score
    from pipeline.score.resolve import resolve

    edition = read_edition(folder)
    if edition.value is None:
        return Outcome(None, edition.problems)
    filed = next((one for one in edition.value.records if one.record.id == record), None)
    if filed is None:
        near = closest(record, (one.record.id for one in edition.value.records))
        missing = error(
            "unknown-record",
            Origin(HEAD_FILE),
            f"no record {quoted(record)} could be read in this edition",
            f"Did you mean `{near}`?" if near else "Name the id of a record.",
        )
        return Outcome(None, in_reading_order([*edition.problems, missing]))
    score = read_score(edition.value)
    if score.value is None:
        return Outcome(None, score.problems)
    head = edition.value.head
    resolved = resolve(filed.record.place, score.value, head.edited_staff.n, filed)
    if resolved.value is None or has_errors(resolved.problems):
        return Outcome(None, in_reading_order([*score.problems, *resolved.problems]))
    movement = next(m for m in score.value.movements if m.n == resolved.value.movement)
    return Outcome(RecordPlace(edition.value, filed, movement, resolved.value), resolved.problems)
