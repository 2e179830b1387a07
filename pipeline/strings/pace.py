"""How many seconds music takes at the tempo that the editor reckons with.

In come the tempo of a movement and its changes as edition.yaml tells them, out go exact seconds. A
fermata, a ritardando, or a tempo word that edition.yaml gives no figure for is not reckoned in.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Iterable
from dataclasses import dataclass
from fractions import Fraction

from pipeline.edition.head import MovementHead, Tempo
from pipeline.score.durations import quarters_of
from pipeline.score.model import Passage
from pipeline.strings.sounds import Sound


@dataclass(frozen=True)
class Pace:
    """Seconds that a quarter note lasts, from which bar index on; ascending."""

    seconds_of_quarter: tuple[tuple[int, Fraction], ...]

    def seconds(self, sounds: Iterable[Sound]) -> Fraction | None:
        """Return what the sounds last in seconds, None where one has no tempo."""
        total = Fraction(0)
        for sound in sounds:
            quarter = self.quarter_at(sound.main.bar)
            if quarter is None:
                return None
            total += sound.quarters * quarter
        return total

    def quarter_at(self, bar: int) -> Fraction | None:
        """Return how many seconds a quarter note lasts in the bar of that index, None if untold."""
        known = bisect_right(self.seconds_of_quarter, bar, key=lambda one: one[0])
        return self.seconds_of_quarter[known - 1][1] if known else None


def pace_of(movement: MovementHead, passage: Passage) -> Pace:
    """Return the pace of a movement; a change at a bar that is not there is passed over."""
    told = [(0, movement.tempo)] if movement.tempo else []
    found = {bar: _seconds_of_quarter(tempo) for bar, tempo in told}
    for change in movement.tempo_changes:
        if change.bar in passage.bar_index:
            found[passage.bar_index[change.bar]] = _seconds_of_quarter(change)
    return Pace(tuple(sorted(found.items())))


def _seconds_of_quarter(tempo: Tempo) -> Fraction:
    plain = tempo.beat.rstrip(".")
    beat = quarters_of(plain, len(tempo.beat) - len(plain))
    assert beat is not None, "edition.yaml lets no other note value pass"
    return 60 / (beat * Fraction(tempo.per_minute))
