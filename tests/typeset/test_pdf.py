"""The commentary as PDF, read back with pypdf: what the records say is what can be read.

Tagging, language and title as ISO 14289-1 (PDF/UA-1) asks for: clauses 7.1 (marked, title shown)
and 7.2 (language), 7.3 (alternate text of figures).
"""

from __future__ import annotations

import io
import re
from collections.abc import Iterator
from datetime import date
from functools import cache

import pytest
from pypdf import PdfReader
from pypdf.generic import DictionaryObject, IndirectObject

from pipeline.engrave.svg_for_print import Svg
from pipeline.problems import Origin
from pipeline.typeset.commentary import commentary_pdf
from pipeline.typeset.environment import TEMPLATES
from pipeline.typeset.faces import FaceFile, faces
from pipeline.typeset.pdf import html_to_pdf
from pipeline.typeset.pictures import picture
from tests.typeset.small_commentary import RECORDS, small_html
from tests.typeset.test_remarks import ENGLISH, GERMAN


@cache
def made(language: str, proof: bool = False) -> bytes:
    """Return the PDF; a clean commentary has no problem."""
    outcome = commentary_pdf(small_html(language, proof))
    assert outcome.problems == ()
    assert outcome.value is not None
    return outcome.value


def reader(language: str, proof: bool = False) -> PdfReader:
    return PdfReader(io.BytesIO(made(language, proof)))


def run_together(text: str) -> str:
    """Return text without spaces and hyphens, so that it is the same however lines break."""
    return re.sub(r"[\s\u2010\u00ad-]", "", text)


def read_back(language: str, proof: bool = False) -> str:
    return run_together("".join(page.extract_text() for page in reader(language, proof).pages))


@pytest.mark.parametrize(("language", "remarks"), [("en", ENGLISH), ("de", GERMAN)])
def test_the_text_of_the_pdf_is_what_the_records_say(
    language: str, remarks: dict[str, str]
) -> None:
    text = read_back(language)
    for remark in remarks.values():
        _, _, said = remark.partition(": ")
        for line in said.splitlines():
            for part in line.split("|"):
                assert run_together(part) in text, part


def test_html_in_prose_is_shown_as_text() -> None:
    text = read_back("en")
    assert run_together("<b>b</b> cannot stand here") in text
    assert "<i>rules</i>" in text


def test_what_is_open_stands_in_a_proof_only() -> None:
    assert "Stillopen" in read_back("en", proof=True)
    assert "=cmd()" in read_back("en", proof=True)
    assert "Stillopen" not in read_back("en")
    assert "=cmd()" not in read_back("en")


def test_the_outline_follows_the_chapters_and_movements() -> None:
    outline = reader("en").outline
    assert [item.title for item in outline if not isinstance(item, list)] == [
        "Contents",
        "How to read this edition",
        "Sources",
        "Editorial method",
        "Remarks",
        "Index of decisions by layer",
    ]
    below = [item.title for part in outline if isinstance(part, list) for item in part]
    assert [title.replace("\u2003", " ") for title in below] == [
        "Relation of the sources",
        "Principles",
        "I Allegro",
        "Variants of the sources",
        "Editor’s markings",
        "Performing tradition",
        "Who is named",
    ]


def test_the_contents_give_the_pages_where_chapters_begin() -> None:
    pages = [page.extract_text() for page in reader("en").pages]
    (begins,) = [
        number
        for number, text in enumerate(pages, start=1)
        if number > 2 and "Remarks" in text.splitlines()
    ]
    assert re.search(rf"Remarks\s*{begins}\b", pages[1])


def test_title_author_and_language() -> None:
    pdf = reader("de")
    assert pdf.metadata is not None
    assert pdf.metadata.title == "Ada Morell: Sonate. Kritischer Bericht"
    assert pdf.metadata.author == "Herausgegeben von Ilse Brand"
    assert pdf.trailer["/Root"]["/Lang"] == "de"


def test_its_date_is_that_of_the_latest_decision() -> None:
    metadata = reader("en").metadata
    assert metadata is not None
    assert metadata.modification_date is not None
    assert metadata.modification_date.date() == date(2026, 3, 9)


def test_it_claims_and_keeps_pdf_ua() -> None:
    root = reader("en").trailer["/Root"]
    assert root["/MarkInfo"]["/Marked"]
    assert root["/ViewerPreferences"]["/DisplayDocTitle"]
    assert b'pdfuaid:part="1"' in root["/Metadata"].get_data() or (
        b"<pdfuaid:part>1</pdfuaid:part>" in root["/Metadata"].get_data()
    )


def test_every_figure_has_its_alternate_text() -> None:
    root = reader("en").trailer["/Root"]["/StructTreeRoot"]
    told = [element.get("/Alt") for element in structure(root) if element.get("/S") == "/Figure"]
    assert "bar 1, text above E and S" in told
    assert "Relation of the sources: E from A; S from E; L from A" in told
    assert all(told)


def structure(element: DictionaryObject) -> Iterator[DictionaryObject]:
    """Yield the elements of the structure tree."""
    yield element
    kids = element.get("/K", [])
    for kid in kids if isinstance(kids, list) else [kids]:
        one = kid.get_object() if isinstance(kid, IndirectObject) else kid
        if isinstance(one, DictionaryObject):
            yield from structure(one)


def test_every_face_is_embedded_and_none_is_borrowed() -> None:
    names = {
        str(font.get_object()["/BaseFont"]).partition("+")[2]
        for page in reader("en").pages
        for font in page["/Resources"]["/Font"].values()
    }
    assert all(name.startswith(("Apparatus-Text", "Apparatus-Signs")) for name in names), names


def test_the_same_edition_gives_the_same_bytes() -> None:
    again = commentary_pdf(small_html("en")).value
    assert again == made("en")


def test_the_page_is_a4() -> None:
    """ISO 216: 210 mm by 297 mm."""
    for page in reader("en").pages:
        width, height = (float(side) * 25.4 / 72 for side in page.mediabox[2:])
        assert (round(width), round(height)) == (210, 297)


def page_of(body: str) -> str:
    return f'<html lang="en"><head><title>x</title></head><body>{body}</body></html>'


@pytest.mark.parametrize(
    "address", ["file:///etc/hostname", "http://a.example/x.png", "data:text/plain,x", "face:none"]
)
def test_nothing_is_read_from_outside_and_the_try_is_told(address: str) -> None:
    html = page_of(f'<p>Text</p><img src="{address}" alt="x">')
    outcome = html_to_pdf(html, faces(), Origin("edition.yaml"), b"0")
    assert outcome.value is not None
    (problem,) = outcome.problems
    assert problem.code == "typesetter-complains"
    assert address[:20] in problem.message


def test_a_line_that_cannot_be_broken_is_told_with_its_page() -> None:
    style = "<style>@page { size: A4; margin: 20mm }</style>"
    html = page_of(f"{style}<p>short</p><p>{'unbreakable' * 20}</p>")
    (problem,) = html_to_pdf(html, faces(), Origin("edition.yaml"), b"0").problems
    assert problem.code == "overfull-line"
    assert problem.message.startswith("page 1: a line runs into the margin: unbreakable")


def test_a_long_word_in_a_remark_is_broken_and_nothing_is_told() -> None:
    long = RECORDS.replace("Left out.", "unbreakable" * 20)
    assert commentary_pdf(small_html("en", records=long)).problems == ()


def test_without_the_text_face_the_page_is_still_set_and_legible() -> None:
    missing = FaceFile("text-roman", "fontpkg_no_such_face", "x.ttf", "normal")
    found = faces((missing,))
    html = page_of(f'<style>{found.css}</style><p style="font-family: Apparatus Text, serif">Text')
    outcome = html_to_pdf(html, found, Origin("edition.yaml"), b"0")
    assert outcome.value is not None
    assert PdfReader(io.BytesIO(outcome.value)).pages[0].extract_text().strip() == "Text"
    assert [problem.code for problem in found.problems] == ["text-face-missing"]


def test_remarks_without_pictures_never_part_from_their_key() -> None:
    """Key, kind and first words of each remark are on one page, wherever pages end."""
    records = "".join(
        RECORDS[RECORDS.index("- id: m-tempo") : RECORDS.index("- id: p-open")]
        .replace("m-tempo", f"m-{n}")
        .replace("Not too slow.", "Long enough to break the line more than twice. " * (n % 7 + 1))
        for n in range(60)
    )
    outcome = commentary_pdf(small_html("en", records=records))
    assert outcome.problems == ()
    assert outcome.value is not None
    pages = [page.extract_text() for page in PdfReader(io.BytesIO(outcome.value)).pages]
    headed = [len(re.findall(r"Remark\s+Long enough", page)) for page in pages]
    keys = [len(re.findall(r"beats\s2½–3", page)) for page in pages]
    assert sum(headed) == 60
    assert headed == keys


def test_an_example_beside_its_remark_is_not_torn_at_the_foot_of_a_page() -> None:
    css = (TEMPLATES / "commentary.css").read_text(encoding="utf-8")
    line = '<svg xmlns="http://www.w3.org/2000/svg" width="40mm" height="15mm">{}</svg>'
    pictures = "".join(
        picture(Svg(line.format(f'<text x="9" y="40">{name}</text>'), 40, 15, name)).markup
        for name in ("upperline", "lowerline")
    )
    remark = (
        '<div style="break-before: page; height: {}mm"></div><article class="entry remark beside">'
        '<p class="said">Said.</p>'
        f'<div class="example"><div class="pictures">{pictures}</div></div>'
        '<div class="reason"><p>Because.</p></div></article>'
    )
    heights = range(120, 220, 6)
    html = f"<html lang=en><title>t</title><style>{css}</style><body>" + "".join(
        remark.format(height) for height in heights
    )
    made = html_to_pdf(html, faces(), Origin("edition.yaml"), b"0" * 16)
    assert made.value is not None
    texts = [page.extract_text() for page in PdfReader(io.BytesIO(made.value)).pages]
    assert sum(text.count("upperline") for text in texts) == len(heights)
    assert all(text.count("upperline") == text.count("lowerline") for text in texts)
