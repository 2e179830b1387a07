"""The legend: a sample of every kind of mark, each different from the others on paper."""

from __future__ import annotations

from itertools import combinations

import pytest

from pipeline.engrave.legend import LegendWords, Sample, samples
from pipeline.engrave.svg_for_print import Svg
from tests.engrave.decided import STYLE, words

WORDS = LegendWords(text="Text", ossia="ossia", tradition="tradition", reading="S")


@pytest.fixture(scope="module")
def drawn() -> dict[Sample, Svg]:
    return dict(samples(STYLE, WORDS, "Test Serif"))


def test_every_sample_is_drawn(drawn: dict[Sample, Svg]) -> None:
    assert set(drawn) == set(Sample)
    assert all(10 < picture.width_mm < 60 for picture in drawn.values())


def test_no_two_samples_look_alike(drawn: dict[Sample, Svg]) -> None:
    inks = {sample: picture.markup.partition(">")[2] for sample, picture in drawn.items()}
    assert all(inks[one] != inks[other] for one, other in combinations(Sample, 2))


@pytest.mark.parametrize(
    ("sample", "shown"),
    [
        (Sample.COMPOSER_FINGERING, ["1", "2", "4", "3"]),
        (Sample.EDITOR_FINGERING, ["[1]", "[2]", "[4]", "[3]"]),
        (Sample.OSSIA, ["ossia", "Text"]),
        (Sample.TRADITION, ["tradition", "Text"]),
        (Sample.VARIANT, ["Text", "S"]),
    ],
)
def test_a_sample_shows_its_words(
    drawn: dict[Sample, Svg], sample: Sample, shown: list[str]
) -> None:
    assert sorted(words(drawn[sample])) == sorted(shown)
