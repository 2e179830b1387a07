"""Rows in, lines out: columns as wide as what stands in them, for a terminal."""

from __future__ import annotations

from collections.abc import Sequence

Row = Sequence[str]


def columns(headings: Row, rows: Sequence[Row]) -> list[str]:
    """Return the headings and the rows as aligned lines; columns without content are left out."""
    kept = [column for column in range(len(headings)) if any(row[column] for row in rows)]
    return aligned([[line[column] for column in kept] for line in (headings, *rows)])


def aligned(rows: Sequence[Row]) -> list[str]:
    """Return the rows as lines, indented, every cell as wide as the widest of its column."""
    widths = [max(map(len, column)) for column in zip(*rows, strict=True)]
    return [
        "  "
        + "  ".join(cell.ljust(width) for cell, width in zip(row, widths, strict=True)).rstrip()
        for row in rows
    ]
