"""Seconds at a tempo: a metronome figure counts beats a minute (common practice, no source)."""

from __future__ import annotations

from fractions import Fraction

import pytest

from pipeline.edition.head import Tempo
from pipeline.strings.pace import pace_of


@pytest.mark.parametrize(
    ("beat", "per_minute", "quarters", "seconds"),
    [
        ("4", 60, 1, 1),
        ("4", 120, 4, 2),
        ("2", 60, 1, Fraction(1, 2)),
        ("4.", 40, 3, 3),
        ("8", 120, 1, 1),
        ("4..", 60, Fraction(7, 4), 1),
    ],
)
def test_seconds(beat: str, per_minute: float, quarters: Fraction, seconds: Fraction) -> None:
    pace = pace_of(Tempo.model_construct(beat=beat, per_minute=per_minute))
    assert pace is not None
    assert pace.seconds(Fraction(quarters)) == seconds


def test_no_tempo_no_seconds() -> None:
    assert pace_of(None) is None
