"""What two versions of a passage have differently in their signs: slurs, dynamics, words, fingers.

In come the markings of both sides, those of the version already at moments of the text; out go
differences. Markings are matched by kind, moments and content; on which side of the staff a sign
stands carries no meaning.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass
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
    MarkingKind.TIE: None,  # ties are compared on the notes
}
"""How an editor groups what differs in each kind of sign."""

EXTENDED = frozenset({DifferenceKind.SLUR, DifferenceKind.HAIRPIN, DifferenceKind.OCTAVE_SIGN})
"""Kinds whose extent is what they mean; the others mean their starting moment."""

HELD_TO_NOTE = frozenset({DifferenceKind.SLUR, DifferenceKind.OCTAVE_SIGN})
"""Kinds that still hold for the note at whose onset they end."""

WORDED = frozenset({DifferenceKind.DYNAMIC, DifferenceKind.TEMPO, DifferenceKind.WORDS})
"""Kinds between which encodings choose freely: "cresc." may be a `dir` here, a `dynam` there."""


_OPENS = frozenset({"norm", "inv"})
"""MEI fermata forms (data.FERMATA form): the side of the staff, not the length."""


@dataclass(frozen=True)
class Placed:
    """A marking with its extent in moments of the text."""

    marking: Marking
    start: Moment
    end: Moment

    @property
    def token(self) -> tuple[MarkingKind, str]:
        """What the sign is, wherever it stands; a fermata may open up or down."""
        words = self.marking.content.split()
        if self.marking.kind is MarkingKind.FERMATA:
            words = [word for word in words if word not in _OPENS]
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
Match = Callable[[Placed, Placed], bool]


def place_marking(marking: Marking, in_text: Callable[[Moment], Moment]) -> Placed:
    """Return the marking at moments of the text; a sign without extent ends where it starts."""
    start = in_text(marking.start)
    end = in_text(marking.end) if marking.end is not None else start
    return Placed(marking, start, max(start, end))


def compare_markings(
    text: Iterable[Placed], reading: Iterable[Placed], staff: int
) -> list[SignDifference]:
    """Return every difference, kind by kind, each marking in at most one of them."""
    sides = _by_kind(text, reading)
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


def _drop_equal_words(sides: Sides) -> None:
    """Set aside words that both sides have at one moment, if under another kind."""
    for kind in WORDED & sides.keys():
        for other in WORDED & sides.keys():
            _take(
                sides[kind][0],
                sides[other][1],
                lambda a, b: a.start == b.start and a.token[1] == b.token[1],
            )


def _take(text: list[Placed], reading: list[Placed], match: Match) -> list[tuple[Placed, Placed]]:
    """Remove from both lists the pairs that match, first come first paired, and return them."""
    pairs = []
    for placed in list(text):
        partner = next((other for other in reading if match(placed, other)), None)
        if partner is not None:
            text.remove(placed)
            reading.remove(partner)
            pairs.append((placed, partner))
    return pairs


def _compare_points(
    kind: DifferenceKind, text: list[Placed], reading: list[Placed], staff: int
) -> list[SignDifference]:
    _take(text, reading, lambda a, b: a.start == b.start and a.token == b.token)
    found = [
        _difference(kind, staff, Change.OTHERWISE, [a], [b])
        for a, b in _take(text, reading, lambda a, b: a.start == b.start and _one_sign(kind, a, b))
    ]
    if kind is not DifferenceKind.FINGERING:  # the same digit on the next note is another digit
        for moved in (_within_the_bar, _by_a_bar):
            found += [
                _difference(kind, staff, Change.MOVED, [a], [b])
                for a, b in _take(text, reading, moved)
            ]
    return found + _left_over(kind, text, reading, staff)


def _one_sign(kind: DifferenceKind, text: Placed, reading: Placed) -> bool:
    """Return whether one sign may stand for the other: a trill for a turn, no fermata for both."""
    return kind is not DifferenceKind.OTHER or text.token[0] == reading.token[0]


def _within_the_bar(text: Placed, reading: Placed) -> bool:
    return text.token == reading.token and text.start.bar == reading.start.bar


def _by_a_bar(text: Placed, reading: Placed) -> bool:
    return text.token == reading.token and abs(text.start.bar - reading.start.bar) == 1


def _compare_extended(
    kind: DifferenceKind, text: list[Placed], reading: list[Placed], staff: int
) -> list[SignDifference]:
    _take(text, reading, lambda a, b: (a.start, a.end, a.token) == (b.start, b.end, b.token))
    found = []
    for whole in list(text):
        parts = _parts_of(whole, reading)
        if parts:
            text.remove(whole)
            reading[:] = [p for p in reading if p not in parts]
            found.append(_difference(kind, staff, Change.DIVIDED, [whole], parts))
    for whole in list(reading):
        parts = _parts_of(whole, text)
        if parts:
            reading.remove(whole)
            text[:] = [p for p in text if p not in parts]
            found.append(_difference(kind, staff, Change.JOINED, parts, [whole]))
    steps: tuple[tuple[Change, Match], ...] = (
        (Change.OTHERWISE, lambda a, b: (a.start, a.end) == (b.start, b.end)),
        (Change.ENDS_ELSEWHERE, lambda a, b: a.start == b.start and a.token == b.token),
        (Change.STARTS_ELSEWHERE, lambda a, b: a.end == b.end and a.token == b.token),
        (
            Change.MOVED,
            lambda a, b: a.token == b.token and a.start < b.end and b.start < a.end,
        ),
    )
    for change, match in steps:
        found += [
            _difference(kind, staff, change, [a], [b]) for a, b in _take(text, reading, match)
        ]
    return found + _left_over(kind, text, reading, staff)


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
