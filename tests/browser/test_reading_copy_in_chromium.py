"""The reading copy used as a player uses it: by mouse, by touch, by keyboard alone."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import pytest

from pipeline.build import Order, build_edition, examine
from pipeline.edition.choices import read_choices
from tests.browser.conftest import Opened
from tests.browser.hostile import EXAMPLE, HOSTILE, hostile_edition

HAND = "I-003-hand"
DOUBLE_STOP = "i-b015-vn-n01"
MARK = f'#music .mark[data-records="{HAND}"]'
SEEN = ":not(.off):not(.not-taken)"


def seen(opened: Opened, selector: str) -> int:
    """Count what is drawn."""
    return int(
        opened.page.evaluate(
            "s => [...document.querySelectorAll(s)].filter(e => e.getClientRects().length).length",
            selector,
        )
    )


def click_mark(opened: Opened, selector: str) -> None:
    mark = opened.page.locator(selector).first
    mark.scroll_into_view_if_needed()
    box = mark.bounding_box()
    assert box is not None
    opened.page.mouse.click(box["x"] + box["width"] / 2, box["y"] + box["height"] / 2)


# --- layers ---------------------------------------------------------------------------------------


@pytest.mark.parametrize("layer", ["composer", "editor", "tradition"])
def test_a_layer_is_hidden_and_comes_back(opened: Opened, layer: str) -> None:
    ours = f'#music [data-layer="{layer}"]'
    others = f'#music [data-layer]:not([data-layer="{layer}"])'
    before, beside = seen(opened, ours), seen(opened, others)
    assert before > 0
    opened.page.locator(f'#layers input[value="{layer}"]').uncheck()
    assert seen(opened, ours) == 0
    assert seen(opened, others) <= beside
    opened.page.locator(f'#layers input[value="{layer}"]').check()
    assert seen(opened, ours) == before


def test_an_ossia_that_is_hidden_leaves_no_gap(opened: Opened) -> None:
    line = opened.page.locator('.line:has(.oStaff[data-layer="composer"])').first
    with_it = line.bounding_box()
    opened.page.locator('#layers input[value="composer"]').uncheck()
    without = line.bounding_box()
    assert with_it is not None
    assert without is not None
    assert without["height"] < 0.8 * with_it["height"]


def test_the_text_stays_whatever_is_hidden(opened: Opened) -> None:
    notes = seen(opened, "#music .staff .note")
    for box in opened.page.locator("#layers input:not([disabled])").all():
        box.uncheck()
    assert seen(opened, "#music .staff .note") == notes
    assert seen(opened, "#music .slur") > 20
    assert seen(opened, "#music .fing") > 0, "the digits of the principal source"


def test_hidden_layers_are_remembered(opened: Opened, reading_copy: Path) -> None:
    opened.page.locator('#layers input[value="editor"]').uncheck()
    opened.open(reading_copy)
    assert not opened.page.locator('#layers input[value="editor"]').is_checked()
    assert seen(opened, '#music [data-layer="editor"]') == 0


# --- choosing a mark ------------------------------------------------------------------------------


def test_a_mark_chosen_by_mouse_tells_who_why_and_which_witnesses(opened: Opened) -> None:
    click_mark(opened, MARK)
    told = opened.told()
    assert told.startswith("4 bar 3–10 Fingering Editor’s markings Henrike Solvanter, editor")
    assert "Certainty: high." in told
    assert "Six digits are the composer’s" in told
    assert seen(opened, "#told .example svg") >= 2
    assert opened.page.url.endswith(f"#remark-{HAND}")
    assert seen(opened, "#music .lit") > 5


def test_the_reading_of_each_witness_is_shown_as_music(opened: Opened, reading_copy: Path) -> None:
    opened.open(reading_copy, "#remark-I-004-hairpin")
    assert "Reading" in opened.told()
    labels = opened.page.locator("#told .example svg text").all_text_contents()
    assert "Text" in labels
    assert any("A" in label or "E" in label for label in labels)


def test_a_mark_is_chosen_and_left_by_keyboard_alone(opened: Opened) -> None:
    page = opened.page
    page.locator("#write").focus()
    page.keyboard.press("Tab")
    first = opened.focused()
    assert "bar" in first
    page.keyboard.press("ArrowRight")
    second = opened.focused()
    assert second != first
    page.keyboard.press("ArrowLeft")
    assert opened.focused() == first
    for _ in range(8):
        page.keyboard.press("ArrowRight")
        if opened.focused() == "fingering 1, composer, bar 3, note 1":
            break
    assert opened.focused() == "fingering 1, composer, bar 3, note 1"
    assert seen(opened, "#music .ring") == 1
    page.keyboard.press("Enter")
    assert opened.focused().split() == ["4", "bar", "3–10", "Fingering"]
    page.keyboard.press("Escape")
    assert opened.focused() == "fingering 1, composer, bar 3, note 1"
    page.keyboard.press("Tab")
    assert page.evaluate("!document.getElementById('music').contains(document.activeElement)")


def line_with_focus(opened: Opened) -> int:
    """Return the index of the line of music that has the focus."""
    return int(
        opened.page.evaluate(
            "[...document.querySelectorAll('.line')].indexOf("
            "document.activeElement.closest('.line'))"
        )
    )


def test_up_and_down_go_from_line_to_line_home_and_end_to_the_ends(opened: Opened) -> None:
    page = opened.page
    page.locator("#write").focus()
    page.keyboard.press("Tab")
    page.keyboard.press("ArrowDown")
    assert line_with_focus(opened) == 1
    page.keyboard.press("ArrowDown")
    assert line_with_focus(opened) == 2
    page.keyboard.press("ArrowUp")
    assert line_with_focus(opened) == 1
    page.keyboard.press("End")
    last = opened.focused()
    page.keyboard.press("ArrowRight")
    assert opened.focused() == last
    page.keyboard.press("Home")
    assert line_with_focus(opened) == 0


def test_every_mark_has_a_name_and_leads_to_a_remark(opened: Opened) -> None:
    found = opened.page.evaluate(
        "[...document.querySelectorAll('#music [role=button]')].map(e => "
        "[e.getAttribute('aria-label'), e.dataset.records])"
    )
    assert len(found) > 200
    assert [name for name, _ in found if not name] == []
    remarks = set(
        opened.page.evaluate(
            "[...document.querySelectorAll('.remarks[lang=en] .remark')].map(e => e.dataset.record)"
        )
    )
    examined = examine(EXAMPLE).value
    assert examined is not None
    of_others = {one.id for one in examined.decisions if one.span.staff != 1}
    led_to = {record for _, records in found for record in records.split()}
    assert remarks - of_others <= led_to <= remarks, "the piano's staves are not in the part"


def test_from_a_remark_to_its_bar_and_back(opened: Opened) -> None:
    page = opened.page
    page.locator('.remarks[lang="en"] .remark h4 a').last.click()
    number = opened.told().split()[0]
    page.locator("#told .to-music a").click()
    assert "bar" in opened.focused()
    line = page.evaluate("document.activeElement.closest('.line').getBoundingClientRect().top")
    assert -50 < line < 900
    page.go_back()
    assert opened.told().split()[0] == number


def test_history_goes_from_decision_to_decision(opened: Opened) -> None:
    page = opened.page
    click_mark(opened, MARK)
    page.locator("#next").click()
    assert opened.told().startswith("5 ")
    page.go_back()
    assert opened.told().startswith("4 ")
    page.go_forward()
    assert opened.told().startswith("5 ")


# --- text stays text ------------------------------------------------------------------------------


def test_script_in_the_notes_does_not_run(browser, tmp_path: Path) -> None:  # type: ignore[no-untyped-def]
    edition = hostile_edition(tmp_path / "edition")
    made = build_edition(edition, tmp_path / "out", Order(frozenset({"reading-copy"})))
    assert made.value is not None, made.problems
    window = Opened(browser, tmp_path / "out" / "reading-copy.html")
    choose(window, HAND, "on the G ")
    window.page.locator("#tab-own").click()
    assert HOSTILE in window.page.locator("#own-list").inner_text()
    assert HOSTILE in window.told() or HOSTILE in (window.page.text_content("#told") or "")
    assert window.page.evaluate("window.harmed") is None
    assert window.complaints == []
    window.context.close()


# --- search ---------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("sought", "at_least", "says"),
    [
        ("bar 39", 1, "39"),
        ("39", 1, "39"),
        ("Dreuvelin", 2, "Dreuvelin"),
        ("dreuvelin bowing", 1, "Bowing"),
        ("H", 2, "H"),
        ("no such word anywhere", 0, ""),
    ],
)
def test_search(opened: Opened, sought: str, at_least: int, says: str) -> None:
    page = opened.page
    page.locator("#sought").fill(sought)
    left = page.locator('.remarks[lang="en"] .remark:not([hidden])')
    count = left.count()
    every = page.locator('.remarks[lang="en"] .remark').count()
    assert at_least <= count < every
    assert page.locator("#found").inner_text() == f"{count} of {every} remarks found"
    assert page.locator("#found").get_attribute("role") == "status"
    for one in left.all():
        assert says in (one.text_content() or "") or says == "39"


def test_a_siglum_of_several_letters_is_sought_as_a_siglum(
    opened: Opened, reading_copy: Path, tmp_path: Path
) -> None:
    """Written small in a word it would be found everywhere: "Di" stands in "Die" and "Division"."""
    other = tmp_path / "reading-copy.html"
    written = reading_copy.read_text("utf-8")
    other.write_text(written.replace('class="siglum">D<', 'class="siglum">Di<'), "utf-8")
    opened.open(other)
    opened.page.locator("#sought").fill("Di")
    left = opened.page.locator('.remarks[lang="en"] .remark:not([hidden])')
    named = opened.page.locator('.remarks[lang="en"] .remark:has(.siglum:text-is("Di"))')
    assert left.count() == named.count() > 0


def test_search_leads_to_a_bar_that_no_remark_speaks_of(opened: Opened) -> None:
    opened.page.locator("#sought").fill("bar 12")
    links = opened.page.locator("#bars a")
    assert links.all_inner_texts() == ["To bar 12 of movement I", "To bar 12 of movement II"]
    links.first.click()
    assert opened.page.url.endswith("#bar-1-12")


# --- languages ------------------------------------------------------------------------------------


def test_the_language_is_switched_and_remembered(opened: Opened, reading_copy: Path) -> None:
    page = opened.page
    click_mark(opened, MARK)
    page.locator('[data-language="de"]').click()
    assert page.evaluate("document.documentElement.lang") == "de"
    assert page.title() == "Fantasie und Rondo: Leseexemplar"
    assert opened.told().startswith("4 Takt 3–10 Fingersatz")
    assert page.locator("#tab-remarks").inner_text() == "Alle Anmerkungen"
    named = page.locator('#music [aria-label="Fingersatz 1, Komponist, Takt 3, Note 1"]')
    assert named.count() > 0
    assert page.locator('[data-language="de"]').get_attribute("aria-pressed") == "true"
    opened.open(reading_copy)
    assert page.evaluate("document.documentElement.lang") == "de"


def test_labels_in_the_music_are_translated_and_seen(opened: Opened) -> None:
    label = opened.page.locator('#music [data-label="I-031-lower-octave"]:visible').first
    assert label.text_content() == "Ossia (composer)"
    opened.page.locator('[data-language="de"]').click()
    assert label.text_content() == "Ossia (Komponist)"
    box = label.bounding_box()
    assert box is not None
    assert box["width"] > 50


# --- a player's own copy --------------------------------------------------------------------------


def choose(opened: Opened, record: str, label: str) -> None:
    opened.page.evaluate("r => { location.hash = '#remark-' + r }", record)
    opened.page.locator(f'#told:has-text("{record}")').wait_for()
    opened.page.locator("#offered label", has_text=label).locator("input").check()


def test_another_alternative_is_shown_in_the_music(opened: Opened) -> None:
    printed = f"#music [data-offered='[\"{HAND}\", 1]']"
    other = f"#music [data-offered='[\"{HAND}\", 2]']"
    assert seen(opened, printed) > 0
    assert seen(opened, other) == 0
    choose(opened, HAND, "first position")
    assert seen(opened, printed) == 0
    assert seen(opened, other) > 0
    choose(opened, HAND, "as the edition prints it")
    assert seen(opened, printed) > 0
    assert seen(opened, other) == 0


def test_an_alternative_that_is_printed_above_but_stands_below_says_so(opened: Opened) -> None:
    choose(opened, HAND, "first position")
    assert "stands above the notes" in opened.page.inner_text("#stands")
    choose(opened, HAND, "as the edition prints it")
    assert opened.page.inner_text("#stands") == ""


def test_a_choice_removed_from_the_list_is_no_longer_marked_as_taken(opened: Opened) -> None:
    choose(opened, HAND, "first position")
    opened.page.locator("#tab-own").click()
    opened.page.locator("#own-list button").click()
    opened.page.locator("#tab-decision").click()
    printed = opened.page.locator("#offered label", has_text="as the edition prints it")
    assert printed.locator("input").is_checked()
    assert opened.page.inner_text("#stands") == ""


def test_an_ossia_is_left_out(opened: Opened) -> None:
    record = "I-031-lower-octave"
    staff = f'#music .oStaff[data-records="{record}"]'
    assert seen(opened, staff) == 2
    choose(opened, record, "left out")
    assert seen(opened, staff) == 0


def write(
    opened: Opened, note: str, digit: str = "", string: str = "", bow: str = "", upper: str = ""
) -> None:
    """Write at a note, by keyboard; `upper` is the digit of the upper note of a double stop."""
    page = opened.page
    if page.locator("#write").get_attribute("aria-pressed") == "false":
        page.locator("#write").click()
    page.locator(f"#x-{note}").focus()
    page.keyboard.press("Enter")
    if digit:
        page.locator(f'[name="digit-0"][value="{digit}"]').check()
    if upper:
        page.locator(f'[name="digit-1"][value="{upper}"]').check()
    if string:
        page.locator('[name="string-0"]').select_option(string)
    if bow:
        page.locator(f'[name="bow"][value="{bow}"]').check()
    page.locator("#keep").click()


def test_an_own_fingering_is_written_by_keyboard_shown_removed_and_brought_back(
    opened: Opened,
) -> None:
    write(opened, "i-b003-vn-n02", "2", "D", "up")
    assert opened.page.locator(".own-mark").text_content() == "2 D\ue612"
    assert "note 2 of bar 3" in opened.focused()
    opened.page.locator("#tab-own").click()
    entry = opened.page.locator("#own-list li")
    assert entry.inner_text().startswith("2 D, up bow, note 2 of bar 3")
    entry.locator("button").click()
    assert opened.page.locator(".own-mark").count() == 0
    opened.page.locator("#undo").click()
    assert opened.page.locator(".own-mark").count() == 1


@pytest.mark.parametrize(
    ("note", "says"), [("i-b003-vn-n02", "under a slur or a tie"), ("i-b003-vn-n01", "")]
)
def test_a_bow_sign_where_no_stroke_begins_is_warned_of_before_it_is_kept(
    opened: Opened, note: str, says: str
) -> None:
    opened.page.locator("#write").click()
    opened.page.locator(f"#x-{note}").focus()
    opened.page.keyboard.press("Enter")
    amiss = opened.page.locator("#bow-amiss")
    assert amiss.inner_text() == ""
    opened.page.locator('[name="bow"][value="up"]').check()
    assert says in amiss.inner_text()
    assert bool(amiss.inner_text()) == bool(says)
    opened.page.locator('[name="bow"][value="none"]').check()
    assert amiss.inner_text() == ""


def test_a_string_without_a_finger_is_warned_of_before_it_is_lost(opened: Opened) -> None:
    opened.page.locator("#write").click()
    opened.page.locator("#x-i-b003-vn-n02").focus()
    opened.page.keyboard.press("Enter")
    opened.page.locator('[name="string-0"]').select_option("D")
    alone = opened.page.locator("#string-alone")
    assert "only with a finger" in alone.inner_text()
    opened.page.locator('[name="digit-0"][value="0"]').check()
    assert alone.inner_text() == ""


def test_a_bow_sign_that_was_warned_of_is_what_the_checks_refuse(
    opened: Opened, tmp_path: Path
) -> None:
    write(opened, "i-b003-vn-n02", bow="up")
    copy = read_choices(saved(opened, tmp_path))
    assert copy.value is not None
    found = examine(EXAMPLE, own=copy.value).problems
    assert "bow-sign-within-a-stroke" in {one.code for one in found}


def test_own_marks_stand_clear_of_what_is_engraved(opened: Opened) -> None:
    write(opened, "i-b003-vn-n01", "3")
    touching = opened.page.evaluate(
        """() => {
          const own = document.querySelector('.own-mark').getBoundingClientRect();
          const below = own.bottom - 0.25 * own.height; /* no digit reaches below its line */
          return [...document.querySelectorAll('#music .fing, #music .artic, #music .dir')]
            .map(e => e.getBoundingClientRect())
            .filter(b => b.width && b.left < own.right && b.right > own.left)
            .filter(b => b.top < below && b.bottom > own.top).length;
        }"""
    )
    assert touching == 0


def test_a_note_is_written_at_by_clicking_it(opened: Opened) -> None:
    opened.page.locator("#write").click()
    click_mark(opened, "#x-i-b003-vn-n03")
    assert opened.page.locator("#entry-title").inner_text() == "e′, note 3 of bar 3"
    opened.page.locator('[name="digit-0"][value="4"]').check()
    opened.page.locator("#keep").click()
    assert opened.page.locator(".own-mark").text_content() == "4"


def saved(opened: Opened, into: Path, player: str = "Mareike Lindqvarn") -> Path:
    page = opened.page
    page.locator("#tab-own").click()
    page.locator("#player").fill(player)
    page.locator("#performance").fill("2031-12-20")
    with page.expect_download() as download:
        page.locator("#save").click()
    file = into / download.value.suggested_filename
    download.value.save_as(file)
    return file


def test_a_saved_copy_builds_the_players_part(opened: Opened, tmp_path: Path) -> None:
    choose(opened, HAND, "first position")
    choose(opened, "I-031-lower-octave", "left out")
    write(opened, "i-b011-vn-n01", "2", bow="down")
    write(opened, DOUBLE_STOP, "0", upper="1")
    file = saved(opened, tmp_path)
    copy = read_choices(file)
    assert copy.value is not None, copy.problems
    assert [(one.of, one.takes) for one in copy.value.taken] == [
        (HAND, ("G – D – A",)),
        ("I-031-lower-octave", False),
    ]
    assert {one.day for one in copy.value.taken} == {date.today()}
    assert copy.value.performance == date(2031, 12, 20)
    kinds = [one.record.kind for one in copy.value.records]
    assert sorted(kinds) == ["bowing", "fingering", "fingering"]
    built = build_edition(EXAMPLE, tmp_path / "out", Order(frozenset({"part"}), copy=file))
    assert built.value is not None, built.problems
    assert (tmp_path / "out" / "part.pdf").read_bytes().startswith(b"%PDF")


def test_a_saved_copy_is_taken_up_again(
    opened: Opened, browser: object, reading_copy: Path, tmp_path: Path
) -> None:
    choose(opened, HAND, "first position")
    choose(opened, "I-031-lower-octave", "left out")
    write(opened, "i-b003-vn-n02", "2", "D", "up")
    file = saved(opened, tmp_path)
    written = file.read_text("utf-8")
    fresh = Opened(browser, reading_copy)
    fresh.page.locator("#tab-own").click()
    fresh.page.locator("#load").set_input_files(file)
    fresh.page.locator("#own-list li").nth(2).wait_for()
    again = saved(fresh, tmp_path / "again")
    assert again.read_text("utf-8") == written
    assert fresh.complaints == []
    fresh.context.close()


def test_choices_are_kept_until_the_page_is_opened_again(
    opened: Opened, reading_copy: Path
) -> None:
    write(opened, "i-b003-vn-n02", "2")
    opened.open(reading_copy)
    assert opened.page.locator(".own-mark").count() == 1


def test_without_a_place_to_keep_them_choices_work_and_the_player_is_told(
    browser,
    reading_copy: Path,  # type: ignore[no-untyped-def]
) -> None:
    window = Opened(browser, reading_copy)
    window.page.add_init_script(
        "Object.defineProperty(window, 'localStorage', { get() { throw new Error('denied') } })"
    )
    window.open(reading_copy)
    write(window, "i-b003-vn-n02", "2")
    assert window.page.locator(".own-mark").count() == 1
    window.page.locator("#tab-own").click()
    assert "keeps nothing" in window.page.locator("#own-said").inner_text()
    assert window.complaints == []
    window.context.close()


def test_no_file_without_a_name(opened: Opened) -> None:
    opened.page.locator("#tab-own").click()
    opened.page.locator("#save").click()
    assert "Write your name first" in opened.page.locator("#own-said").inner_text()
    assert opened.page.evaluate("document.activeElement.id") == "player"


def test_the_own_records_of_a_saved_copy_pass_the_checks(opened: Opened, tmp_path: Path) -> None:
    write(opened, "i-b043-vn-n01", "2")
    copy = read_choices(saved(opened, tmp_path, "solvanter"))
    assert copy.value is not None
    assert copy.value.player is not None
    assert copy.value.player.id == "solvanter-player", "unlike every agent of the edition"
    examined = examine(EXAMPLE, own=copy.value)
    assert examined.value is not None, examined.problems
