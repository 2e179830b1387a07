"""Every language says everything, and fills in the same names."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date
from enum import StrEnum

import pytest
from babel import Locale
from markupsafe import Markup

from pipeline.edition.head import Role, WitnessKind
from pipeline.edition.layer import Layer
from pipeline.edition.records import Certainty, Purpose
from pipeline.engrave.legend import Sample
from pipeline.problems import Origin
from pipeline.score.model import MarkingKind
from pipeline.typeset.wording import (
    Wording,
    find_wording,
    languages,
    placeholders,
    wording_of,
)

KINDS = ("reading", "emendation", "fingering", "bowing", "ossia", "tradition", "remark")


def test_english_and_german_are_there() -> None:
    assert {"en", "de"} <= set(languages())


@pytest.mark.parametrize("language", languages())
def test_every_language_has_every_text_with_the_same_names(language: str) -> None:
    ours, english = wording_of(language).texts, wording_of("en").texts
    assert set(ours) == set(english)
    for key, text in english.items():
        assert isinstance(ours[key], str) == isinstance(text, str), key
        assert placeholders(ours[key]) == placeholders(text), key


@pytest.mark.parametrize("language", languages())
def test_every_plural_form_of_the_language_is_there(language: str) -> None:
    wanted = set(Locale.parse(language).plural_form.tags) | {"other"}
    for key, text in wording_of(language).texts.items():
        if not isinstance(text, str):
            assert set(text) == wanted, key


@pytest.mark.parametrize("language", languages())
@pytest.mark.parametrize(
    ("section", "members"),
    [
        ("kinds", KINDS),
        ("reading.layers", Layer),
        ("reading.about", Layer),
        ("people.roles", Role),
        ("sources.kinds", WitnessKind),
        ("fingering.purposes", Purpose),
        ("remark.levels", Certainty),
        ("markings", MarkingKind),
        ("reading.samples", [sample.name for sample in Sample]),
    ],
)
def test_whatever_a_record_can_name_has_a_word(
    language: str, section: str, members: Iterable[str | StrEnum]
) -> None:
    texts = wording_of(language).names(section)
    assert {str(getattr(member, "value", member)) for member in members} <= set(texts)


@pytest.mark.parametrize("language", languages())
def test_no_text_brings_markup_along(language: str) -> None:
    for key, text in wording_of(language).texts.items():
        for one in [text] if isinstance(text, str) else text.values():
            assert "<" not in one, key


def test_a_missing_language_is_a_problem_that_names_those_there_are() -> None:
    found = find_wording("xx", Origin("edition.yaml", 7, 3))
    assert found.value is None
    (problem,) = found.problems
    assert str(problem.origin) == "edition.yaml:7:3"
    assert problem.message == "there is no wording for the language `xx`"
    assert "de, en" in problem.remedy


def test_a_language_with_wording_is_no_problem() -> None:
    assert find_wording("de", Origin("edition.yaml")).problems == ()


def test_a_name_that_is_not_filled_in_is_an_error_not_a_gap() -> None:
    with pytest.raises(KeyError):
        wording_of("en").say("differences.instead", reading="a")
    with pytest.raises(KeyError):
        wording_of("en").say("no.such.text")


def test_what_is_filled_in_is_escaped_unless_it_is_markup() -> None:
    wording = wording_of("en")
    assert wording.say("remark.by", name="<b>") == "by &lt;b&gt;"
    assert wording.say("remark.by", name=Markup("<b>x</b>")) == "by <b>x</b>"


@pytest.mark.parametrize(
    ("n", "form"), [(1, "one"), (2, "few"), (5, "many"), (22, "few"), (1.5, "other")]
)
def test_plural_forms_follow_cldr(n: int, form: str) -> None:
    """Polish has four: Unicode CLDR, Language Plural Rules."""
    forms = {"few": "few", "many": "many", "one": "one", "other": "other"}
    assert Wording("pl", {"x": forms}).say("x", n=n) == form


@pytest.mark.parametrize(
    ("language", "day"), [("en", "3\u00a0May 1887"), ("de", "3.\u00a0Mai 1887")]
)
def test_dates_are_written_as_the_language_writes_them(language: str, day: str) -> None:
    assert wording_of(language).day(date(1887, 5, 3)) == day


@pytest.mark.parametrize(("language", "listed"), [("en", "A, B and C"), ("de", "A, B und C")])
def test_lists_end_as_the_language_ends_them(language: str, listed: str) -> None:
    wording = wording_of(language)
    assert wording.listed("ABC") == listed
    assert wording.listed(["<i>"]) == "&lt;i&gt;"


@pytest.mark.parametrize(
    ("written", "en", "de"),
    [
        ("1888-11-02", "2\u00a0November 1888", "2.\u00a0November 1888"),
        ("1888-11", "November 1888", "November 1888"),
        ("1889-03", "March 1889", "März 1889"),
        ("1888", "1888", "1888"),
        ("ca. 1905", "ca. 1905", "ca. 1905"),
        ("1888-13", "1888-13", "1888-13"),
    ],
)
def test_dates_as_iso_8601_writes_them_are_put_in_words(written: str, en: str, de: str) -> None:
    assert wording_of("en").date(written) == en
    assert wording_of("de").date(written) == de
