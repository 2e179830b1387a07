"""How many seconds music takes at the tempo that the editor reckons with.

In comes the tempo of edition.yaml, out go exact seconds. A fermata, a ritardando or a change of
tempo that edition.yaml does not tell is not reckoned in.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

from pipeline.edition.head import Tempo
from pipeline.score.durations import quarters_of


@dataclass(frozen=True)
class Pace:
    """Seconds that a quarter note lasts."""

    seconds_of_quarter: Fraction

    def seconds(self, quarters: Fraction) -> Fraction:
        """Return what so many quarter notes last, in seconds."""
        return quarters * self.seconds_of_quarter


def pace_of(tempo: Tempo | None) -> Pace | None:
    """Return the pace of a tempo, None where no tempo is given."""
    if tempo is None:
        return None
    plain = tempo.beat.rstrip(".")
    beat = quarters_of(plain, len(tempo.beat) - len(plain))
    if beat is None:
        return None
    return Pace(60 / (beat * Fraction(tempo.per_minute)))
