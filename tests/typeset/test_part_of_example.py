"""The example edition's part: what the lines hold stands on the pages, nothing lost or doubled."""

from __future__ import annotations

import io
import re
from collections import Counter
from dataclasses import dataclass
from functools import cache
from pathlib import Path

import pytest
from lxml import etree
from pypdf import PdfReader

from pipeline.build import examine
from pipeline.build_part import engraved_part, part_of
from pipeline.checks.material import Material
from pipeline.layers.write import write_layers
from pipeline.typeset.part_wishes import PartWishes, read_wishes

EDITION = Path(__file__).parents[2] / "example_edition"
SVG = "{http://www.w3.org/2000/svg}"
MARKS = {
    "the editor's digits": re.compile(r"\[[0-4IV]+\]"),
    "a player's digits": re.compile(r"\([0-4]\)"),
    "keys to remarks": re.compile(r"(?<!\d)\d{1,3}\*?\)"),
}


@dataclass(frozen=True)
class Made:
    """The text of the lines, and of the pages of the PDF that they stand on."""

    lines: str
    pages: tuple[str, ...]
    bytes_a_page: float


@cache
def material() -> Material:
    found = examine(EDITION).value
    assert found is not None
    return found


@cache
def mei() -> bytes:
    of = material()
    return write_layers(of.edition, of.score, of.decisions, of.collations)


@cache
def made(layers: str | None = None, paper: str = "A4", language: str = "en") -> Made:
    wishes = read_wishes(layers=layers, paper=paper)
    assert isinstance(wishes, PartWishes)
    engraved = engraved_part(material(), mei(), wishes, language)
    assert engraved.value is not None
    words = []
    for movement in engraved.value.movements:
        for line in movement.lines:
            texts = etree.fromstring(line.svg.encode()).iter(f"{SVG}text")
            words += ["".join(text.itertext()).strip() for text in texts]
    pdf = part_of(material(), mei(), wishes, language, lambda _: None)
    assert pdf.problems == ()
    assert pdf.value is not None
    pages = PdfReader(io.BytesIO(pdf.value)).pages
    told = tuple(page.extract_text() for page in pages)
    return Made("\n".join(words), told, len(pdf.value) / len(pages))


def count(kind: str, text: str) -> Counter[str]:
    return Counter(MARKS[kind].findall(text))


@pytest.mark.parametrize("kind", sorted(MARKS))
@pytest.mark.parametrize("layers", [None, "text,composer,editor", "text"])
def test_each_mark_of_the_lines_stands_on_the_pages_once(kind: str, layers: str | None) -> None:
    found = made(layers)
    on_pages = count(kind, "\n".join(found.pages))
    in_lines = count(kind, found.lines)
    besides = on_pages - in_lines
    assert not in_lines - on_pages
    assert besides == (_besides(kind, found) if in_lines else Counter())


def _besides(kind: str, found: Made) -> Counter[str]:
    """What is not in the lines: one sample a layer in the legend, the keys of its sentence and of
    the footnotes. A player's digit in brackets looks like a key to the one who counts."""
    sample = range(1, 5)
    if kind == "the editor's digits":
        return Counter(f"[{digit}]" for digit in sample)
    players = Counter(f"({digit})" for digit in sample if count("a player's digits", found.lines))
    if kind == "a player's digits":
        return players
    footnotes = re.findall(r"^\d+\*\)(?= *\w[^\n]*not the composer)", "\n".join(found.pages), re.M)
    return Counter(["12)", *footnotes, *(digit.removeprefix("(") for digit in players)])


def test_a_part_of_the_text_alone_has_no_mark_of_another_layer() -> None:
    told = "\n".join(made("text").pages)
    assert not count("the editor's digits", told)
    assert not count("a player's digits", told)
    assert "not the composer’s" not in told


def test_each_tradition_is_explained_where_it_is_shown() -> None:
    told = made().pages
    for words in ("Hallgrund tradition: not", "Dreuvelin’s ending: not", "Played an octave higher"):
        (page,) = [text for text in told if words in text and "Origin" in text]
        assert page


def test_the_directions_can_be_searched() -> None:
    told = "\n".join(made().pages)
    for words in ("Andante appassionato", "sul G", "con passione", "allargando", "pizz."):
        assert words in told


@pytest.mark.parametrize("paper", ["A4", "9x12in", "170x240mm"])
@pytest.mark.parametrize("language", ["en", "de"])
def test_a_page_is_small(paper: str, language: str) -> None:
    assert made(None, paper, language).bytes_a_page < 60_000


def test_all_layers_that_are_shown_are_in_the_legend_with_the_caution() -> None:
    first = made().pages[0]
    for name in ("Composer’s markings", "Editor’s markings", "Performing tradition"):
        assert name in first
    assert "ask a teacher or a physician" in first
    assert "ask a teacher or a physician" not in made("text").pages[0]
