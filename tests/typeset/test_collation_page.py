"""The page of a collation: what it says, that it needs nothing else, and that everybody can use it.

Accessibility as WCAG 2.2 asks for it, level AA; the clause stands beside each check.
"""

from __future__ import annotations

import base64
import hashlib
import re
from dataclasses import replace
from functools import cache
from itertools import pairwise

import pytest
from lxml import html

from pipeline.checks.material import Material
from pipeline.collation.beside import BarPair, Beside, Obstacle, Shift
from pipeline.collation.collate import collate
from pipeline.collation.collated import BarChange, Collation, SetAside
from pipeline.collation.departures import departures
from pipeline.collation.model import DifferenceKind
from pipeline.engrave.collation_examples import by_place
from pipeline.engrave.svg_for_print import Svg
from pipeline.score.model import MarkingKind
from pipeline.typeset.agreement import grey
from pipeline.typeset.collation_colours import COLOURS, MEETINGS, Meeting, contrast
from pipeline.typeset.collation_page import collation_html
from pipeline.typeset.environment import TEMPLATES
from pipeline.typeset.wording import languages, wording_of
from tests.collation.letters import music, sign
from tests.collation.small_edition import COMMON, HEAD, small_edition

NOTES = "4:C5 4:D5 4:E5 4:F5 | 4:G5 4:A5 2:B5 | 2:C6 2:r | 1:G5"
MISREAD = NOTES.replace("D5", "B4")
RECORDS = f"""\
- id: r-pitch
  kind: reading
  place: {{movement: 1, bar: 1, note: 2}}
  {COMMON.replace(", ", chr(10) + "  ")}
  lemma: A
  readings: [{{witnesses: [E, S]}}]
  reason: A slip.
"""
TEXT = music(NOTES)
WITNESSES = {
    "A": music(NOTES, file="A.mei"),
    "E": music(MISREAD, file="E.mei"),
    "S": music(MISREAD.replace("1:G5", "1:A5"), file="S.mei"),
}
PICTURE = Svg(
    '<svg xmlns="http://www.w3.org/2000/svg" role="img" aria-label="a bar" width="30mm" '
    'height="12mm" viewBox="0 0 30 12"><path d="M0 2H30"/></svg>',
    30.0,
    12.0,
    "a bar",
)
COUNTS = {("E", 1): {SetAside.STEM: 3, SetAside.CLEF: 1}, ("S", 1): {SetAside.STEM: 2}}


def page_of(material: Material, language: str = "en", collations: dict = {}) -> str:  # type: ignore[type-arg]  # noqa: B006
    held = collations or material.collations
    found = departures(held, material.answers)
    examples = dict.fromkeys(by_place(found), (PICTURE,))
    return collation_html(material.edition, material.score, held, found, COUNTS, examples, language)


@cache
def page(language: str = "en") -> str:
    material, problems = small_edition(RECORDS, WITNESSES, text=TEXT)
    assert not problems
    return page_of(material, language)


def tree(written: str) -> html.HtmlElement:
    return html.document_fromstring(written)


def rows(written: str, table: str) -> list[str]:
    """Return the rows of the tables of a class, cells set apart by bars."""
    return [
        " | ".join(_said(cell) for cell in row.xpath("./th|./td"))
        for row in tree(written).xpath(f'//table[contains(@class, "{table}")]//tr')
    ]


def _said(cell: html.HtmlElement) -> str:
    for unseen in cell.xpath('.//*[@aria-hidden="true"]'):
        unseen.drop_tree()
    return " ".join(cell.text_content().split()).replace("\u00a0", " ")


def test_every_departure_stands_in_reading_order_with_what_answers_it() -> None:
    assert rows(page(), "departures") == [
        "Place | Kind | Text | Witnesses | Reading | Record",
        "Bar 1, Violin",
        "beat 2, note 2 | Pitch | d″ | E, S | b′ | r-pitch",
        "Music of bar 1, Violin",
        "Bar 4, Violin",
        "beat 1, note 1 | Pitch | g″ | S | a″ | open",
        "Music of bar 4, Violin",
    ]


def test_german() -> None:
    assert rows(page("de"), "departures")[1:3] == [
        "Takt 1, Violin",
        "Zz. 2, Note 2 | Tonhöhe | d² | E, S | h¹ | r-pitch",
    ]


def test_the_witnesses_with_how_much_of_them_was_compared() -> None:
    assert [row.rstrip(" |") for row in rows(page(), "overview")[1:]] == [
        "A | I | 4 of 4 | 9 | 100.0% | 0 | 0",
        "E | I | 4 of 4 | 9 | 88.9% | 1 | 0",
        "S | I | 4 of 4 | 9 | 77.8% | 2 | 1",
    ]


def test_counts_by_kind_and_what_was_set_aside() -> None:
    assert rows(page(), "counts") == [
        "Kind | A | E | S | All",
        "Pitch | 0 | 1 | 2 | 3",
        "Kind | A–E | A–S | E–S",
        "Pitch | 1/2 | 0/2 | 1/2",
        "Kind | A | E | S | All",
        "Stem direction | 0 | 3 | 2 | 5",
        "Clef that leaves the sound | 0 | 1 | 0 | 1",
    ]


def test_how_the_witnesses_agree_with_each_other() -> None:
    assert rows(page(), "pairs") == [
        " | A | E | S",
        "A | 0 alone | 50 1/2 | 0 0/2",
        "E | 50 1/2 | 0 alone | 50 1/2",
        "S | 0 0/2 | 50 1/2 | 1 alone",
    ]


def _laid(material: Material, **changed: object) -> str:
    beside: Beside = material.collations["E", 1].beside
    laid = replace(beside, **changed)  # type: ignore[arg-type]
    collations = {("E", 1): Collation("E", 1, laid)}
    return "\n".join(rows(page_of(material, collations=collations), "overview"))


@pytest.mark.parametrize(
    ("changed", "said"),
    [
        ({"shifts": {1: Shift(7, 12)}},
         "Violin is written an octave higher; compared at the pitch of the text"),
        ({"shifts": {1: Shift(-14, -24)}},
         "Violin is written 2 octaves lower; compared at the pitch of the text"),
        ({"shifts": {1: Shift(1, 2)}},
         "Violin is written 2 semitones higher; compared at the pitch of the text"),
        ({"missing_staves": (1,)}, "without Violin"),
        ({"further_staves": (2, 3)}, "2 more staves, not in the text, were not compared"),
        ({"obstacle": Obstacle.EMPTY, "pairs": ()}, "Not compared, because it has no notes."),
        ({"obstacle": Obstacle.ANOTHER_WORK, "pairs": (), "likeness": 0.0312},
         "Not compared, because it is hardly like the text: 3.1% of the notes are the same."),
    ],
)  # fmt: skip
def test_what_stood_in_the_way_of_comparing_is_said(changed: dict[str, object], said: str) -> None:
    material, _ = small_edition("", {"E": WITNESSES["E"]}, text=TEXT)
    assert said in _laid(material, **changed)


def test_whole_bars_have_a_row_of_their_own() -> None:
    shorter = music("4:C5 4:D5 4:E5 4:F5 | 2:C6 2:r | 1:G5", file="E.mei")
    material, _ = small_edition("", {"E": shorter}, text=TEXT)
    assert rows(page_of(material), "departures")[1:3] == [
        "Bar 2",
        " | Bars lacking | bar 2 | E | nothing | open",
    ]


def test_an_edition_without_encodings_says_so() -> None:
    material, _ = small_edition("", {}, text=TEXT)
    written = page_of(material)
    assert "there is nothing to collate" in written
    assert "<script" not in written


def test_witnesses_that_agree_in_everything_leave_no_table_but_a_word() -> None:
    material, _ = small_edition("", {"A": WITNESSES["A"]}, text=TEXT)
    written = page_of(material)
    assert "No encoded witness differs from the text here." in written
    assert 'id="filter"' not in written


# --- it needs nothing else, and nothing it is given can act ---------------------------------------


def test_the_page_needs_no_other_file() -> None:
    without_faces = re.sub(r"base64,[A-Za-z0-9+/=]+", "", page())
    addresses = re.findall(r'(?:src|href|action)="([^"]*)"|url\(([^)]*)\)', without_faces)
    for attribute, style in addresses:
        assert (attribute or style).startswith(("#", "data:")), (attribute, style)
    named = set(re.findall(r"https?://[^\s\"'<)]+", without_faces))
    assert named <= {"http://www.w3.org/2000/svg"}


def test_only_the_pages_own_script_may_run() -> None:
    document = tree(page())
    (script,) = document.xpath("//script")
    digest = base64.b64encode(hashlib.sha256(script.text.encode()).digest()).decode()
    (policy,) = document.xpath('//meta[@http-equiv="Content-Security-Policy"]/@content')
    assert f"script-src 'sha256-{digest}'" in policy
    assert "default-src 'none'" in policy


HOSTILE = "</td></script><script>alert(1)</script><img src=x onerror=alert(2)>"


def hostile_page() -> str:
    head = HEAD.replace("title: Sonata", f'title: "{HOSTILE}"')
    head = head.replace("{n: 1, title: Allegro,", f'{{n: 1, title: "{HOSTILE}",')
    text = music(NOTES, sign(MarkingKind.WORDS, "0:0", content=HOSTILE), labels=(HOSTILE,))
    bars = tuple(replace(bar, n=HOSTILE) for bar in text.bars)
    reading = music(MISREAD, sign(MarkingKind.TEMPO, "2:0", content=HOSTILE), labels=(HOSTILE,))
    pairs = tuple(BarPair(bar.index, bar.index) for bar in text.bars)
    text = replace(text, bars=bars)
    material, _ = small_edition("", {}, text=text, head=head)
    beside = Beside(reading, {1: 1}, pairs, missing_staves=(1,))
    return page_of(material, collations={("E", 1): collate(text, beside, "E", 1)})


def test_whatever_edition_and_sources_say_is_shown_as_text() -> None:
    written = hostile_page()
    document = tree(written)
    assert len(document.xpath("//script")) == 1
    assert document.xpath("//img|//*[@onerror]") == []
    assert written.count("&lt;script&gt;alert(1)") >= 6
    assert document.xpath("count(//tr[contains(@class, 'departure')])") == 3
    assert all(len(row.xpath("./td")) == 6 for row in document.xpath("//tr[@data-kind]"))


# --- everybody can use it -------------------------------------------------------------------------


@pytest.mark.parametrize("language", languages())
def test_the_language_is_named(language: str) -> None:
    """WCAG 2.2, 3.1.1."""
    assert tree(page(language)).get("lang") == language


def test_a_title_in_another_language_names_it() -> None:
    """WCAG 2.2, 3.1.2."""
    head = HEAD.replace("title: Sonata", "title: {de: Sonate}").replace(
        "languages: en", "languages: [de, en]"
    )
    material, _ = small_edition("", {"A": WITNESSES["A"]}, text=TEXT, head=head)
    assert tree(page_of(material)).xpath("string(//h1/span[@lang='de'])") == "Sonate"


def test_headings_go_down_step_by_step() -> None:
    """WCAG 2.2, 1.3.1 and 2.4.6."""
    levels = [int(h.tag[1]) for h in tree(page()).xpath("//h1|//h2|//h3|//h4")]
    assert levels[0] == 1
    assert levels.count(1) == 1
    assert all(after <= before + 1 for before, after in pairwise(levels))


def test_tables_have_captions_and_their_heads_a_scope() -> None:
    """WCAG 2.2, 1.3.1."""
    document = tree(page())
    assert all(table.xpath("./caption") for table in document.xpath("//table"))
    assert document.xpath("//th[not(@scope)]") == []


def test_every_control_has_a_name_and_every_picture_a_description() -> None:
    """WCAG 2.2, 4.1.2 and 1.1.1."""
    document = tree(page())
    assert all(control.xpath("ancestor::label") for control in document.xpath("//select"))
    assert document.xpath("//svg") != []
    assert document.xpath("//svg[not(@role='img') or not(@aria-label)]") == []
    named = "not(@aria-label) and not(@aria-labelledby)"
    assert document.xpath(f"//*[@role='region' or @role='group' or self::nav][{named}]") == []


def test_ids_are_unique_and_references_lead_somewhere() -> None:
    document = tree(page())
    ids = document.xpath("//@id")
    assert len(ids) == len(set(ids))
    named = [one.removeprefix("#") for one in document.xpath("//@href|//@aria-labelledby")]
    assert set(named) <= set(ids)


def test_without_its_script_the_page_shows_everything() -> None:
    document = tree(page())
    assert document.xpath("//form/@hidden") == [""]
    assert document.xpath("//tr[@hidden]|//tbody[@hidden]") == []


def test_music_grows_with_the_type() -> None:
    """WCAG 2.2, 1.4.4."""
    assert set(tree(page()).xpath("//svg/@width")) == {"10.80rem"}


def test_the_filter_finds_in_each_row_what_it_offers() -> None:
    document = tree(page())

    def offered(name: str) -> set[str]:
        return set(document.xpath(f"//select[@name='{name}']/option/@value")) - {""}

    marked = {
        name: set(document.xpath(f"//tr[@data-kind]/@data-{name}")) for name in ("kind", "state")
    }
    assert marked == {"kind": offered("kind"), "state": offered("state")}
    assert set(document.xpath("//tr/@data-witnesses")) == {"1 2", "2"}
    assert offered("witness") == {"0", "1", "2"}


@pytest.mark.parametrize("meeting", MEETINGS, ids=lambda m: f"{m.upper}-{m.lower}")
def test_colours_that_meet_have_contrast_enough(meeting: Meeting) -> None:
    """WCAG 2.2, 1.4.3 and 1.4.11."""
    assert contrast(COLOURS[meeting.upper], COLOURS[meeting.lower]) >= meeting.at_least


@pytest.mark.parametrize(
    ("one", "other", "expected"),
    [("#ffffff", "#000000", 21.0), ("#777777", "#ffffff", 4.48), ("#123456", "#123456", 1.0)],
)
def test_contrast_is_reckoned_as_wcag_does(one: str, other: str, expected: float) -> None:
    """WCAG 2.2, "relative luminance"; 4.48 for #777 on white is a well-known value."""
    assert contrast(one, other) == pytest.approx(expected, abs=0.005)


def style() -> str:
    return (TEMPLATES / "collation.css").read_text("utf-8")


def test_the_style_sheet_takes_its_colours_from_the_tested_ones_only() -> None:
    used = set(re.findall(r"var\(--([\w-]+)\)", style()))
    assert used == set(COLOURS)
    on_screen = style().partition("@media print")[0]
    assert re.findall(r"#[0-9a-fA-F]{3,8}\b|\brgba?\(|\bhsla?\(", on_screen) == []
    assert {m.upper for m in MEETINGS} | {m.lower for m in MEETINGS} | {"hair"} == set(COLOURS)


def test_figures_are_read_on_the_darkest_grey() -> None:
    assert contrast(COLOURS["ink"], grey(1.0)) >= 4.5
    assert contrast(COLOURS["ink"], grey(0.0)) >= 4.5


def test_type_and_room_grow_together() -> None:
    """WCAG 2.2, 1.4.4 and 1.4.10: sizes in rem, one column where it is narrow."""
    on_screen = style().partition("@media print")[0]
    sizes = set(re.findall(r"\b\d*\.?\d+(px|pt|mm|cm)\b", on_screen))
    assert sizes <= {"px"}
    assert set(re.findall(r"\b(\d+px)\b", on_screen)) <= {"1px"}
    assert "max-width: 44rem" in on_screen


def test_what_scrolls_can_be_scrolled_by_the_keyboard() -> None:
    """WCAG 2.2, 2.1.1."""
    scrolling = re.findall(r"\.(\w+) \{[^}]*overflow-x: auto", style())
    assert scrolling == ["wide", "staves"]
    for name in scrolling:
        assert tree(page()).xpath(f"//*[@class='{name}'][not(@tabindex='0')]") == []


def test_keyboard_and_calm() -> None:
    """WCAG 2.2, 2.4.7 and 2.3.3."""
    assert ":focus-visible { outline:" in style()
    assert "outline: none" not in style()
    assert "prefers-reduced-motion: reduce" in style()


@pytest.mark.parametrize("language", languages())
def test_whatever_a_collation_can_find_has_a_word(language: str) -> None:
    texts = wording_of(language).texts
    kinds = [f"kinds.{kind.value}" for kind in (*DifferenceKind, *BarChange)]
    counted = [f"set_aside.{kind.name}" for kind in SetAside]
    obstacles = [f"obstacles.{obstacle.name}" for obstacle in Obstacle]
    wanted = {f"collation.{key}" for key in (*kinds, *counted, *obstacles)}
    assert wanted <= set(texts)


def test_the_same_collation_gives_the_same_bytes() -> None:
    material, _ = small_edition(RECORDS, WITNESSES, text=TEXT)
    assert page_of(material) == page_of(material)
