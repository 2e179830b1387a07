"""The editor's prose: Markdown in, nothing else out."""

from __future__ import annotations

import pytest

from pipeline.typeset.prose import Prose, first_paragraph, markdown

ENGLISH = Prose("en", "en")
GERMAN = Prose("de", "en")


@pytest.mark.parametrize(
    ("written", "markup"),
    [
        ("*sul G* here", "<em>sul G</em> here"),
        ("**not** E", "<strong>not</strong> E"),
        ("<b>bar</b>", "&lt;b&gt;bar&lt;/b&gt;"),
        ("<script>alert(1)</script>", "&lt;script&gt;alert(1)&lt;/script&gt;"),
        ("![plan](file:///etc/hostname)", "![plan](file:///etc/hostname)"),
        ("f♯ & g", 'f<span class="sign">♯</span> &amp; g'),
    ],
)
def test_inline_prose(written: str, markup: str) -> None:
    assert ENGLISH.inline({"": written}) == markup


def test_a_link_that_would_run_something_stays_text() -> None:
    assert "href" not in ENGLISH.inline({"": "[x](javascript:alert(1))"})


def test_a_sign_in_a_link_title_does_not_break_the_link() -> None:
    markup = ENGLISH.inline({"": '[x](http://a.example "f♯")'})
    assert markup == '<a href="http://a.example" title="f♯">x</a>'


def test_prose_in_the_language_asked_for() -> None:
    both = {"en": "slur", "de": "Bogen"}
    assert ENGLISH.inline(both) == "slur"
    assert GERMAN.inline(both) == "Bogen"


def test_prose_without_translation_is_marked_as_what_it_is() -> None:
    assert GERMAN.inline({"": "slur"}) == '<span lang="en">slur</span>'
    assert GERMAN.blocks({"": "slur"}) == '<div lang="en"><p>slur</p>\n</div>'


def test_no_prose_is_nothing() -> None:
    assert ENGLISH.inline({}) == ""
    assert GERMAN.blocks({}) == ""


def test_headings_of_a_text_stand_below_the_chapter() -> None:
    assert markdown("# Work\n\nOld.") == "<h3>Work</h3>\n<p>Old.</p>\n"
    assert markdown("###### Deep") == "<h6>Deep</h6>\n"


def test_the_first_paragraph_is_taken_off_prose_that_begins_with_one() -> None:
    assert first_paragraph(ENGLISH.blocks({"": "one\n\ntwo"})) == ("one", "<p>two</p>")
    listed = ENGLISH.blocks({"": "- one"})
    assert first_paragraph(listed) == ("", listed)
