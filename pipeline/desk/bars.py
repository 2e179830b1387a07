"""The command `places`: a movement and a bar number in, what stands in that bar out."""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction
from itertools import groupby
from pathlib import Path

from pipeline.desk.columns import aligned
from pipeline.problems import Origin, Outcome, error, in_reading_order
from pipeline.score.listing import ListedEvent, bar_listing


def bar_lines(folder: Path, movement: int, bar: str) -> Outcome[tuple[str, ...]]:
    """Return what stands in a bar, for a person who writes a record."""
    from pipeline.edition.read import read_edition
    from pipeline.score.read import read_score

    edition = read_edition(folder)
    if edition.value is None:
        return Outcome(None, edition.problems)
    score = read_score(edition.value)
    movements = {m.n: m for m in score.value.movements} if score.value else {}
    if not movements:
        return Outcome(None, in_reading_order([*edition.problems, *score.problems]))
    if movement not in movements:
        numbers = ", ".join(str(n) for n in movements)
        missing = error(
            "no-such-movement",
            edition.value.head_origins.at("movements"),
            f"there is no movement {movement}; the movements are {numbers}",
            "Name one of these.",
        )
        return Outcome(None, in_reading_order([*score.problems, missing]))
    rows = bar_listing(movements[movement], bar)
    if not rows:
        bars = movements[movement].passage.bars
        missing = error(
            "no-such-bar",
            Origin(movements[movement].passage.file),
            f"movement {movement} has no bar {bar}; it has bars {bars[0].n} to {bars[-1].n}",
            "Name one of these.",
        )
        return Outcome(None, (missing,))
    return Outcome(tuple(_lines(rows)), score.problems)


_HEADINGS = ("beat", "note", "pitch", "", "value", "xml:id", "markings")


def _lines(rows: tuple[ListedEvent, ...]) -> Iterator[str]:
    """Yield one line a row, and above the rows of each staff its name and the headings."""
    headings, *lines = aligned([_HEADINGS, *map(_cells, rows)])
    pairs = zip(rows, lines, strict=True)
    for (number, label), of_staff in groupby(
        pairs, lambda pair: (pair[0].staff, pair[0].staff_label)
    ):
        yield from ("", f"staff {number} {label}", headings)
        yield from (line for _, line in of_staff)


def _cells(row: ListedEvent) -> tuple[str, ...]:
    return (
        _beat(row.beat),
        "" if row.note is None else str(row.note),
        " ".join(row.pitches) or row.kind.value,
        " ".join(row.scientific),
        row.value,
        row.xml_id,
        ", ".join(row.markings),
    )


def _beat(beat: Fraction) -> str:
    """Write a beat as a record may: 2, 2.5 or 2 1/3."""
    if 8 % beat.denominator == 0:
        return f"{float(beat):g}"
    return f"{beat.numerator // beat.denominator} {beat % 1}"
