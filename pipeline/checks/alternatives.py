"""Which of a record's alternatives the part shows, and who is responsible for each."""

from __future__ import annotations

from collections.abc import Iterator

from pipeline.edition.records import (
    Bowing,
    BowingAlternative,
    FingeringAlternative,
    FingeringRecord,
)
from pipeline.strings.bowing import in_effect


def printed_fingerings(record: FingeringRecord) -> Iterator[tuple[str, FingeringAlternative]]:
    """Yield the alternatives that the part shows, with its agent; else the first."""
    for alternative in record.alternatives:
        if alternative.name in (record.printed or (record.alternatives[0].name,)):
            yield alternative.by or record.by, alternative


def printed_bowings(record: Bowing) -> Iterator[tuple[str, BowingAlternative]]:
    """Yield the alternatives that the part shows, in effect, with its agent; else the first."""
    for alternative in in_effect(record):
        if alternative.name in (record.printed or (record.alternatives[0].name,)):
            yield alternative.by or record.by, alternative
