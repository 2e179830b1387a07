"""Figures of a bowing in words."""

from __future__ import annotations

from fractions import Fraction

import pytest

from pipeline.collation.model import BowingPlayed
from pipeline.edition.records import BowingAlternative
from pipeline.strings.bow import Direction
from pipeline.strings.bow_facts import BowFacts
from pipeline.strings.bowing import Bowed
from pipeline.typeset.bow_figures import bow_figures
from pipeline.typeset.wording import wording_of

DOWN, UP = Direction.DOWN, Direction.UP


def played(
    strokes: int,
    ends: Direction | None,
    shortest: str | None,
    longest: str | None,
    retakes: tuple[int, ...] = (),
) -> BowingPlayed:
    low, high = (None if one is None else Fraction(one) for one in (shortest, longest))
    done = Bowed(BowingAlternative(name="x"), (), {}, 0, retakes)
    return BowingPlayed(done, BowFacts(strokes, ends, ends, high, low, None, None, (), ()))


@pytest.mark.parametrize(
    ("told", "english", "german"),
    [
        (played(1, UP, "5.46", "5.46"), "1 stroke of 5.5 s; an up bow",
         "1 Strich zu 5,5 s; im Aufstrich"),
        (played(2, DOWN, "2.9", "2.9"), "2 strokes of 2.9 s; ends with a down bow",
         "2 Striche zu 2,9 s; endet im Abstrich"),
        (played(3, UP, "0.258", "1.36"), "3 strokes of 0.26 to 1.4 s; ends with an up bow",
         "3 Striche zu 0,26 bis 1,4 s; endet im Aufstrich"),
        (played(2, None, "1.001", "1.01"), "2 strokes of 1.0 s", "2 Striche zu 1,0 s"),
        (played(4, UP, None, None), "4 strokes; ends with an up bow",
         "4 Striche; endet im Aufstrich"),
        (played(2, DOWN, "1", "1", (1,)),
         "2 strokes of 1.0 s; ends with a down bow; the bow is taken back once",
         "2 Striche zu 1,0 s; endet im Abstrich; der Bogen wird einmal zurückgenommen"),
        (played(0, None, None, None), "", ""),
    ],
)  # fmt: skip
def test_figures(told: BowingPlayed, english: str, german: str) -> None:
    for language, expected in (("en", english), ("de", german)):
        said = "; ".join(part.striptags() for part in bow_figures(told, wording_of(language)))
        assert said.replace("\u00a0", " ") == expected
