"""Markup into runs: what is emphasised stays emphasised, and nothing else is read as markup."""

from __future__ import annotations

from hypothesis import given
from hypothesis import strategies as st
from markupsafe import Markup

from pipeline.typeset.prose import Prose
from pipeline.typeset.rich_text import Run, rich_text


def test_plain_text_is_one_run_whatever_it_holds() -> None:
    assert rich_text("a <b>& #c") == (Run("a <b>& #c"),)
    assert rich_text("") == ()


def test_emphasis_within_emphasis_is_upright() -> None:
    runs = rich_text(Markup("<em>from <i>Faust</i></em> <strong>now</strong>"))
    assert runs == (Run("from ", italic=True), Run("Faust "), Run("now", bold=True))


def test_music_signs_have_their_own_face() -> None:
    assert rich_text(Prose("en", "en").inline({"en": "b♭"})) == (Run("b"), Run("♭", sign=True))


def test_what_is_not_translated_keeps_its_language() -> None:
    assert rich_text(Prose("de", "en").inline({"en": "a note"})) == (Run("a note", language="en"),)


def test_paragraphs_run_on() -> None:
    markup = Markup("<p>One.</p><p>Two.<br>Three.</p>")
    assert "".join(run.text for run in rich_text(markup)) == "One. Two. Three."


@given(st.text())
def test_no_letter_is_lost_or_added(text: str) -> None:
    assert "".join(run.text for run in rich_text(text)) == text
