"""What a witness has otherwise of whole bars: the meter, repeat signs, first and second endings.

In come the text and an encoding laid beside it; out go differences. Each is told once: a meter or
an ending at the bar from which it is otherwise, a repeat sign at the bar at whose end it stands.
They belong to all staves; they are told on the first that both have, as long as the whole bar.

A meter that one side does not state is not otherwise. A repeat sign before the first bar of a
movement changes nothing, for one goes back there without it (common practice, no source); one at
the edge of a few encoded bars may belong to what was not encoded.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from fractions import Fraction

from pipeline.collation.beside import Beside
from pipeline.collation.groups import Group, groups
from pipeline.collation.model import Change, Difference, DifferenceKind, Side
from pipeline.score.model import Bar, Marking, MarkingKind, Moment, Passage, Span

KINDS_OF_BAR_LINES = frozenset({DifferenceKind.REPEAT, DifferenceKind.ENDING})
"""Kinds that staves engraved one above the other cannot show: they have the same bar lines."""

KINDS_OF_BARS = KINDS_OF_BAR_LINES | {DifferenceKind.METER}
"""Kinds that belong to a bar, and so to every staff."""

START, END = "start", "end"
"""What a repeat sign is, as the content of its marking; `INSIDE` follows where it divides a bar."""

INSIDE = " inside"

_LAST = Fraction(-1)
"""Stands for the end of a group, however full its bars are."""

_Sign = tuple[str, Fraction]
"""START or END of what is repeated, and at how many quarters of a group."""


def bar_signs_in(text: Passage, beside: Beside) -> Mapping[int, tuple[Difference, ...]]:
    """Return the differences by bar of the text; compared once, and kept with `beside`."""
    if not beside.compared_bars or beside.compared_bars[0][0] is not text:
        found: dict[int, list[Difference]] = defaultdict(list)
        for difference in bar_signs(text, beside):
            found[difference.start.bar].append(difference)
        kept = {bar: tuple(those) for bar, those in found.items()}
        beside.compared_bars[:] = [(text, kept)]
    known: Mapping[int, tuple[Difference, ...]] = beside.compared_bars[0][1]
    return known


def bar_signs(text: Passage, beside: Beside) -> tuple[Difference, ...]:
    """Return what bars that both sides have differ in, in reading order. Linear in the bars."""
    staff = next(iter(beside.staves), None)
    if staff is None:
        return ()
    both = [group for group in groups(text, beside) if group.text and group.reading]
    return tuple(_Reader(text, beside, staff).read(both))


def element_of(marking: Marking) -> str:
    """Return the xml:id of a sign, of a sign of a bar that of its measure."""
    return marking.xml_id.partition(" ")[0]


def covers(span: Span, difference: Difference) -> bool:
    """Return whether a place, on whatever staff, holds all of the bar that a sign belongs to."""
    return span.start <= difference.start and difference.end <= span.end


@dataclass(frozen=True)
class _Reader:
    text: Passage
    beside: Beside
    staff: int

    def read(self, both: list[Group]) -> Iterator[Difference]:
        meters, endings = ("", ""), ("", "")
        for number, group in enumerate(both):
            ours = self.text.bars[group.text[0]]
            theirs = self.beside.passage.bars[group.reading[0]]
            before, meters = meters, (ours.meter, theirs.meter)
            if all(meters) and meters[0] != meters[1] and meters != before:
                yield self._told(DifferenceKind.METER, ours, theirs, *meters)
            yield from self._repeats(group, last=number == len(both) - 1)
            before, endings = endings, (ours.ending, theirs.ending)
            if endings[0] != endings[1] and endings != before:
                yield self._told(DifferenceKind.ENDING, ours, theirs, *endings)

    def _repeats(self, group: Group, last: bool) -> Iterator[Difference]:
        ours = _signs(self.text, group.text_starts)
        theirs = _signs(self.beside.passage, group.reading_starts)
        if ours == theirs:
            return
        passage = self.beside.passage
        for sign in sorted(ours.keys() ^ theirs.keys(), key=lambda s: (s[1] == _LAST, s[1], s[0])):
            what, at = sign
            bar = _bar_at(self.text, group.text_starts, sign)
            if (what, at, group.text[0]) == (START, Fraction(0), 0):
                continue
            other = _bar_at(passage, group.reading_starts, sign)
            if sign in ours and self._at_the_edge(sign, other, last):
                continue
            inside = at != _LAST and at not in {start for _, start in group.text_starts}
            name = what + INSIDE if inside else what
            mine, yours = (name if sign in side else "" for side in (ours, theirs))
            yield self._told(DifferenceKind.REPEAT, bar, other, mine, yours, what == END)

    def _at_the_edge(self, sign: _Sign, other: Bar, last: bool) -> bool:
        """Whether an encoding of a few bars would not show this sign."""
        held = self.beside.reading_bar
        if sign == (START, Fraction(0)):
            return other.index == 0 and min(held) > 0
        return last and sign == (END, _LAST) and max(held) < len(self.text.bars) - 1

    def _told(
        self, kind: DifferenceKind, bar: Bar, other: Bar, ours: str, theirs: str, end: bool = False
    ) -> Difference:
        change = Change.OTHERWISE
        if not ours or not theirs:
            change = Change.MISSING if ours else Change.ADDED
        return Difference(
            kind,
            self.staff,
            Moment(bar.index, Fraction(0)),
            Moment(bar.index, bar.filled),
            _side(kind, bar, ours, self.staff, end),
            _side(kind, other, theirs, self.beside.staves[self.staff], end),
            change,
        )


_MARKING_OF = {
    DifferenceKind.METER: MarkingKind.METER,
    DifferenceKind.REPEAT: MarkingKind.REPEAT,
    DifferenceKind.ENDING: MarkingKind.ENDING,
}


def _side(kind: DifferenceKind, bar: Bar, content: str, staff: int, end: bool) -> Side:
    if not content:
        return Side()
    at = Moment(bar.index, bar.filled if end else Fraction(0))
    # No element of a file is a repeat sign. No identifier has a space, so the name is of none.
    name = f"{bar.xml_id} {kind} {content}"
    return Side(marking=Marking(name, _MARKING_OF[kind], staff, at, content=content))


def _signs(passage: Passage, starts: tuple[tuple[int, Fraction], ...]) -> dict[_Sign, int]:
    """Return the repeat signs of the bars of a group, each with its bar."""
    found: dict[_Sign, int] = {}
    for number, (index, start) in enumerate(starts):
        bar = passage.bars[index]
        if bar.repeat_start:
            found[START, start] = index
        if bar.repeat_end:
            end = starts[number + 1][1] if number + 1 < len(starts) else _LAST
            found[END, end] = index
    return found


def _bar_at(passage: Passage, starts: tuple[tuple[int, Fraction], ...], sign: _Sign) -> Bar:
    """Return the bar of a group in which a sign stands, or would stand."""
    what, at = sign
    if at == _LAST:
        return passage.bars[starts[-1][0]]
    before = [i for i, start in starts if start < at or (what == START and start == at)]
    return passage.bars[before[-1] if before else starts[0][0]]
