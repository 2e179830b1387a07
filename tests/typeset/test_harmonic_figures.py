"""What harmonics ask of the hand, as a remark says it in each language."""

from __future__ import annotations

import pytest

from pipeline.strings.harmonic_facts import HarmonicFacts, way_as_written
from pipeline.strings.harmonic_path import Through
from pipeline.strings.instruments import INSTRUMENTS
from pipeline.typeset.harmonic_figures import harmonic_figures
from pipeline.typeset.wording import wording_of
from tests.collation.letters import music

VIOLIN = INSTRUMENTS["violin"]


def way(drawn: str) -> Through | None:
    return way_as_written(music(drawn).events, {}, VIOLIN)


def said(language: str, text: str, ossia: str) -> str:
    above = way(ossia)
    assert above is not None
    facts = HarmonicFacts(way(text), above, 328.0)
    return harmonic_figures(facts, wording_of(language)).striptags().replace("\u00a0", " ")


FIGURES = [
    (
        "2:A3+D4<^> 2:G4+C5<^>", "2:D5<> 2:D5<>",
        "On a string of 328 mm: text: spans of 61 to 73 mm, 1 move of the hand (46 mm); ossia: "
        "the hand stays where it is, natural harmonics only",
        "Auf einer Saite von 328 mm: Text: Spannen von 61 bis 73 mm, 1 Bewegung der Hand "
        "(46 mm); Ossia: die Hand bleibt liegen, nur natürliche Flageoletts",
    ),
    (
        "1:A5", "2:A3+C#4<^> 2:G4<>",
        "On a string of 328 mm: ossia: span of 58 mm, the hand stays where it is, 1 natural "
        "harmonic among 2 notes, 1 note 14 cents low",
        "Auf einer Saite von 328 mm: Ossia: Spanne von 58 mm, die Hand bleibt liegen, "
        "1 natürliches Flageolett unter 2 Tönen, 1 Ton um 14 Cent zu tief",
    ),
    (
        "1:A5", "2:Ab3+Eb4<^> 2:Ab3+Eb4<^>",
        "On a string of 328 mm: ossia: span of 103 mm, for wide hands only, the hand stays where "
        "it is",
        "Auf einer Saite von 328 mm: Ossia: Spanne von 103 mm, nur für weite Hände, die Hand "
        "bleibt liegen",
    ),
]  # fmt: skip


@pytest.mark.parametrize(("text", "ossia", "english", "german"), FIGURES)
def test_figures(text: str, ossia: str, english: str, german: str) -> None:
    assert said("en", text, ossia) == english
    assert said("de", text, ossia) == german


@pytest.mark.parametrize("drawn", ["1:A5", "1:A3+Eb4<^>", "1:D5+A5<>"])
def test_nothing_is_said_of_what_is_no_harmonic(drawn: str) -> None:
    """Nor of one that does not exist, nor of two at once."""
    assert way(drawn) is None
