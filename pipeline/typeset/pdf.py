"""HTML in, PDF out: the only module that imports WeasyPrint.

PDF/UA-1 (ISO 14289-1): tagged, with language and title. Whatever WeasyPrint would only log (an
unknown property, a picture without a description) becomes a problem.
"""

from __future__ import annotations

import logging
import os
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from typing import Any

from pipeline.problems import Origin, Outcome, Problem, warning
from pipeline.typeset.faces import SCHEME, Faces
from pipeline.typeset.overfull import OverfullLine, overfull_lines
from pipeline.typeset.pictures import PICTURE_ADDRESS

_ABOUT_TOOLS = "Using fontTools instead of HarfBuzz-Subset"
"""What WeasyPrint says of this machine's libraries, not of the page: slower, but the same page."""

_CLOCK = "SOURCE_DATE_EPOCH"
_FIXED_TIME = "1704067200"
_LOGGERS = ("weasyprint", "fontTools")


def html_to_pdf(html: str, faces: Faces, origin: Origin, identifier: bytes) -> Outcome[bytes]:
    """Return the PDF and what the typesetter had to say.

    Nothing is fetched: only the faces given and pictures in the HTML itself are reachable.
    `identifier` becomes the PDF's file identifier, so that the same pages are the same bytes.
    """
    import weasyprint
    from weasyprint.text.fonts import FontConfiguration

    with _heard() as said, _no_clock():
        page = weasyprint.HTML(
            string=html, url_fetcher=_fetcher(faces.files), base_url=f"{SCHEME}:/"
        )
        document = page.render(font_config=FontConfiguration(), pdf_variant="pdf/ua-1")
        overfull = [_overfull(line, origin) for line in overfull_lines(document)]
        pdf: bytes = document.write_pdf(pdf_variant="pdf/ua-1", pdf_identifier=identifier)
    complaints = [_told(line, origin) for line in dict.fromkeys(said)]
    return Outcome(pdf, (*complaints, *overfull))


def _fetcher(files: Mapping[str, bytes]) -> Any:
    from weasyprint.urls import URLFetcher, URLFetcherResponse

    class FacesOnly(URLFetcher):  # type: ignore[misc] # WeasyPrint ships no types
        """Gives out the faces and the pictures inside the page; every other address is refused."""

        def fetch(self, url: str, headers: object = None) -> Any:
            if url.startswith(PICTURE_ADDRESS):
                return super().fetch(url, headers)
            scheme, _, name = url.partition(":")
            if scheme != SCHEME or name not in files:
                raise ValueError(f"nothing but the faces is read while typesetting, not {url}")
            return URLFetcherResponse(url, files[name], {"Content-Type": "font/ttf"})

    return FacesOnly()


@contextmanager
def _no_clock() -> Iterator[None]:
    """Give the fonts that are cut to size a fixed date: no clock may reach the bytes of a page.

    The variable is the convention of reproducible builds; fontTools has no other way to be told.
    """
    before = os.environ.get(_CLOCK)
    os.environ[_CLOCK] = before or _FIXED_TIME
    try:
        yield
    finally:
        if before is None:
            del os.environ[_CLOCK]


@contextmanager
def _heard() -> Iterator[list[str]]:
    said: list[str] = []

    class Listener(logging.Handler):
        def emit(self, record: logging.LogRecord) -> None:
            message = record.getMessage()
            if not message.startswith(_ABOUT_TOOLS):
                said.append(message)

    listener = Listener(logging.WARNING)
    loggers = [logging.getLogger(name) for name in _LOGGERS]
    before = [(logger.propagate, list(logger.handlers)) for logger in loggers]
    for logger in loggers:
        logger.propagate = False
        logger.handlers = [listener]
    try:
        yield said
    finally:
        for logger, (propagate, handlers) in zip(loggers, before, strict=True):
            logger.propagate, logger.handlers = propagate, handlers


def _told(line: str, origin: Origin) -> Problem:
    return warning(
        "typesetter-complains",
        origin,
        f"the typesetter says: {line}",
        "look at the page; mend the text or the style that it names",
    )


def _overfull(line: OverfullLine, origin: Origin) -> Problem:
    return warning(
        "overfull-line",
        origin,
        f"page {line.page}: a line runs into the margin: {line.text}",
        "give it a place to break, or shorten it",
    )
