"""Whole collations turned into departures: what several witnesses have alike stands together.

In come the collations of all witnesses and what the records say; out go departures in reading
order, each with the records that answer it. As long as some of its witnesses are answered and
others are not, a departure is two.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from fractions import Fraction

from pipeline.collation.answers import Answered, Answers
from pipeline.collation.collated import BarDifference, Collation, Departure
from pipeline.collation.markings import EXTENDED
from pipeline.collation.model import Difference, DifferenceKind
from pipeline.score.model import Event, Marking, Moment

_ORDER = {kind: index for index, kind in enumerate(DifferenceKind)}
_BOW_SIGNS = frozenset({"dnbow", "upbow"})

Place = tuple[int, Moment, int, int]
"""Where a departure stands in reading order: movement, moment, staff, kind."""


@dataclass
class _Alike:
    """What differs alike, with the witnesses that have it, in their order."""

    place: Place
    witnesses: list[str] = field(default_factory=list)
    differences: list[Difference | BarDifference] = field(default_factory=list)
    answered: list[Answered] = field(default_factory=list)


def departures(
    collations: Mapping[tuple[str, int], Collation], said: Answers
) -> tuple[Departure, ...]:
    """Return all departures by movement, moment, staff and kind. Linear in the differences.

    `said` is what the records of the edition say of these collations.
    """
    found = [*_alike(collations, said), *_alike_bars(collations, said)]
    found.sort(key=lambda one: one.place)
    return tuple(departure for one in found for departure in _divided(one))


def _alike(collations: Mapping[tuple[str, int], Collation], said: Answers) -> Iterable[_Alike]:
    found: dict[tuple[object, ...], _Alike] = {}
    for (siglum, movement), collation in collations.items():
        for difference in collation.differences:
            place = (movement, difference.start, difference.staff, _ORDER[difference.kind])
            one = found.setdefault((*place, *what_differs(difference)), _Alike(place))
            if siglum in one.witnesses:
                continue  # twice the same at one place: one word for both
            one.witnesses.append(siglum)
            one.differences.append(difference)
            one.answered.append(said.to(difference, siglum, movement))
    return found.values()


def what_differs(difference: Difference) -> tuple[object, ...]:
    """Return what is said of a witness by a difference, and nothing besides.

    A note that lacks its dot in two witnesses lacks it in both, whatever else one of them has
    otherwise there.
    """
    return (
        difference.change,
        difference.end,
        tuple(event.xml_id for event in difference.text.events if event.heads),
        tuple(marking.xml_id for marking in difference.text.markings),
        tuple(_event(event, difference.kind) for event in difference.reading.events if event.heads),
        tuple(_marking(marking, difference.kind) for marking in difference.reading.markings),
    )


def _event(event: Event, kind: DifferenceKind) -> tuple[object, ...]:
    match kind:
        case DifferenceKind.ARTICULATION:
            return tuple(sorted(set(event.articulations) - _BOW_SIGNS))
        case DifferenceKind.BOW_SIGN:
            return tuple(sorted(set(event.articulations) & _BOW_SIGNS))
        case DifferenceKind.ACCIDENTAL:
            return tuple(head.accidental for head in event.heads)
        case DifferenceKind.NOTE_HEAD:
            return tuple(head.shape for head in event.heads)
        case DifferenceKind.TIE:
            return ()  # the change says it
        case DifferenceKind.RHYTHM:
            return (event.onset, event.written, event.tuplet, event.grace, event.pitches)
        case _:
            return (event.onset, event.duration, event.grace, event.pitches)


def _marking(marking: Marking, kind: DifferenceKind) -> tuple[object, ...]:
    content = (marking.kind, " ".join(marking.content.split()))
    if kind not in EXTENDED:
        return content
    length = marking.end.bar - marking.start.bar if marking.end else None
    end = marking.end.offset if marking.end else None
    return (*content, marking.start.offset, length, end)


def _alike_bars(collations: Mapping[tuple[str, int], Collation], said: Answers) -> list[_Alike]:
    """Put bars together that are lacking alike, or that are added alike on the staves shared."""
    found: dict[tuple[object, ...], list[tuple[_Alike, Collation]]] = {}
    for (siglum, movement), collation in collations.items():
        for difference in collation.bars:
            where = (movement, difference.change, difference.after, difference.text)
            those = found.setdefault(where, [])
            one = next((o for o, c in those if _same_bars(o, c, difference, collation)), None)
            if one is None:
                at = difference.text[0] if difference.text else difference.after + 1
                one = _Alike((movement, Moment(at, Fraction(0)), 0, -1))
                those.append((one, collation))
            one.witnesses.append(siglum)
            one.differences.append(difference)
            one.answered.append(said.to_bars(difference, siglum, movement))
    return [one for those in found.values() for one, _ in those]


def _same_bars(
    one: _Alike, first: Collation, difference: BarDifference, collation: Collation
) -> bool:
    known = one.differences[0]
    if not isinstance(known, BarDifference) or len(known.reading) != len(difference.reading):
        return False
    shared = [staff for staff in first.beside.staves if staff in collation.beside.staves]
    return not known.reading or all(
        _bars_on(staff, first, known) == _bars_on(staff, collation, difference) for staff in shared
    )


def _bars_on(staff: int, collation: Collation, difference: BarDifference) -> list[object]:
    beside = collation.beside
    return [
        tuple(
            (event.onset, event.duration, event.grace, event.pitches)
            for event in beside.passage.events_in.get((beside.staves[staff], bar), ())
            if event.heads
        )
        for bar in difference.reading
    ]


def _divided(one: _Alike) -> Iterator[Departure]:
    """Yield a departure for the witnesses in each state: answered, proposed, open.

    Its records are those that speak of it for every one of its witnesses; where there is none that
    does, each record has a departure of its own.
    """
    for state in ("accepted", "proposed", "open"):
        members = [n for n, answered in enumerate(one.answered) if _state(answered) == state]
        for group in _by_record(one, members, state):
            yield Departure(
                one.place[0],
                tuple(one.witnesses[n] for n in group),
                tuple(one.differences[n] for n in group),  # type: ignore[arg-type]
                _common([one.answered[n].accepted for n in group]),
                _common([one.answered[n].proposed for n in group]),
            )


def _state(answered: Answered) -> str:
    return "accepted" if answered.accepted else "proposed" if answered.proposed else "open"


def _by_record(one: _Alike, members: Sequence[int], state: str) -> Iterator[list[int]]:
    if not members:
        return
    ids = {n: one.answered[n].accepted or one.answered[n].proposed for n in members}
    if state == "open" or _common(list(ids.values())):
        yield list(members)
        return
    groups: dict[tuple[str, ...], list[int]] = {}
    for n in members:
        groups.setdefault(ids[n], []).append(n)
    yield from groups.values()


def _common(ids: Sequence[tuple[str, ...]]) -> tuple[str, ...]:
    return tuple(name for name in ids[0] if all(name in others for others in ids))
