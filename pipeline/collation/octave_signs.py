"""An octave sign that alters the sound is one difference, not one for every note under it.

In come the differences of notes and signs of a staff; out go the same without octave signs that
leave the sound, and without notes that are told by an octave sign.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from pipeline.collation.markings import SignDifference
from pipeline.collation.model import Difference, DifferenceKind

ByBar = Mapping[int, tuple[Difference, ...]]
"""Differences of notes by bar of the text."""


def told_by_octave_signs(
    notes: ByBar, signs: Iterable[SignDifference]
) -> tuple[ByBar, tuple[SignDifference, ...]]:
    """Return notes and signs that are told. Linear in the bars under the signs.

    A sign is told where notes under it are the same in another octave; they are then not told.
    """
    left = dict(notes)
    kept = []
    for sign in signs:
        told = sign.difference
        if told.kind is DifferenceKind.OCTAVE_SIGN:
            bars = [bar for bar in range(told.start.bar, told.end.bar + 1) if bar in left]
            others = {bar: tuple(d for d in left[bar] if not _under(d, told)) for bar in bars}
            if all(others[bar] == left[bar] for bar in bars):
                continue
            left |= others
        kept.append(sign)
    return left, tuple(kept)


def _under(difference: Difference, sign: Difference) -> bool:
    return sign.start <= difference.start <= sign.end and _in_another_octave(difference)


def _in_another_octave(difference: Difference) -> bool:
    """Return whether the reading has the same notes in another octave."""
    if difference.kind is not DifferenceKind.PITCH:
        return False
    text, reading = (
        [pitch for event in side.events for pitch in event.pitches]
        for side in (difference.text, difference.reading)
    )
    return len(text) == len(reading) and all(
        (a.step, a.alter) == (b.step, b.alter) for a, b in zip(text, reading, strict=True)
    )
