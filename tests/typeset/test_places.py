"""What stands in the column at the left of a remark. The layout is our own."""

from __future__ import annotations

from fractions import Fraction

import pytest

from pipeline.edition.places import Place
from pipeline.score.model import Moment, Span
from pipeline.typeset.places import key_of
from pipeline.typeset.wording import wording_of
from tests.collation.letters import music

TEXT = music("2:C5 2:D5 | 2:E5 2:F5", numbers="49 50")


@pytest.mark.parametrize(
    ("place", "english", "german"),
    [
        ({"bar": 49}, "49", "49"),
        ({"bar": 49, "note": 1}, "49, note 1", "49, Note 1"),
        ({"bar": 49, "note": 1, "to": {"note": 2}}, "49, notes 1–2", "49, Noten 1–2"),
        ({"bar": 49, "beat": 1, "to": {"beat": 3.5}}, "49, beats 1–3½", "49, Zz. 1–3½"),
        ({"bar": 49, "to": {"bar": 50}}, "49–50", "49–50"),
        (
            {"bar": 49, "note": 1, "to": {"bar": 50, "note": 1}},
            "49–50, 49, note 1 – 50, note 1",
            "49–50, 49, Note 1 – 50, Note 1",
        ),
        (
            {"bar": 49, "to": {"bar": 50, "note": 1}},
            "49–50, to 50, note 1",
            "49–50, bis 50, Note 1",
        ),
        (
            {"bar": 49, "beat": 3, "to": {"bar": 50}},
            "49–50, from 49, beat 3",
            "49–50, ab 49, Zz. 3",
        ),
    ],
)
def test_the_key_of_a_place(place: dict[str, object], english: str, german: str) -> None:
    read = Place.model_validate({"movement": 1, **place})
    span = Span(1, 1, Moment(0, Fraction(0)), Moment(2, Fraction(0)), TEXT.events, True)
    for language, key in (("en", english), ("de", german)):
        written = str(key_of(read, span, TEXT, 1, wording_of(language)))
        assert written.replace("\u00a0", " ") == key
