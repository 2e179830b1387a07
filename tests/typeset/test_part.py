"""The part as PDF, read back with pypdf: words, footnotes, pages, boxes, tags.

Boxes: ISO 32000-1 (PDF 1.7), 14.11.2. Tagging: ISO 14289-1 (PDF/UA-1), 7.1 (marked, title shown),
7.2 (language), 7.3 (alternate text of figures).
"""

from __future__ import annotations

import io
import re
from collections.abc import Iterator
from dataclasses import replace
from fractions import Fraction

import pytest
from pypdf import PageObject, PdfReader
from pypdf.generic import DictionaryObject, IndirectObject

from pipeline.edition.layer import Layer
from pipeline.engrave.house_style import read_house_style
from pipeline.engrave.legend import samples
from pipeline.engrave.part_model import EngravedPart, PartLine, PartMark, PartMovement
from pipeline.problems import Outcome
from pipeline.typeset.example_labels import legend_words
from pipeline.typeset.part import PART_FAMILIES, part_pdf
from pipeline.typeset.part_paper import A4, Margins, Paper
from pipeline.typeset.remarks import remark_numbers
from tests.typeset.small_commentary import RECORDS, small_material

MM = 72 / 25.4
TRADITION = PartMark("t-end", Layer.TRADITION, ("m4",))
PUPIL = PartMark("o-high", Layer.TRADITION, ("m3",))
DIGITS = PartMark("f-run", Layer.EDITOR, ("m1",))


def line(
    first: str = "1", last: str = "4", *marks: PartMark, high: float = 30.0, rests: int = 0
) -> PartLine:
    """A line of music: five lines, a digit, and its first bar's number in words."""
    width = A4.line_width_mm
    staff = "".join(f'<path d="M0 {y}H{width}" stroke="#000"/>' for y in range(10, 20, 2))
    svg = (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{width}mm" height="{high}mm" '
        f'viewBox="0 0 {width} {high}">{staff}'
        f'<text x="5" y="8" font-size="4" font-family="{PART_FAMILIES}">bar{first}</text></svg>'
    )
    silence = Fraction(rests)
    return PartLine(svg, width, high, first, last, Fraction(0), silence, tuple(marks))


def made(
    *lines: PartLine,
    language: str = "en",
    paper: Paper = A4,
    records: str = RECORDS,
) -> Outcome[bytes]:
    material = small_material(records)
    return part_pdf(
        material.edition,
        material.score,
        material.decisions,
        EngravedPart((PartMovement(1, lines),)),
        samples(read_house_style(), legend_words(language), PART_FAMILIES),
        remark_numbers(material.decisions),
        paper,
        language,
    )


def pages(
    *lines: PartLine, language: str = "en", paper: Paper = A4, records: str = RECORDS
) -> list[PageObject]:
    return list(read(made(*lines, language=language, paper=paper, records=records)).pages)


def read(outcome: Outcome[bytes]) -> PdfReader:
    assert outcome.problems == ()
    assert outcome.value is not None
    return PdfReader(io.BytesIO(outcome.value))


def said(page: PageObject) -> str:
    return re.sub(r"\s+", " ", page.extract_text())


def test_the_first_page_says_what_it_is_and_whose() -> None:
    (page,) = pages(line())
    for words in ("Sonata", "for violin", "Violin", "Ada Morell", "Edited by Ilse Brand"):
        assert words in said(page)


def test_it_speaks_the_language_asked_for() -> None:
    (page,) = pages(line("1", "4", TRADITION), language="de")
    for words in ("Sonate", "Violine", "Herausgegeben von", "nicht vom Komponisten", "Herkunft"):
        assert words in said(page)


def test_a_tradition_has_its_footnote_on_the_page_of_its_line() -> None:
    lines = [line(str(n)) for n in range(1, 12)]
    lines[9] = line("10", "10", TRADITION)
    told = [said(page) for page in pages(*lines)]
    (on,) = [n for n, text in enumerate(told) if "the Veldt ending" in text]
    assert "bar10" in told[on]
    assert "the Veldt ending: not the composer’s." in told[on]
    assert "Origin: a concert." in told[on]
    assert "8*)" in told[on]  # the last remark of the commentary


def test_what_a_player_brought_in_has_one_too_and_the_editors_marks_have_none() -> None:
    (page,) = pages(line("3", "4", PUPIL, DIGITS))
    assert "easier by Tora Lind: not the composer’s." in said(page)
    assert "Fingering" not in said(page)


def test_the_note_stands_on_each_page_that_shows_the_tradition() -> None:
    lines = [line(str(n), str(n), TRADITION) for n in range(1, 12)]
    with_music = [said(page) for page in pages(*lines) if "bar" in said(page)]
    assert len(with_music) == 2
    assert all(told.count("Origin: a concert.") == 1 for told in with_music)


def test_markup_in_the_words_of_an_edition_is_shown_as_text() -> None:
    loud = RECORDS.replace("en: a concert", 'en: "<b>x</b> #eval(1+1) \\\\ $a$ *hall*"')
    (page,) = pages(line("4", "4", TRADITION), records=loud)
    assert "<b>x</b> #eval(1+1) \\ $a$ hall" in said(page)


def test_the_legend_has_the_layers_that_are_shown_and_no_others() -> None:
    (page,) = pages(line("1", "4", DIGITS))
    assert "Editor’s markings" in said(page)
    assert "Performing tradition" not in said(page)
    assert "number of the remark" in said(page)
    (plain,) = pages(line())
    assert "number of the remark" not in said(plain)


@pytest.mark.parametrize(
    ("classes", "told"),
    [
        ("fing", True),
        ("fing layer-text record-x", True),
        ("fing layer-composer record-x layer-text", False),
        ("fing layer-editor", False),
    ],
)
def test_the_legend_explains_the_digits_of_the_text_where_there_are_some(
    classes: str, told: bool
) -> None:
    plain = line("1", "4", DIGITS)
    digit = f'<g class="{classes}"></g></svg>'
    (page,) = pages(replace(plain, svg=plain.svg.replace("</svg>", digit)))
    assert ("principal source" in said(page)) is told


def test_where_a_remark_has_its_figure_the_legend_tells_what_it_is() -> None:
    (page,) = pages(line("4", "4", PartMark("m-tempo", Layer.EDITOR, ())))
    assert "number of the remark" in said(page)
    assert "Editor’s markings" not in said(page)


def test_later_pages_have_a_running_head_and_their_number_on_the_outer_side() -> None:
    first, second, third, *_ = pages(*(line(str(n)) for n in range(1, 20)))
    assert "Sonata, Violin" not in said(first)
    for page, number, left in ((second, "2", True), (third, "3", False)):
        assert "Sonata, Violin" in said(page)
        at = [x for text, x in placed(page) if text == number]
        assert at
        assert (at[0] < 105 * MM) is left


def test_the_inner_margin_lies_at_the_fold() -> None:
    paper = Paper(margins=Margins(inside=30.0, outside=10.0))
    left, right = pages(*(line(str(n)) for n in range(1, 12)), paper=paper)[1:]
    assert leftmost(right) - leftmost(left) == pytest.approx((30.0 - 10.0) * MM, abs=0.1)


def test_two_pages_without_a_rest_between_them_lie_open_after_a_title_page() -> None:
    title, *music = pages(*(line(str(n)) for n in range(1, 12)))
    assert "Ada Morell" in said(title)
    assert "bar" not in said(title)
    assert len(music) == 2
    assert not any("V. S." in said(page) for page in (title, *music))


def test_a_page_that_is_turned_without_a_rest_says_so() -> None:
    busy = pages(*(line(str(n)) for n in range(1, 26)))
    turned = [n for n, page in enumerate(busy, start=1) if "V. S." in said(page)]
    assert turned
    assert all(n % 2 == 1 for n in turned)
    resting = pages(*(line(str(n), str(n), rests=4) for n in range(1, 26)))
    assert not any("V. S." in said(page) for page in resting)


def test_every_line_stands_there_once_and_in_order() -> None:
    told = " ".join(said(page) for page in pages(*(line(str(n)) for n in range(1, 30))))
    assert re.findall(r"bar(\d+)", told) == [str(n) for n in range(1, 30)]


@pytest.mark.parametrize("paper", [A4, Paper(228.6, 304.8), Paper(170.0, 240.0)])
def test_the_page_has_the_size_that_was_asked_for(paper: Paper) -> None:
    page = pages(line(high=20.0), paper=paper)[0]
    assert float(page.mediabox.width) == pytest.approx(paper.width_mm * MM, abs=0.01)
    assert float(page.mediabox.height) == pytest.approx(paper.height_mm * MM, abs=0.01)
    assert page.trimbox == page.mediabox


def test_marks_and_bleed_stand_around_the_trimmed_page() -> None:
    paper = Paper(crop_marks=True, bleed_mm=3.0)
    lines = [line(str(n)) for n in range(1, 12)]
    for page in pages(*lines, paper=paper):
        assert float(page.trimbox.width) == pytest.approx(210 * MM, abs=0.01)
        assert float(page.trimbox.height) == pytest.approx(297 * MM, abs=0.01)
        for box, out in ((page.bleedbox, 3.0), (page.mediabox, paper.around_mm)):
            assert float(page.trimbox.left - box.left) == pytest.approx(out * MM, abs=0.01)
            assert float(box.top - page.trimbox.top) == pytest.approx(out * MM, abs=0.01)
            assert float(box.width - page.trimbox.width) == pytest.approx(2 * out * MM, abs=0.01)


def test_a_file_with_bleed_is_whole() -> None:
    outcome = made(*(line(str(n)) for n in range(1, 12)), paper=Paper(crop_marks=True))
    assert outcome.value is not None
    strict = PdfReader(io.BytesIO(outcome.value), strict=True)
    assert "bar1" in strict.pages[1].extract_text()


def test_the_faces_are_embedded_and_cut_to_what_is_used() -> None:
    (page,) = pages(line())
    fonts = [font.get_object() for font in page["/Resources"]["/Font"].values()]
    for font in fonts:
        (inner,) = font["/DescendantFonts"]
        assert re.match(r"/[A-Z]{6}\+", font["/BaseFont"])
        descriptor = inner.get_object()["/FontDescriptor"].get_object()
        assert {"/FontFile2", "/FontFile3"} & set(descriptor)
    assert any("EBGaramond" in font["/BaseFont"] for font in fonts)


def test_it_claims_pdf_ua_and_names_title_author_and_language() -> None:
    pdf = read(made(line(), language="de"))
    root = pdf.trailer["/Root"]
    assert root["/MarkInfo"]["/Marked"]
    assert root["/ViewerPreferences"]["/DisplayDocTitle"]
    assert root["/Lang"] == "de"
    assert b"<pdfuaid:part>1</pdfuaid:part>" in root["/Metadata"].get_data()
    assert pdf.metadata is not None
    assert pdf.metadata.title == "Ada Morell: Sonate. Violine"
    assert pdf.metadata.author == "Ilse Brand"


def test_every_line_and_sample_is_described() -> None:
    root = read(made(line("1", "2"), line("3", "3", TRADITION))).trailer["/Root"]
    told = [e.get("/Alt") for e in structure(root["/StructTreeRoot"]) if e.get("/S") == "/Figure"]
    assert "Music, bars 1 to 2" in told
    assert "Music, bar 3" in told
    assert "what is played, as an ossia" in told
    assert all(told)


def test_movements_are_headings() -> None:
    assert [item.title for item in read(made(line())).outline] == ["Allegro"]


def test_the_same_part_is_the_same_bytes() -> None:
    lines = [line(str(n), str(n), TRADITION) for n in range(1, 12)]
    assert made(*lines).value == made(*lines).value


def test_a_line_that_no_page_can_hold_is_told() -> None:
    outcome = made(line("1", "2", high=280.0))
    assert outcome.value is None
    (problem,) = outcome.problems
    assert problem.code == "line-higher-than-page"
    assert problem.place == "movement 1, bar 1"


def placed(page: PageObject) -> list[tuple[str, float]]:
    """Return the texts of a page with the place of each from the left, in points."""
    found: list[tuple[str, float]] = []

    def visit(text: str, cm: list[float], tm: list[float], *_: object) -> None:
        if text.strip():
            found.append((text.strip(), tm[4] * cm[0] + cm[4]))

    page.extract_text(visitor_text=visit)
    return found


def leftmost(page: PageObject) -> float:
    """Where the first word of the music begins; letters of a picture are placed one by one."""
    return min(x for text, x in placed(page) if text == "b")


def structure(element: DictionaryObject) -> Iterator[DictionaryObject]:
    kids = element.get("/K", [])
    for kid in kids if isinstance(kids, list) else [kids]:
        held = kid.get_object() if isinstance(kid, IndirectObject) else kid
        if isinstance(held, DictionaryObject):
            yield held
            yield from structure(held)
