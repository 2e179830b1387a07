"""What two versions of a passage have differently in their signs: slurs, dynamics, words, fingers.

In come the markings of both sides, those of the version already at moments of the text; out go
differences. Markings are matched by kind, moments and content; on which side of the staff a sign
stands carries no meaning.
"""

from __future__ import annotations

from collections import defaultdict, deque
from collections.abc import Callable, Hashable, Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from itertools import pairwise

from pipeline.collation.model import Change, Difference, DifferenceKind, Side
from pipeline.score.model import Marking, MarkingKind, Moment, Span

KIND_OF_MARKING: Mapping[MarkingKind, DifferenceKind | None] = {
    MarkingKind.SLUR: DifferenceKind.SLUR,
    MarkingKind.DYNAMIC: DifferenceKind.DYNAMIC,
    MarkingKind.HAIRPIN: DifferenceKind.HAIRPIN,
    MarkingKind.TEMPO: DifferenceKind.TEMPO,
    MarkingKind.WORDS: DifferenceKind.WORDS,
    MarkingKind.FINGERING: DifferenceKind.FINGERING,
    MarkingKind.TRILL: DifferenceKind.ORNAMENT,
    MarkingKind.MORDENT: DifferenceKind.ORNAMENT,
    MarkingKind.TURN: DifferenceKind.ORNAMENT,
    MarkingKind.ARPEGGIO: DifferenceKind.ORNAMENT,
    MarkingKind.OCTAVE: DifferenceKind.OCTAVE_SIGN,
    MarkingKind.FERMATA: DifferenceKind.OTHER,
    MarkingKind.PEDAL: DifferenceKind.OTHER,
    MarkingKind.GLISSANDO: DifferenceKind.OTHER,
    MarkingKind.BREATH: DifferenceKind.OTHER,
    MarkingKind.OTHER: DifferenceKind.OTHER,
    MarkingKind.METER: DifferenceKind.METER,
    MarkingKind.REPEAT: DifferenceKind.REPEAT,
    MarkingKind.ENDING: DifferenceKind.ENDING,
    MarkingKind.TIE: None,  # ties are compared on the notes
}
"""How an editor groups what differs in each kind of sign."""

EXTENDED = frozenset({DifferenceKind.SLUR, DifferenceKind.HAIRPIN, DifferenceKind.OCTAVE_SIGN})
"""Kinds whose extent is what they mean; the others mean their starting moment."""

HELD_TO_NOTE = frozenset({DifferenceKind.SLUR, DifferenceKind.OCTAVE_SIGN})
"""Kinds that still hold for the note at whose onset they end."""

WORDED = frozenset({DifferenceKind.DYNAMIC, DifferenceKind.TEMPO, DifferenceKind.WORDS})
"""Kinds between which encodings choose freely: "cresc." may be a `dir` here, a `dynam` there."""


_SAYS_NOTHING: Mapping[MarkingKind, frozenset[str]] = {
    MarkingKind.FERMATA: frozenset({"norm", "inv"}),
    MarkingKind.TURN: frozenset({"upper"}),
    MarkingKind.MORDENT: frozenset({"lower"}),
}
"""MEI forms without a meaning of their own: the side of the staff on which a fermata opens
(data.FERMATA form), and the usual turn and mordent, whose sign is the same where a file names no
form (common practice, no source)."""


@dataclass(frozen=True)
class Placed:
    """A marking with its extent in moments of the text.

    Its moments are those of the notes it stands at. `by_time` holds the same with those ends that
    its file gives as a time, at no note, left where they are in the bar. `over` is when the last
    note under a hairpin ends (see `pipeline.collation.sign_ends`).
    """

    marking: Marking
    start: Moment
    end: Moment
    by_time: tuple[Moment, Moment] | None = None
    over: Moment | None = None

    @property
    def token(self) -> tuple[MarkingKind, str]:
        """What the sign is, wherever it stands; a fermata may open up or down."""
        idle = _SAYS_NOTHING.get(self.marking.kind, frozenset[str]())
        words = [word for word in self.marking.content.split() if word not in idle]
        return self.marking.kind, " ".join(words)


@dataclass(frozen=True)
class SignDifference:
    """A difference with where it lies: where its signs start, and the stretches that differ.

    Where a slur ends elsewhere, only what lies between the two ends differs; a note under both
    slurs is slurred in both versions.
    """

    difference: Difference
    starts: tuple[Moment, ...]
    stretches: tuple[tuple[Moment, Moment], ...]

    def touches(self, span: Span) -> bool:
        """Return whether a sign starts inside the place, or what differs reaches into it."""
        if any(span.start <= start < span.end for start in self.starts):
            return True
        return any(
            start < span.end and (end > span.start or (self._held and end == span.start))
            for start, end in self.stretches
        )

    @property
    def _held(self) -> bool:
        return self.difference.kind in HELD_TO_NOTE


Sides = dict[DifferenceKind, tuple[list[Placed], list[Placed]]]
Key = Callable[[Placed], Hashable]


def place_marking(
    marking: Marking,
    in_text: Callable[[Moment], Moment],
    by_time: Callable[[Moment], Moment] | None = None,
) -> Placed:
    """Return the marking at moments of the text; a sign without extent ends where it starts.

    `in_text` follows notes that stand at another time, `by_time` only the bars.
    """
    start = in_text(marking.start)
    end = in_text(marking.end) if marking.end is not None else start
    placed = Placed(marking, start, max(start, end))
    if by_time is None or (marking.start_id and (marking.end_id or marking.end is None)):
        return placed
    start = start if marking.start_id else by_time(marking.start)
    end = end if marking.end_id or marking.end is None else by_time(marking.end)
    return replace(placed, by_time=(start, start if marking.end is None else max(start, end)))


def compare_markings(
    text: Iterable[Placed], reading: Iterable[Placed], staff: int
) -> list[SignDifference]:
    """Return every difference, kind by kind, each marking in at most one of them."""
    sides = _by_kind(text, reading)
    for one, other in sides.values():
        _take(one, other, lambda p: (p.start, p.end, p.token))
        _take(one, other, lambda p: ((p.start, p.end), p.token), lambda p: (p.by_time, p.token))
        _end_together(one, other)
        _take(one, other, lambda p: (p.start, p.end, p.token))
    _drop_equal_words(sides)
    found: list[SignDifference] = []
    for kind, (one, other) in sides.items():
        compare = _compare_extended if kind in EXTENDED else _compare_points
        found += compare(kind, one, other, staff)
    return found


def _by_kind(text: Iterable[Placed], reading: Iterable[Placed]) -> Sides:
    sides: Sides = defaultdict(lambda: ([], []))
    for index, markings in enumerate((text, reading)):
        for placed in sorted(markings, key=lambda p: (p.start, p.end, p.token)):
            kind = KIND_OF_MARKING[placed.marking.kind]
            if kind in WORDED and not placed.token[1]:
                continue  # a tempo for playback only, without a word, is not printed
            if kind is not None:
                sides[kind][index].append(placed)
    return {kind: sides[kind] for kind in DifferenceKind if kind in sides}


def _end_together(text: list[Placed], reading: list[Placed]) -> None:
    """Let hairpins that are over with one note end where the side ends them that names the note.

    The other side gives the time at which that note ends.
    """
    for one, other in ((text, reading), (reading, text)):
        ends = {(p.over, p.token): p.end for p in other if p.over and p.marking.end_id}
        for index, placed in enumerate(one):
            if placed.over is None or placed.marking.end_id:
                continue
            end = ends.get((placed.over, placed.token))
            if end is not None and placed.start <= end:
                one[index] = replace(placed, end=end)


def _drop_equal_words(sides: Sides) -> None:
    """Set aside words that both sides have at one moment, if under another kind."""
    for kind in WORDED & sides.keys():
        for other in WORDED & sides.keys():
            _take(sides[kind][0], sides[other][1], lambda p: (p.start, p.token[1]))


def _take(
    text: list[Placed], reading: list[Placed], key: Key, of_reading: Key | None = None
) -> list[tuple[Placed, Placed]]:
    """Remove from both lists the pairs of one key, first come first paired, and return them.

    `of_reading` is the key of the reading's signs where it is another one. Linear.
    """
    waiting: dict[Hashable, deque[Placed]] = defaultdict(deque)
    for placed in reading:
        waiting[(of_reading or key)(placed)].append(placed)
    pairs = []
    for placed in text:
        partners = waiting.get(key(placed))
        if partners:
            pairs.append((placed, partners.popleft()))
    _remove(text, (one for one, _ in pairs))
    _remove(reading, (other for _, other in pairs))
    return pairs


def _remove(placed: list[Placed], taken: Iterable[Placed]) -> None:
    gone = {id(one) for one in taken}
    if gone:
        placed[:] = [one for one in placed if id(one) not in gone]


def _compare_points(
    kind: DifferenceKind, text: list[Placed], reading: list[Placed], staff: int
) -> list[SignDifference]:
    _take(text, reading, lambda p: (p.start, p.token))
    found = [
        _difference(kind, staff, Change.OTHERWISE, [a], [b])
        for a, b in _take(text, reading, lambda p: (p.start, _one_sign(kind, p)))
    ]
    if kind is not DifferenceKind.FINGERING:  # the same digit on the next note is another digit
        for bars in (0, 1, -1):
            found += [
                _difference(kind, staff, Change.MOVED, [a], [b])
                for a, b in _take(
                    text,
                    reading,
                    lambda p, bars=bars: (p.start.bar + bars, p.token),  # type: ignore[misc]
                    lambda p: (p.start.bar, p.token),
                )
            ]
    return found + _left_over(kind, text, reading, staff)


def _one_sign(kind: DifferenceKind, placed: Placed) -> MarkingKind | None:
    """Return what a sign must share with one that stands for it: a trill may become a turn."""
    return placed.token[0] if kind is DifferenceKind.OTHER else None


def _compare_extended(
    kind: DifferenceKind, text: list[Placed], reading: list[Placed], staff: int
) -> list[SignDifference]:
    _take(text, reading, lambda p: (p.start, p.end, p.token))
    found = [
        _difference(kind, staff, Change.DIVIDED, [whole], parts)
        for whole, parts in _take_parts(text, reading)
    ]
    found += [
        _difference(kind, staff, Change.JOINED, parts, [whole])
        for whole, parts in _take_parts(reading, text)
    ]
    steps: tuple[tuple[Change, Key], ...] = (
        (Change.OTHERWISE, lambda p: (p.start, p.end)),
        (Change.ENDS_ELSEWHERE, lambda p: (p.start, p.token)),
        (Change.STARTS_ELSEWHERE, lambda p: (p.end, p.token)),
    )
    for change, key in steps:
        found += [_difference(kind, staff, change, [a], [b]) for a, b in _take(text, reading, key)]
    for a, b in _take_overlapping(text, reading):
        found.append(_difference(kind, staff, Change.MOVED, [a], [b]))
    return found + _left_over(kind, text, reading, staff)


def _by_bar(placed: Iterable[Placed]) -> dict[int, list[Placed]]:
    """Return the signs in every bar that they touch, so that no sign is held against all others."""
    found: dict[int, list[Placed]] = defaultdict(list)
    for one in placed:
        for bar in range(one.start.bar, one.end.bar + 1):
            found[bar].append(one)
    return found


def _near(one: Placed, others: Mapping[int, list[Placed]]) -> list[Placed]:
    """Return the others that touch a bar of this one, in their order."""
    bars = range(one.start.bar, one.end.bar + 1)
    near = {id(other): other for bar in bars for other in others.get(bar, ())}
    return list(near.values())


def _take_parts(wholes: list[Placed], others: list[Placed]) -> list[tuple[Placed, list[Placed]]]:
    """Remove and return each sign that is several on the other side, with these."""
    by_bar, gone = _by_bar(others), set[int]()
    found = []
    for whole in wholes:
        near = [other for other in _near(whole, by_bar) if id(other) not in gone]
        parts = _parts_of(whole, near)
        if parts:
            gone.update(map(id, parts))
            found.append((whole, parts))
    _remove(wholes, (whole for whole, _ in found))
    _remove(others, (part for _, parts in found for part in parts))
    return found


def _take_overlapping(text: list[Placed], reading: list[Placed]) -> list[tuple[Placed, Placed]]:
    """Remove and return pairs that are the same sign for part of their time."""
    by_bar, gone = _by_bar(reading), set[int]()
    found = []
    for one in text:
        for other in _near(one, by_bar):
            overlap = one.start < other.end and other.start < one.end
            if id(other) not in gone and one.token == other.token and overlap:
                gone.add(id(other))
                found.append((one, other))
                break
    _remove(text, (one for one, _ in found))
    _remove(reading, (other for _, other in found))
    return found


def _parts_of(whole: Placed, others: list[Placed]) -> list[Placed]:
    """Return the two or more markings that follow each other within `whole`, or none.

    One of them must share its start or its end, so that small slurs of another voice under a long
    one are not taken for its parts.
    """
    inside = [
        p
        for p in others
        if p.token == whole.token and whole.start <= p.start and p.end <= whole.end
    ]
    follow = all(a.end <= b.start for a, b in pairwise(inside))
    if len(inside) < 2 or not follow:
        return []
    return inside if inside[0].start == whole.start or inside[-1].end == whole.end else []


def _left_over(
    kind: DifferenceKind, text: list[Placed], reading: list[Placed], staff: int
) -> list[SignDifference]:
    return [_difference(kind, staff, Change.MISSING, [placed], []) for placed in text] + [
        _difference(kind, staff, Change.ADDED, [], [placed]) for placed in reading
    ]


def _difference(
    kind: DifferenceKind, staff: int, change: Change, text: list[Placed], reading: list[Placed]
) -> SignDifference:
    both = [*text, *reading]
    difference = Difference(
        kind,
        staff,
        min(p.start for p in both),
        max(p.end for p in both),
        _side(text),
        _side(reading),
        change,
    )
    stretches = tuple(_stretches(change, text, reading))
    return SignDifference(difference, tuple(p.start for p in both), stretches)


def _stretches(
    change: Change, text: list[Placed], reading: list[Placed]
) -> Iterator[tuple[Moment, Moment]]:
    """Yield the stretches of time in which the two versions differ by these signs."""
    if change in {Change.OTHERWISE, Change.MISSING, Change.ADDED}:
        for placed in (*text, *reading):
            yield placed.start, placed.end
        return
    for parts in (text, reading):
        for part, following in pairwise(parts):
            yield part.end, following.start
    starts = text[0].start, reading[0].start
    ends = text[-1].end, reading[-1].end
    for one, other in (starts, ends):
        if one != other:
            yield min(one, other), max(one, other)


def _side(placed: list[Placed]) -> Side:
    if not placed:
        return Side()
    markings = tuple(p.marking for p in placed)
    return Side(marking=markings[0], parts=markings if len(markings) > 1 else ())
