"""Everybody can use the reading copy: WCAG 2.2, level AA, in a real browser.

axe-core (Deque, in `axe-playwright-python`) tests what a machine can test, in the first lines of
each movement, for all lines are alike; the success criterion stands beside each check of our own.
"""

from __future__ import annotations

import importlib.resources
from pathlib import Path

import pytest

from tests.browser.conftest import Opened

RULES = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"]


def violations(opened: Opened) -> list[str]:
    pytest.importorskip("axe_playwright_python", reason="axe-core is not installed")
    script = importlib.resources.files("axe_playwright_python") / "axe.min.js"
    opened.page.evaluate(script.read_text("utf-8"))
    found = opened.page.evaluate(
        "rules => axe.run({exclude: '.line:nth-of-type(n+6)'}, "
        "{runOnly: {type: 'tag', values: rules}, resultTypes: ['violations']})",
        RULES,
    )
    return [
        f"{one['id']}: {node['html'][:160]} {node['failureSummary']}"
        for one in found["violations"]
        for node in one["nodes"][:3]
    ]


def states(opened: Opened) -> None:
    """Nothing: the page as it opens."""


def decision(opened: Opened) -> None:
    opened.page.evaluate("location.hash = '#remark-I-003-hand'")
    opened.page.wait_for_selector("#told h3")


def own_copy(opened: Opened) -> None:
    opened.page.locator("#write").click()
    opened.page.locator("#x-i-b003-vn-n02").focus()
    opened.page.keyboard.press("Enter")
    opened.page.locator('[name="digit-0"][value="2"]').check()
    opened.page.locator("#keep").click()
    opened.page.locator("#tab-own").click()


def dialog(opened: Opened) -> None:
    opened.page.locator("#write").click()
    opened.page.locator("#x-i-b003-vn-n02").focus()
    opened.page.keyboard.press("Enter")


def german(opened: Opened) -> None:
    opened.page.locator('[data-language="de"]').click()


STATES = [states, decision, own_copy, dialog, german]


@pytest.mark.parametrize("state", STATES, ids=lambda one: one.__name__)
def test_axe_finds_no_violation(opened: Opened, state) -> None:  # type: ignore[no-untyped-def]
    state(opened)
    assert violations(opened) == []


@pytest.mark.parametrize("state", [states, decision], ids=lambda one: one.__name__)
def test_axe_finds_no_violation_on_a_phone(on_a_phone: Opened, state) -> None:  # type: ignore[no-untyped-def]
    state(on_a_phone)
    assert violations(on_a_phone) == []


@pytest.mark.parametrize(("width", "height"), [(320, 256), (360, 720), (640, 450), (768, 1024)])
def test_nothing_is_scrolled_sideways(
    browser,  # type: ignore[no-untyped-def]
    reading_copy: Path,
    width: int,
    height: int,
) -> None:
    """1.4.10; 320 by 256 is 1280 by 1024 at 400 %, 640 by 450 is 1280 by 900 at 200 % (1.4.4)."""
    window = Opened(browser, reading_copy, width, height)
    for state in (states, decision, german):
        state(window)
        assert window.page.evaluate("document.documentElement.scrollWidth") <= width
        for panel in ("#panel", "#music"):
            wide = window.page.evaluate(
                "s => [...document.querySelectorAll(s)].map(e => e.scrollWidth - e.clientWidth)[0]",
                panel,
            )
            assert wide <= 0, (panel, state.__name__)
    window.context.close()


def test_the_panel_hides_no_mark_that_has_the_focus(on_a_phone: Opened) -> None:
    """2.4.11."""
    page = on_a_phone.page
    decision(on_a_phone)
    page.locator("#write").focus()
    page.keyboard.press("Tab")
    for _ in range(60):
        page.keyboard.press("ArrowRight")
        hidden = page.evaluate(
            "document.activeElement.getBoundingClientRect().bottom > "
            "document.getElementById('panel').getBoundingClientRect().top"
        )
        assert not hidden, on_a_phone.focused()


def test_controls_are_large_enough_to_hit(on_a_phone: Opened) -> None:
    """2.5.8: 24 by 24 CSS pixels."""
    decision(on_a_phone)
    small = on_a_phone.page.evaluate(
        """() => [...document.querySelectorAll('button, input, select, summary, #layers label')]
          .filter(e => e.getClientRects().length && !e.closest('.unseen'))
          .map(e => [(e.closest('label') || e).getBoundingClientRect(), e.outerHTML])
          .filter(([b]) => b.width < 24 || b.height < 24).map(([b, name]) => name)"""
    )
    assert small == []


def test_a_touch_beside_a_digit_still_means_it(on_a_phone: Opened) -> None:
    """2.5.8: what is nearest within a finger's width is meant."""
    page = on_a_phone.page
    mark = page.locator('#music .fing.mark[data-records="I-003-hand"]').first
    mark.scroll_into_view_if_needed()
    box = mark.bounding_box()
    assert box is not None
    page.touchscreen.tap(box["x"] - 7, box["y"] + box["height"] / 2)
    assert page.url.endswith("#remark-I-003-hand")


def test_print_has_the_music_and_every_remark_and_no_controls(opened: Opened) -> None:
    page = opened.page
    decision(opened)
    page.emulate_media(media="print")
    assert page.locator("button:visible, input:visible").count() == 0
    remarks = page.locator('.remarks[lang="en"] .remark')
    assert page.locator('.remarks[lang="en"] .remark .filed:visible').count() == remarks.count()
    assert page.locator("#music .line svg:visible").count() > 30


def test_without_a_script_everything_is_there(browser, reading_copy: Path) -> None:  # type: ignore[no-untyped-def]
    context = browser.new_context(java_script_enabled=False)
    page = context.new_page()
    page.goto(f"file://{reading_copy}")
    assert page.locator('.remarks[lang="en"] .reason').first.is_visible()
    assert page.locator("#write").is_hidden()
    assert page.locator('.remarks[lang="de"]').is_hidden()
    context.close()


def test_motion_is_reduced_where_that_is_wished(browser, reading_copy: Path) -> None:  # type: ignore[no-untyped-def]
    """2.3.3."""
    window = Opened(browser, reading_copy, reduced_motion="reduce")
    assert (
        window.page.evaluate("getComputedStyle(document.documentElement).scrollBehavior") == "auto"
    )
    window.context.close()


def test_marks_are_seen_in_forced_colours(browser, reading_copy: Path) -> None:  # type: ignore[no-untyped-def]
    """1.4.11."""
    window = Opened(browser, reading_copy, forced_colors="active")
    decision(window)
    ring = window.page.evaluate("getComputedStyle(document.querySelector('.lit')).stroke")
    assert ring not in {"none", ""}
    window.context.close()
