"""How often the same silence is written otherwise: other values, a rest of the bar, a space."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from fractions import Fraction
from itertools import zip_longest

from pipeline.collation.beside import Beside
from pipeline.score.model import Event, Passage

_Written = tuple[tuple[str, str], ...]


def rests_written_otherwise(text: Passage, beside: Beside, staff: int) -> int:
    """Count the silences of a staff that begin and end together and are written otherwise.

    Silence lasts from one note of a voice to the next within a bar; nothing written is silence too.
    """
    other, found = beside.staves[staff], 0
    for pair in beside.pairs:
        if pair.text is None or pair.reading is None:
            continue
        end = max(text.bars[pair.text].filled, beside.passage.bars[pair.reading].filled)
        ours = _voices(text.events_in.get((staff, pair.text), ()))
        theirs = _voices(beside.passage.events_in.get((other, pair.reading), ()))
        for one, reading in zip_longest(ours, theirs, fillvalue=()):
            mine, their = dict(_silences(one, end)), dict(_silences(reading, end))
            found += sum(mine[at] != their[at] for at in mine.keys() & their.keys())
    return found


def _voices(events: Sequence[Event]) -> list[list[Event]]:
    found: dict[int, list[Event]] = {}
    for event in events:
        if not event.grace:
            found.setdefault(event.voice, []).append(event)
    return [found[voice] for voice in sorted(found)]


def _silences(
    voice: Sequence[Event], end: Fraction
) -> Iterator[tuple[tuple[Fraction, Fraction], _Written]]:
    """Yield each silence of a voice: from, to, and what is written for it."""
    start, written = Fraction(0), []
    for event in voice:
        if not event.heads:
            written.append((event.kind.value, event.written))
            continue
        if event.onset > start:
            yield (start, event.onset), tuple(written)
        start, written = event.onset + event.duration, []
    if end > start:
        yield (start, end), tuple(written)
