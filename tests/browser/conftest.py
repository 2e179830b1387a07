"""The reading copy of the example edition in a real browser: Chromium, driven by Playwright.

Where Chromium is not installed (`.ci/browser` installs Debian's package where it may) these tests
skip and say so.
"""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from pathlib import Path

import pytest

from pipeline.build import Order, build_edition
from tests.browser.hostile import EXAMPLE

FLAGS = [
    "--headless",
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
]
CHROMIUM = shutil.which("chromium") or shutil.which("chromium-browser")


@pytest.fixture(scope="session")
def reading_copy(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The file as `apparatus build --only reading-copy` writes it."""
    out = tmp_path_factory.mktemp("reading-copy")
    made = build_edition(EXAMPLE, out, Order(frozenset({"reading-copy"})))
    assert made.value is not None, made.problems
    return out / "reading-copy.html"


@pytest.fixture(scope="session")
def browser() -> Iterator[object]:
    """A headless Chromium for all tests."""
    playwright = pytest.importorskip("playwright.sync_api", reason="Playwright is not installed")
    if CHROMIUM is None:
        pytest.skip("Chromium is not installed: `apt-get install chromium`")
    with playwright.sync_playwright() as running:
        started = running.chromium.launch(executable_path=CHROMIUM, args=FLAGS)
        yield started
        started.close()


class Opened:
    """The reading copy in a window, with everything the browser complained of."""

    def __init__(self, browser, file: Path, width: int = 1280, height: int = 900, **more) -> None:  # type: ignore[no-untyped-def]
        self.context = browser.new_context(
            viewport={"width": width, "height": height}, locale="en-GB", **more
        )
        self.page = self.context.new_page()
        self.complaints: list[str] = []
        self.asked: list[str] = []
        self.page.on("console", lambda told: self.complaints.append(told.text))
        self.page.on("pageerror", lambda told: self.complaints.append(str(told)))
        self.page.on("request", lambda request: self.asked.append(request.url))
        self.open(file)

    def open(self, file: Path, hash_: str = "") -> None:
        """Open the file, or open it again, and wait until it is ready."""
        self.page.goto(f"file://{file}{hash_}")
        self.page.wait_for_selector("body.settled")

    def focused(self) -> str:
        """Return the name of what has the focus."""
        return str(
            self.page.evaluate(
                "document.activeElement.getAttribute('aria-label') || "
                "document.activeElement.innerText || document.activeElement.id"
            )
        )

    def told(self) -> str:
        """Return what the panel says of the chosen mark."""
        return " ".join(self.page.inner_text("#told").split())


@pytest.fixture
def opened(browser, reading_copy: Path) -> Iterator[Opened]:  # type: ignore[no-untyped-def]
    """The page in a wide window; nothing may be on the console when the test is over."""
    window = Opened(browser, reading_copy)
    yield window
    assert window.complaints == []
    assert all(address.startswith(("file:", "data:", "blob:")) for address in window.asked)
    window.context.close()


@pytest.fixture
def on_a_phone(browser, reading_copy: Path) -> Iterator[Opened]:  # type: ignore[no-untyped-def]
    """The page on a small telephone that is touched."""
    window = Opened(browser, reading_copy, 360, 720, has_touch=True, is_mobile=True)
    yield window
    assert window.complaints == []
    window.context.close()
