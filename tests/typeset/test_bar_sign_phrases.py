"""Meters, repeat signs and endings that differ, in the trade's words, English and German.

The turns of phrase are common practice of critical reports, no source.
"""

from __future__ import annotations

from typing import Any

import pytest

from pipeline.collation.beside import BarPair, Beside
from pipeline.collation.differences import differences
from pipeline.collation.model import Comparison, Version
from pipeline.score.model import Passage
from pipeline.typeset.collation_words import CollationWords
from pipeline.typeset.phrases import phrases
from pipeline.typeset.wording import wording_of
from tests.collation.letters import music, whole, with_bar_signs

BARS = "1:C5 | 1:D5 | 1:E5"


def signed(**signs: Any) -> Passage:
    return with_bar_signs(music(BARS), **signs)


def compared(text: Passage, reading: Passage, first: int, last: int) -> Comparison:
    beside = Beside(reading, {1: 1}, tuple(BarPair(n, n) for n in range(3)))
    version = Version(reading, tuple(range(3)), 1, "encoding", ("E",), None, beside)
    return Comparison(version, 0, differences(text, whole(text, first, last), version))


def said(text: Passage, reading: Passage, language: str, first: int = 1, last: int = 1) -> str:
    comparison = compared(text, reading, first, last)
    told = phrases(comparison, text, whole(text, first, last), wording_of(language))
    return "; ".join(one.striptags() for one in told).replace("\u00a0", " ")


PHRASES = [
    ({"meters": {1: "3/4"}}, {"meters": {1: "6/8"}}, "6/8 instead of 3/4", "6/8 statt 3/4"),
    ({"ends": {1}}, {}, "repeat sign lacking at the end of the bar",
     "Wiederholungszeichen fehlt am Taktende"),
    ({"starts": {1}}, {}, "repeat sign lacking at the beginning of the bar",
     "Wiederholungszeichen fehlt am Taktanfang"),
    ({}, {"ends": {1}}, "with repeat sign at the end of the bar",
     "zusätzlich Wiederholungszeichen am Taktende"),
    ({"endings": {1: "1"}}, {}, "ending 1 lacking", "Voltenklammer 1 fehlt"),
    ({}, {"endings": {1: "2"}}, "with ending 2", "zusätzlich Voltenklammer 2"),
    ({"endings": {1: "1"}}, {"endings": {1: "1, 2"}}, "ending 1, 2 instead of ending 1",
     "Voltenklammer 1, 2 statt Voltenklammer 1"),
]  # fmt: skip


@pytest.mark.parametrize(("text", "reading", "english", "german"), PHRASES)
def test_what_a_bar_has_otherwise(
    text: dict[str, Any], reading: dict[str, Any], english: str, german: str
) -> None:
    versions = signed(**text), signed(**reading)
    assert said(*versions, "en") == english
    assert said(*versions, "de") == german


def test_a_place_of_several_bars_names_the_bar() -> None:
    text = signed(meters={0: "3/4"}, ends={1})
    reading = signed(meters={0: "6/8"})
    assert said(text, reading, "en", 0, 2) == (
        "6/8 instead of 3/4 (bar 1); repeat sign lacking at the end of the bar (bar 2)"
    )


def test_both_sides_in_columns_without_a_beat() -> None:
    text = signed(meters={1: "3/4"}, ends={1})
    comparison = compared(text, signed(meters={1: "6/8"}), 1, 1)
    beside = comparison.version.beside
    assert beside is not None
    words = CollationWords(text, 1, wording_of("en"))
    rows = [
        (words.place(d), words.readings(d, beside).text, words.readings(d, beside).reading)
        for d in comparison.differences
    ]
    assert [(str(place), str(ours)) for place, ours, _ in rows] == [
        ("", "3/4"),
        ("", "repeat sign at the end of the bar"),
    ]
    assert rows[0][2] == "6/8"
    assert "nothing" in rows[1][2]
