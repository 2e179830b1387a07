"""The changes between two states as lines for a terminal, movement by movement."""

from __future__ import annotations

import textwrap
from collections import Counter
from collections.abc import Iterator, Sequence
from itertools import zip_longest

from markupsafe import Markup

from pipeline.desk.changes import Changes
from pipeline.desk.columns import columns
from pipeline.desk.plain_words import plain_words
from pipeline.edition.changes import Turn
from pipeline.typeset.change_rows import Row

_WIDEST = {"what": 50, "was": 36, "now": 36}
"""Letters of a cell that stand on one line, by column; the rest goes below."""

_COLUMNS = ("bar", "what", "record", "was", "now")


def changes_lines(changes: Changes) -> tuple[str, ...]:
    """Return the whole answer: the music, edition.yaml, texts, what is aside, and how much."""
    say = changes.wording.say
    names = {"old": changes.old.name, "new": changes.new.name}
    if changes.none:
        return (plain_words(say("changes.none", None, **names)),)
    lines: list[str] = []
    for n, rows in changes.movements.items():
        lines += [plain_words(say("changes.entries.movements", entry=str(n)))]
        lines += [*_table(changes, rows), ""]
    for heading, rows in changes.further.items():
        if rows:
            lines += [plain_words(heading), *_table(changes, rows), ""]
    lines += list(_written_otherwise(changes))
    return (*lines, *_counts(changes))


def _table(changes: Changes, rows: Sequence[Row]) -> Iterator[str]:
    headings = [plain_words(changes.wording.say(f"changes.columns.{n}")) for n in _COLUMNS]
    cells: list[Sequence[str]] = []
    for row in rows:
        bar = ", ".join(part for part in (row.bars, plain_words(row.position)) if part)
        what = ": ".join(plain_words(part) for part in (row.what, row.label) if part)
        sides = (plain_words(row.was), plain_words(row.now))
        cells += _wrapped([bar, what, row.record, *sides])
    yield from columns(headings, cells)


def _wrapped(row: Sequence[str]) -> Iterator[Sequence[str]]:
    cells = [
        textwrap.wrap(cell, _WIDEST.get(name, 80), break_long_words=False) or [""]
        for name, cell in zip(_COLUMNS, row, strict=True)
    ]
    yield from zip_longest(*cells, fillvalue="")


def _written_otherwise(changes: Changes) -> Iterator[str]:
    for said in changes.written_otherwise:
        yield from (*textwrap.wrap(plain_words(said), 96), "")


def _counts(changes: Changes) -> Iterator[str]:
    """Yield how many records became what."""
    counted = Counter(change.turn for change in changes.records)
    said = [plain_words(_counted(changes, turn, counted[turn])) for turn in Turn if counted[turn]]
    if said:
        yield ", ".join(said)


def _counted(changes: Changes, turn: Turn, n: int) -> Markup:
    what = changes.wording.say(f"changes.turns.{turn.value}")
    return changes.wording.say("changes.counted", n, what=what)
