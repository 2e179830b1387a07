"""How the encoded witnesses agree: units of variation, and how often each agrees with each other.

In come the collations of all witnesses; out go the places where at least one departs from the text,
with the reading of every witness that holds the place, and what that comes to in figures. Witnesses
without an encoding do not appear. Linear in the differences times the square of the witnesses.
"""

from __future__ import annotations

from bisect import bisect_right
from collections import Counter, defaultdict
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from fractions import Fraction
from itertools import combinations

from pipeline.collation.bars import last_bar
from pipeline.collation.beside import Beside
from pipeline.collation.collated import BarChange, BarDifference, Collation
from pipeline.collation.departures import what_differs
from pipeline.collation.model import Difference, DifferenceKind
from pipeline.score.model import Moment

Kind = DifferenceKind | BarChange
Reading = frozenset[tuple[object, ...]]
"""What a witness has at a unit: one content for each of its departures, empty for the text's."""

KINDS: tuple[Kind, ...] = (*DifferenceKind, *BarChange)
"""Every kind, in the order in which tables show them."""


@dataclass(frozen=True)
class Unit:
    """A unit of variation: a place where at least one witness departs from the text in one kind.

    `readings` are by siglum and hold only the witnesses that have the bars and the staff. For whole
    bars `staff` is 0.
    """

    movement: int
    staff: int
    kind: Kind
    start: Moment
    end: Moment
    readings: Mapping[str, Reading]


@dataclass(frozen=True)
class Tally:
    """In how many of the units that both of a pair hold the two have the same reading."""

    agreements: int = 0
    units: int = 0

    @property
    def share(self) -> float | None:
        """The agreements as a share of the units (0 to 1), None where there is no unit."""
        return self.agreements / self.units if self.units else None


@dataclass(frozen=True)
class Agreement:
    """The units of variation of an edition, and the counts that follow from them.

    `pairs` and `pairs_by_kind` are by two sigla in the order of `witnesses`; `departures` count the
    units at which a witness departs from the text, `held` those that it holds, `singular` its
    readings that no other witness shares though another holds the place.
    """

    witnesses: tuple[str, ...]
    units: tuple[Unit, ...]
    pairs: Mapping[tuple[str, str], Tally]
    pairs_by_kind: Mapping[tuple[str, str], Mapping[Kind, Tally]]
    departures: Mapping[str, Mapping[Kind, int]]
    held: Mapping[str, int]
    singular: Mapping[str, int]

    @property
    def kinds(self) -> tuple[Kind, ...]:
        """The kinds that occur, in the order of tables."""
        occurring = {unit.kind for unit in self.units}
        return tuple(kind for kind in KINDS if kind in occurring)

    def pair(self, one: str, other: str) -> Tally:
        """Return the tally of two witnesses, in whatever order they are named."""
        return self.pairs[(one, other) if (one, other) in self.pairs else (other, one)]


@dataclass(frozen=True)
class _Departing:
    """One difference as it enters a unit. `voice` is 0 for what is no event of a voice."""

    siglum: str
    movement: int
    staff: int
    kind: Kind
    voice: int
    start: Moment
    end: Moment
    content: tuple[object, ...]

    @property
    def strand(self) -> tuple[int, int, str, int]:
        """What differences of one unit have in common, besides their overlapping."""
        return (self.movement, self.staff, self.kind, self.voice)


def agreement(collations: Mapping[tuple[str, int], Collation]) -> Agreement:
    """Return how the witnesses agree; those that cannot be compared at all are left out."""
    compared = [one for one in collations.values() if one.beside.obstacle is None]
    besides = {(one.siglum, one.movement): one.beside for one in compared}
    departing = [each for one in compared for each in _departing(one)]
    gaps = _gaps(departing)
    units = [_unit(group, besides, gaps) for group in _overlapping(departing)]
    units.sort(key=lambda u: (u.movement, u.start, u.end, u.staff, KINDS.index(u.kind)))
    return tallied(dict.fromkeys(one.siglum for one in compared), units)


def tallied(witnesses: Iterable[str], units: Iterable[Unit]) -> Agreement:
    """Count what the units say of the witnesses and of each two of them."""
    sigla, all_units = tuple(witnesses), tuple(units)
    patterns = Counter((unit.kind, _pattern(unit, sigla)) for unit in all_units)
    alike: Counter[tuple[tuple[str, str], Kind]] = Counter()
    common: Counter[tuple[tuple[str, str], Kind]] = Counter()
    departures: dict[str, Counter[Kind]] = {siglum: Counter() for siglum in sigla}
    held: Counter[str] = Counter()
    singular: Counter[str] = Counter()
    for (kind, pattern), count in patterns.items():
        holding = [(s, reading) for s, reading in zip(sigla, pattern, strict=True) if reading >= 0]
        for siglum, reading in holding:
            held[siglum] += count
            departures[siglum][kind] += count * (reading > 0)
            alone = reading > 0 and pattern.count(reading) == 1 and len(holding) > 1
            singular[siglum] += count * alone
        for (one, reading), (other, other_reading) in combinations(holding, 2):
            common[(one, other), kind] += count
            alike[(one, other), kind] += count * (reading == other_reading)
    by_kind = {
        pair: {
            kind: Tally(alike[pair, kind], common[pair, kind])
            for kind in KINDS
            if common[pair, kind]
        }
        for pair in combinations(sigla, 2)
    }
    return Agreement(
        witnesses=sigla,
        units=all_units,
        pairs={pair: _sum(tallies.values()) for pair, tallies in by_kind.items()},
        pairs_by_kind=by_kind,
        departures={siglum: dict(counts) for siglum, counts in departures.items()},
        held={siglum: held[siglum] for siglum in sigla},
        singular={siglum: singular[siglum] for siglum in sigla},
    )


def _pattern(unit: Unit, sigla: Iterable[str]) -> tuple[int, ...]:
    """Return who reads alike: the same number for the same reading, 0 the text's, -1 for none."""
    numbers: dict[Reading, int] = {frozenset(): 0}
    return tuple(
        numbers.setdefault(unit.readings[siglum], len(numbers)) if siglum in unit.readings else -1
        for siglum in sigla
    )


def _sum(tallies: Iterable[Tally]) -> Tally:
    all_of = list(tallies)
    return Tally(sum(t.agreements for t in all_of), sum(t.units for t in all_of))


def _departing(collation: Collation) -> Iterator[_Departing]:
    siglum, movement = collation.siglum, collation.movement
    for d in collation.differences:
        yield _Departing(
            siglum, movement, d.staff, d.kind, _voice(d), d.start, d.end,
            (d.start, *what_differs(d)),
        )  # fmt: skip
    for bars in collation.bars:
        start = Moment(bars.at, Fraction(0))
        end = Moment(bars.at + max(len(bars.text), 1), Fraction(0))
        content = (bars.change, bars.after, *_bar_content(bars, collation.beside))
        yield _Departing(siglum, movement, 0, bars.change, 0, start, end, content)


def _overlapping(departing: Iterable[_Departing]) -> Iterator[list[_Departing]]:
    """Yield the differences of each unit: one kind and voice, each overlapping with the next."""
    strands: dict[tuple[int, int, str, int], list[_Departing]] = defaultdict(list)
    for one in departing:
        strands[one.strand].append(one)
    for strand in strands.values():
        strand.sort(key=lambda one: (one.start, one.end))
        group = [strand[0]]
        start, end = strand[0].start, strand[0].end
        for one in strand[1:]:
            if one.start < end or one.start == start:
                group.append(one)
                end = max(end, one.end)
                continue
            yield group
            group, start, end = [one], one.start, one.end
        yield group


Gaps = Mapping[tuple[str, int, int, int], list[tuple[Moment, Moment]]]
"""Where notes of the text are missing, by siglum, movement, staff and voice, in order."""


def _gaps(departing: Iterable[_Departing]) -> Gaps:
    found: dict[tuple[str, int, int, int], list[tuple[Moment, Moment]]] = defaultdict(list)
    for one in departing:
        if one.kind is DifferenceKind.NOTES_MISSING:
            key = (one.siglum, one.movement, one.staff, one.voice)
            found[key].append((one.start, one.end))
    for places in found.values():
        places.sort()
    return found


def _unit(group: list[_Departing], besides: Mapping[tuple[str, int], Beside], gaps: Gaps) -> Unit:
    first = group[0]
    start, end = first.start, max(one.end for one in group)
    contents: dict[str, set[tuple[object, ...]]] = defaultdict(set)
    for one in group:
        contents[one.siglum].add(one.content)
    readings: dict[str, Reading] = {}
    for (siglum, movement), beside in besides.items():
        if movement != first.movement:
            continue
        if siglum in contents:
            readings[siglum] = frozenset(contents[siglum])
        elif _holds(beside, first, start, end) and not _in_gap(gaps, siglum, first, start, end):
            readings[siglum] = frozenset()
    return Unit(first.movement, first.staff, first.kind, start, end, readings)


def _holds(beside: Beside, at: _Departing, start: Moment, end: Moment) -> bool:
    """Return whether a witness without a difference there has the staff and all of the bars."""
    reached = beside.reading_bar
    bars = range(start.bar, last_bar(start, end) + 1)
    if isinstance(at.kind, BarChange):
        return all(bar in reached for bar in bars)
    return at.staff in beside.staves and all(reached.get(bar) is not None for bar in bars)


def _in_gap(gaps: Gaps, siglum: str, at: _Departing, start: Moment, end: Moment) -> bool:
    """Return whether the notes that the unit speaks of are missing in a witness.

    It then has no reading there, neither the text's nor another.
    """
    if not at.voice or at.kind is DifferenceKind.NOTES_ADDED:
        return False
    places = gaps.get((siglum, at.movement, at.staff, at.voice), [])
    index = bisect_right(places, start, key=lambda place: place[0])
    return any(
        place_start < max(end, start) and start < place_end
        for place_start, place_end in places[max(index - 1, 0) : index + 1]
    )


def _voice(difference: Difference) -> int:
    events = difference.text.events or difference.reading.events
    return events[0].voice if events else 0


def _bar_content(bars: BarDifference, beside: Beside) -> tuple[object, ...]:
    """Return which bars are missing, or what added ones hold on the first staff in common."""
    staff = min(beside.staves.items())[1] if beside.staves else 0
    added = tuple(
        (event.onset, event.duration, event.pitches)
        for bar in bars.reading
        for event in beside.passage.events_in.get((staff, bar), ())
        if event.heads
    )
    return (bars.text, len(bars.reading), added)
