"""A tempo holds for all staves: what a file repeats on each of them is one tempo.

In come differences of signs; out go those that are told.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator

from pipeline.collation.markings import SignDifference
from pipeline.collation.model import Change, Difference, DifferenceKind, Side
from pipeline.score.model import MarkingKind, Moment, Passage


def tempos_of_no_other_staff(
    signs: Iterable[SignDifference],
    text: Passage,
    reading: Passage,
    in_text: Callable[[Moment], Moment],
) -> list[SignDifference]:
    """Leave out a tempo of one side that the other has at this time, but on another staff."""
    found = list(signs)
    if not any(sign.difference.kind is DifferenceKind.TEMPO for sign in found):
        return found
    held = {
        Change.ADDED: set(_tempos(text, lambda moment: moment)),
        Change.MISSING: set(_tempos(reading, in_text)),
    }

    def elsewhere(difference: Difference) -> bool:
        side = difference.text if difference.change is Change.MISSING else difference.reading
        there = held.get(difference.change, set())
        return any((difference.start, words) in there for words in _words(side))

    return [
        sign
        for sign in found
        if sign.difference.kind is not DifferenceKind.TEMPO or not elsewhere(sign.difference)
    ]


def each_tempo_once(found: Iterable[Difference]) -> Iterator[Difference]:
    """Yield differences of all staves, in reading order, those of one tempo on the first staff."""
    seen: set[tuple[Moment, str, str]] = set()
    for difference in found:
        if difference.kind is DifferenceKind.TEMPO:
            sides = (("text", difference.text), ("reading", difference.reading))
            said = {(difference.start, name, word) for name, side in sides for word in _words(side)}
            if said <= seen:
                continue
            seen |= said
        yield difference


def _tempos(passage: Passage, in_text: Callable[[Moment], Moment]) -> Iterator[tuple[Moment, str]]:
    for marking in passage.markings:
        if marking.kind is MarkingKind.TEMPO:
            yield in_text(marking.start), " ".join(marking.content.split())


def _words(side: Side) -> list[str]:
    return [" ".join(marking.content.split()) for marking in side.markings]
