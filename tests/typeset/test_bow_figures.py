"""Figures of a bowing in words."""

from __future__ import annotations

from fractions import Fraction

import pytest

from pipeline.strings.bow import Direction
from pipeline.strings.bow_facts import BowFacts
from pipeline.typeset.bow_figures import bow_figures
from pipeline.typeset.wording import wording_of

DOWN, UP = Direction.DOWN, Direction.UP


def facts(
    strokes: int, ends: Direction | None, shortest: str | None, longest: str | None
) -> BowFacts:
    low, high = (None if one is None else Fraction(one) for one in (shortest, longest))
    return BowFacts(strokes, ends, ends, high, low, None, (), ())


@pytest.mark.parametrize(
    ("told", "english", "german"),
    [
        (facts(1, UP, "5.46", "5.46"), "1 stroke of 5.5 s; an up bow",
         "1 Strich zu 5,5 s; im Aufstrich"),
        (facts(2, DOWN, "2.9", "2.9"), "2 strokes of 2.9 s; ends with a down bow",
         "2 Striche zu 2,9 s; endet im Abstrich"),
        (facts(3, UP, "0.258", "1.36"), "3 strokes of 0.26 to 1.4 s; ends with an up bow",
         "3 Striche zu 0,26 bis 1,4 s; endet im Aufstrich"),
        (facts(2, None, "1.001", "1.01"), "2 strokes of 1.0 s", "2 Striche zu 1,0 s"),
        (facts(4, UP, None, None), "4 strokes; ends with an up bow",
         "4 Striche; endet im Aufstrich"),
        (facts(0, None, None, None), "", ""),
    ],
)  # fmt: skip
def test_figures(told: BowFacts, english: str, german: str) -> None:
    for language, expected in (("en", english), ("de", german)):
        said = "; ".join(part.striptags() for part in bow_figures(told, wording_of(language)))
        assert said.replace("\u00a0", " ") == expected
