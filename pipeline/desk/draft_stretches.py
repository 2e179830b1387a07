"""Which open departures of one staff overlap, so that one record has to speak of them.

Differences of notes, and signs that stand at a note, go together where they overlap. A slur or a
hairpin stands for itself, however many notes lie under it; but what witnesses have for one and the
same slur is one decision. What belongs to whole bars goes bar by bar.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass

from pipeline.collation.bar_signs import KINDS_OF_BARS
from pipeline.collation.collated import Departure
from pipeline.collation.markings import EXTENDED, HELD_TO_NOTE
from pipeline.collation.model import Difference
from pipeline.score.model import Moment

Pair = tuple[Departure, Difference]
"""A departure with what differs in it."""


def stretches(pairs: Iterable[Pair]) -> list[tuple[Departure, ...]]:
    """Return the departures of one staff in groups, in reading order. Linear after sorting."""
    ordered = sorted(pairs, key=lambda pair: (pair[1].start, pair[1].end))
    of_bars = [pair for pair in ordered if pair[1].kind in KINDS_OF_BARS]
    extended = [pair for pair in ordered if pair[1].kind in EXTENDED]
    at_notes = [
        pair
        for pair in ordered
        if pair[1].kind not in KINDS_OF_BARS and pair[1].kind not in EXTENDED
    ]
    found = _overlapping(at_notes)
    alone: list[_Stretch] = []
    index = 0
    for pair in extended:
        start, end = pair[1].start, pair[1].end
        while index + 1 < len(found) and found[index + 1].start <= start:
            index += 1
        if found and found[index].start <= start and found[index].covers(pair[1]):
            found[index].pairs.append(pair)
        else:
            alone.append(_Stretch(start, end, [pair]))
    joined = [*_bar_by_bar(of_bars), *_of_one_matter([*found, *alone])]
    return [
        tuple(departure for departure, _ in one.pairs)
        for one in sorted(joined, key=lambda one: one.start)
    ]


@dataclass
class _Stretch:
    """Departures that belong together, and from when to when they last."""

    start: Moment
    end: Moment
    pairs: list[Pair]

    def covers(self, difference: Difference) -> bool:
        """Return whether all of a sign that begins here lies within; a slur holds its last note."""
        held = difference.kind in HELD_TO_NOTE and difference.start < difference.end
        return difference.end < self.end if held else difference.end <= self.end


def _overlapping(pairs: Iterable[Pair]) -> list[_Stretch]:
    found: list[_Stretch] = []
    for pair in pairs:
        start, end = pair[1].start, pair[1].end
        last = found[-1] if found else None
        if last is not None and (start < last.end or start == last.start):
            last.end = max(last.end, end)
            last.pairs.append(pair)
        else:
            found.append(_Stretch(start, end, [pair]))
    return found


def _bar_by_bar(pairs: Iterable[Pair]) -> Iterator[_Stretch]:
    found: dict[int, _Stretch] = {}
    for pair in pairs:
        new = _Stretch(pair[1].start, pair[1].end, [])
        found.setdefault(pair[1].start.bar, new).pairs.append(pair)
    yield from found.values()


def _of_one_matter(found: Sequence[_Stretch]) -> list[_Stretch]:
    """Join what is about one sign of the text, or of one kind with one beginning or one end."""
    of: dict[object, _Stretch] = {}
    keys_of: dict[int, list[object]] = {}
    for stretch in found:
        keys = [key for pair in stretch.pairs for key in _matter(pair[1])]
        known = {id(of[key]): of[key] for key in keys if key in of}
        for other in known.values():
            stretch.start = min(stretch.start, other.start)
            stretch.end = max(stretch.end, other.end)
            stretch.pairs = [*other.pairs, *stretch.pairs]
            keys += keys_of.pop(id(other))
        keys_of[id(stretch)] = keys
        of.update(dict.fromkeys(keys, stretch))
    return list({id(stretch): stretch for stretch in of.values()}.values())


def _matter(difference: Difference) -> Iterator[object]:
    yield difference.kind, "from", difference.start
    if difference.kind in EXTENDED:
        yield difference.kind, "to", difference.end
        yield from (marking.xml_id for marking in difference.text.markings)
