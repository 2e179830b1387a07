"""The reading copy as a file: it needs nothing else, shows all marks, and text stays text.

What it does in a browser is tested in tests/browser. Accessibility as WCAG 2.2 asks for it, level
AA; the clause stands beside each check.
"""

from __future__ import annotations

import base64
import hashlib
import json
import re
from collections import Counter
from functools import cache
from pathlib import Path
from tempfile import TemporaryDirectory

import pytest
from lxml import etree, html

from pipeline.build import examine
from pipeline.build_reading_copy import reading_copy_of
from pipeline.checks.material import Material
from pipeline.edition.layer import Layer
from pipeline.layers.write import write_layers
from pipeline.typeset.collation_colours import Meeting, contrast
from pipeline.typeset.environment import TEMPLATES
from pipeline.typeset.reading_copy import with_every_alternative
from pipeline.typeset.reading_copy_colours import COLOURS, LAYER_COLOURS, MEETINGS
from pipeline.typeset.reading_copy_music import ink
from pipeline.typeset.wording import languages, wording_of
from tests.browser.hostile import EXAMPLE, HOSTILE, hostile_edition

MOST_BYTES = 3_000_000


@cache
def material() -> Material:
    found = examine(EXAMPLE).value
    assert found is not None
    return found


def layered(of: Material, every: bool = False) -> bytes:
    decisions = with_every_alternative(of.decisions) if every else of.decisions
    return write_layers(of.edition, of.score, decisions, of.collations)


def made(of: Material, language: str = "en") -> str:
    outcome = reading_copy_of(of, layered(of), language, lambda _: None)
    assert outcome.value is not None, outcome.problems
    assert outcome.problems == ()
    return outcome.value.decode()


@cache
def page() -> str:
    return made(material())


@cache
def tree() -> html.HtmlElement:
    return html.document_fromstring(page())


def data() -> dict:  # type: ignore[type-arg]
    return dict(json.loads(tree().xpath("string(//script[@id='data'])")))


# --- it needs nothing else ------------------------------------------------------------------------


def test_nothing_is_fetched_from_anywhere() -> None:
    for address in tree().xpath("//@src|//@href"):
        assert address.startswith(("#", "data:")), address
    styles = re.sub(r"url\(data:[^)]*\)", "", tree().xpath("string(//style)"))
    assert "url(" not in styles
    assert "@import" not in styles


def test_only_the_pages_own_script_may_run() -> None:
    scripts = [one for one in tree().xpath("//script") if one.get("type") is None]
    assert len(scripts) == 1
    digest = base64.b64encode(hashlib.sha256(scripts[0].text.encode()).digest()).decode()
    (policy,) = tree().xpath('//meta[@http-equiv="Content-Security-Policy"]/@content')
    assert f"script-src 'sha256-{digest}'" in policy
    assert "default-src 'none'" in policy
    assert "unsafe-eval" not in policy


def test_the_same_edition_gives_the_same_bytes() -> None:
    assert made(material()) == page()


def test_the_page_is_small_enough_to_send() -> None:
    assert len(page().encode()) < MOST_BYTES


# --- the marks are all there ----------------------------------------------------------------------


def _written() -> dict[str, Layer]:
    """Digits and bow signs that the layered MEI has added to the edited staff, by xml:id."""
    root = etree.fromstring(layered(material()))
    edited = str(material().edition.head.edited_staff.n)
    found: dict[str, Layer] = {}
    for element in root.iter("{*}fing", "{*}artic"):
        around = {etree.QName(one).localname: one for one in element.iterancestors()}
        if "supplied" not in around or "rdg" in around or "oStaff" in around:
            continue
        on_staff = around["staff"].get("n") if "staff" in around else edited
        layer = ink("mark-", element.get("type", "").split())
        if on_staff == edited and layer is not None:
            found[element.get("{http://www.w3.org/XML/1998/namespace}id", "")] = layer
    return found


def test_marks_of_each_layer_are_those_of_the_mei() -> None:
    """Counted by hand in the layered MEI, not by what made the page."""
    expected = _written()
    shown = {
        group.get("id", "").removeprefix("x-"): group.get("data-layer")
        for group in tree().xpath("//div[@class='line']//*[@data-layer]")
        if group.get("id", "").removeprefix("x-") in expected
    }
    assert len(expected) > 200
    assert Counter(shown.values()) == Counter(expected.values())
    assert shown == expected


def test_every_remark_on_the_part_has_its_figure_in_the_music() -> None:
    keys = set(tree().xpath("//*[contains(@class, 'remark-key')]/@data-records"))
    of_the_part = {
        one.id
        for one in material().decisions_of_edition
        if one.span.staff == 1 and one.filed.record.status == "accepted"
    }
    assert keys >= of_the_part
    assert all(one.endswith("-piano") for one in keys - of_the_part), "the tempo is every part's"


def test_what_the_text_has_itself_is_hidden_with_no_layer() -> None:
    assert ink("i-b003-slur1", ["slur", "slur-divided", "layer-editor"]) is None
    assert ink("i-b003-n1", ["note", "layer-text", "layer-witness"]) is None
    assert ink("i-b003-fing1", ["fing", "layer-composer"]) is Layer.COMPOSER
    assert ink("mark-r-1", ["fing", "layer-editor"]) is Layer.EDITOR


def test_every_mark_has_a_name_in_each_language() -> None:
    named = data()["marks"]
    ids = tree().xpath("//div[@class='line']//*[contains(concat(' ', @class, ' '), ' mark ')]/@id")
    assert ids
    assert set(ids) == set(named)
    assert all(names["en"] and names["de"] for names in named.values())


def test_names_of_marks_read_as_a_musician_speaks() -> None:
    named = {tuple(names.values()) for names in data()["marks"].values()}
    assert (
        "Fingersatz 1, Komponist, Takt 3, Note 1",
        "fingering 1, composer, bar 3, note 1",
    ) in named
    assert ("Abstrich, Herausgeber, Takt 3, Note 1", "down bow, editor, bar 3, note 1") in named


def test_fingerings_of_one_bar_are_told_apart_by_their_notes() -> None:
    """WCAG 2.2, 2.4.6: labels tell what they belong to."""
    named = {names["en"] for names in data()["marks"].values()}
    in_bar_6 = {one for one in named if "fingering 2, editor, bar 6," in one}
    assert in_bar_6 == {f"fingering 2, editor, bar 6, note {n}" for n in (1, 4)}


# --- text stays text ------------------------------------------------------------------------------


def test_whatever_the_edition_says_is_shown_as_text() -> None:
    with TemporaryDirectory() as folder:
        found = examine(hostile_edition(Path(folder) / "edition")).value
        assert found is not None
        written = made(found)
    document = html.document_fromstring(written)
    assert [one.get("type") for one in document.xpath("//script")] == ["application/json", None]
    assert document.xpath("//*[@onerror]|//img[@src='x']") == []
    assert written.count("&lt;script&gt;window.harmed") >= 8
    kept = json.loads(document.xpath("string(//script[@id='data'])"))
    assert any(HOSTILE in names["en"] for names in kept["marks"].values())


# --- everybody can use it -------------------------------------------------------------------------


def test_each_language_is_named_and_the_first_is_shown() -> None:
    """WCAG 2.2, 3.1.1 and 3.1.2."""
    assert tree().get("lang") == "en"
    assert set(tree().xpath("//*[contains(@class, 't ') or @class='t']/@lang")) == {"en", "de"}
    assert html.document_fromstring(made(material(), "de")).get("lang") == "de"


def test_ids_are_unique_and_references_lead_somewhere() -> None:
    ids = tree().xpath("//@id")
    assert [one for one, count in Counter(ids).items() if count > 1] == []
    named = " ".join(tree().xpath("//@aria-labelledby|//@aria-describedby|//@aria-controls|//@for"))
    assert set(named.split()) <= set(ids)
    glyphs = {one.removeprefix("#") for one in tree().xpath("//*[local-name()='use']/@href")}
    assert glyphs <= set(ids)


@pytest.mark.parametrize("meeting", MEETINGS, ids=lambda m: f"{m.upper}-{m.lower}")
def test_colours_that_meet_have_contrast_enough(meeting: Meeting) -> None:
    """WCAG 2.2, 1.4.3 and 1.4.11."""
    assert contrast(COLOURS[meeting.upper], COLOURS[meeting.lower]) >= meeting.at_least


def test_each_layer_has_an_ink_of_its_own() -> None:
    assert set(LAYER_COLOURS) == set(Layer)
    assert len(set(LAYER_COLOURS.values())) == len(Layer)


def style() -> str:
    return (TEMPLATES / "reading_copy.css").read_text("utf-8")


def test_the_style_sheet_takes_its_colours_from_the_tested_ones_only() -> None:
    used = set(re.findall(r"var\(--([\w-]+)\)", style()))
    inks = {f"layer-{layer}" for layer in Layer}
    assert used | inks == set(COLOURS)
    on_screen = style().partition("@media print")[0]
    assert (
        re.findall(r"(?<!\w)#[0-9a-fA-F]{3,8}\b(?!\s*[{,:.>])|\brgba?\(|\bhsla?\(", on_screen) == []
    )


def test_type_and_room_grow_together() -> None:
    """WCAG 2.2, 1.4.4: sizes in rem."""
    on_screen = style().partition("@media print")[0]
    assert set(re.findall(r"\b(\d*\.?\d+(?:px|pt|mm|cm))\b", on_screen)) <= {"1px"}


@pytest.mark.parametrize("language", languages())
def test_what_the_script_says_has_words(language: str) -> None:
    script = "".join(
        (TEMPLATES / name).read_text("utf-8") for name in ("reading_copy.js", "reading_copy_own.js")
    )
    asked = set(re.findall(r'\bsay\("([\w.]+)"', script))
    assert asked
    texts = wording_of(language).texts
    assert {key for key in asked if f"reading_copy.{key}" not in texts} <= {
        "own.bows.",
        "own.bow_amiss.",
    }
