"""A collation as lines for a terminal: every departure in columns, then the figures by witness."""

from __future__ import annotations

import textwrap
from collections.abc import Iterator, Sequence
from itertools import zip_longest

from pipeline.collation.bar_signs import KINDS_OF_BARS
from pipeline.collation.collated import BarDifference, Departure
from pipeline.desk.collation import Collated
from pipeline.desk.columns import columns
from pipeline.desk.plain_words import plain_words
from pipeline.typeset.collation_figures import CollationFigures, kind_of
from pipeline.typeset.collation_views import CountTable
from pipeline.typeset.collation_words import CollationWords
from pipeline.typeset.places import beat_in_words

_WIDEST = 34
"""Letters of a reading that stand on one line; the rest goes below."""


def collation_lines(collated: Collated) -> tuple[str, ...]:
    """Return the whole answer; movements in which nothing is to be shown are left out."""
    say = collated.wording.say
    if not collated.collations:
        return (plain_words(say("collation.none_encoded")),)
    lines: list[str] = []
    for movement in collated.material.score.movements:
        shown = [one for one in collated.shown if one.movement == movement.n]
        if shown:
            heading = plain_words(say("collation.columns.movement"))
            lines += [f"{heading} {movement.n}", *_departures(shown, movement.n, collated), ""]
    if not collated.shown and any(c.beside.obstacle is None for c in collated.collations.values()):
        lines += [_nothing_shown(collated), ""]
    return (*lines, *_figures(collated))


def _nothing_shown(collated: Collated) -> str:
    if collated.departures:
        return "Every difference is answered by a record."
    return plain_words(collated.wording.say("collation.none_differ"))


def _departures(
    departures: Sequence[Departure], movement: int, collated: Collated
) -> Iterator[str]:
    wording = collated.wording
    words = CollationWords(collated.material.texts[movement], movement, wording)
    names = ("kind", "text", "reading", "record")
    headings = [
        plain_words(wording.say("place.bar", bar="")),
        plain_words(wording.say("place.beat", beat="")),
        "",
        *(plain_words(wording.say(f"collation.columns.{n}")) for n in ("witnesses", *names)),
    ]
    rows: list[Sequence[str]] = []
    for one in departures:
        bar, beat, staff, text, reading = _told(one, words, collated)
        kind = plain_words(wording.say(f"collation.kinds.{kind_of(one)}"))
        who, record = ", ".join(one.witnesses), _record(one, collated)
        rows += _wrapped([bar, beat, staff, who, kind, text, reading, record])
    yield from columns(headings, rows)


def _told(
    departure: Departure, words: CollationWords, collated: Collated
) -> tuple[str, str, str, str, str]:
    """Return bar, beat, staff, and what stands in the text and in the witnesses."""
    first = departure.differences[0]
    bars = words.text.bars
    if isinstance(first, BarDifference):
        readings = words.bars(first)
        where = (bars[first.at].n if bars else "", "", "")
    else:
        collation = collated.collations[departure.witnesses[0], departure.movement]
        readings = words.readings(first, collation.beside)
        bar = bars[first.start.bar]
        if first.kind in KINDS_OF_BARS:
            return bar.n, "", "", plain_words(readings.text), plain_words(readings.reading)
        beat = beat_in_words(first.start.offset / bar.beat + 1)
        where = (bar.n, beat, plain_words(words.staff(first.staff)))
    return *where, plain_words(readings.text), plain_words(readings.reading)


def _record(departure: Departure, collated: Collated) -> str:
    say = collated.wording.say
    if departure.answers:
        return ", ".join(departure.answers)
    if departure.proposed:
        return f"{', '.join(departure.proposed)} ({plain_words(say('collation.proposed'))})"
    return plain_words(say("collation.open"))


def _wrapped(row: Sequence[str]) -> Iterator[Sequence[str]]:
    cells = [textwrap.wrap(cell, _WIDEST, break_long_words=False) or [""] for cell in row[:-1]]
    yield from zip_longest(*cells, [row[-1]], fillvalue="")


def _figures(collated: Collated) -> Iterator[str]:
    wording = collated.wording
    figures = CollationFigures(collated.material.score, collated.sigla, wording)
    names = ("witness", "movement", "bars", "notes", "likeness", "differences", "open")
    yield plain_words(wording.say("collation.sections.overview"))
    rows = figures.overview(collated.collations, collated.departures)
    cells = [[*map(plain_words, (row.siglum, row.movement, *row.cells))] for row in rows]
    filled = [[*row, *[""] * (len(names) - len(row))] for row in cells]
    headings = [plain_words(wording.say(f"collation.columns.{name}")) for name in names]
    yield from columns(headings, filled)
    for row in rows:
        for said in row.besides:
            named = f"{plain_words(row.siglum)}, {plain_words(row.movement)}"
            yield f"  {named}: {plain_words(said)}"
    for table in (figures.kinds(collated.departures), figures.set_aside(collated.set_aside)):
        if table.rows:
            yield from ("", *_counts(table, collated))


def _counts(table: CountTable, collated: Collated) -> Iterator[str]:
    everywhere = plain_words(collated.wording.say("collation.columns.all"))
    yield plain_words(table.caption)
    rows = [
        [plain_words(row.name), *(str(count) if count else "" for count in row.cells)]
        for row in table.rows
    ]
    yield from columns(["", *table.heads, everywhere], rows)
