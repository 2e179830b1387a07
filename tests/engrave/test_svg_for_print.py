"""The picture on the page: right size, all the ink, words as text, in WeasyPrint's PDF."""

from __future__ import annotations

import io
import re
from pathlib import Path

import pytest
from pypdf import PdfReader

from pipeline.engrave.clear_of_slurs import clear_of_slurs
from pipeline.engrave.drawing_extent import extent
from pipeline.engrave.fonts import music_font_face
from pipeline.engrave.svg_for_print import svg_for_print
from pipeline.engrave.verovio import Layout, engrave, line_width
from pipeline.engrave.verovio_svg import Drawing, Run, Shape, Words, read_drawing
from tests.score.drawn import mei

LAYOUT = Layout(line_width(130, 5.0))
MARKED = mei(
    "a=c5/4 b=d5/4 c=e5/4 d=f5/4",
    extra={
        0: '<slur startid="#a" endid="#d"/><fing startid="#b">2</fing>'
        '<tempo tstamp="1" staff="1">Allegro</tempo><dynam tstamp="1" staff="1">mf</dynam>'
        '<arpeg startid="#c"/>'
    },
).decode()


def svg(document: str = MARKED) -> str:
    return engrave(document, LAYOUT).systems[0]


def test_nothing_that_verovio_drew_is_left_out() -> None:
    drawn = svg()
    drawing = read_drawing(drawn)
    body = drawn.partition("</defs>")[2]
    assert len(drawing.glyphs) == len(re.findall("<use ", body))
    assert len(drawing.words) == len(re.findall("<text ", body))
    shapes = re.findall("<(?:path|polygon|polyline|rect|ellipse) ", body)
    hidden = len(re.findall('placeholder[^"]*"[^>]*><ellipse', body))
    assert len(drawing.shapes) == len(shapes) - hidden


def test_a_staff_is_as_high_as_asked_for() -> None:
    picture = svg_for_print(read_drawing(svg()), 6.0, "a bar")
    view = re.search(r'viewBox="([^"]+)"', picture.markup)
    assert view is not None
    _, _, width, height = (float(number) for number in view[1].split())
    assert picture.width_mm == pytest.approx(width / 720 * 6.0, abs=0.01)
    assert picture.height_mm == pytest.approx(height / 720 * 6.0, abs=0.01)


def test_the_crop_holds_every_word() -> None:
    drawing = read_drawing(svg())
    left, top, right, bottom = extent(drawing)
    for words in drawing.words:
        assert left < words.x < right
        assert top < words.y - 0.7 * words.runs[0].size
        assert words.y < bottom


def test_tempo_is_bold_and_digits_have_verovios_weight() -> None:
    runs = {words.runs[0].text: words.runs[0] for words in read_drawing(svg()).words}
    assert runs["Allegro"].bold
    assert runs["2"].bold
    assert not runs["2"].italic


def test_weasyprint_sets_words_and_glyphs_as_text(tmp_path: Path) -> None:
    weasyprint = pytest.importorskip("weasyprint")
    picture = svg_for_print(read_drawing(svg()), 5.0, "a bar", "DejaVu Serif")
    html = f"<style>{music_font_face()}</style><img alt='a bar' src='{picture.data_uri}'>"
    pdf = PdfReader(io.BytesIO(weasyprint.HTML(string=html).write_pdf()))
    page = pdf.pages[0]
    read_back = page.extract_text()
    assert "Allegro" in read_back
    assert "2" in read_back
    fonts = page["/Resources"]["/Font"].values()
    assert any("Leipzig" in str(font.get_object()["/BaseFont"]) for font in fonts)


def test_svg_of_another_maker_is_refused() -> None:
    with pytest.raises(ValueError, match="not made by Verovio"):
        read_drawing('<svg xmlns="http://www.w3.org/2000/svg"/>')


def slur(path: str) -> Shape:
    return Shape("path", (("d", path),), frozenset({"slur"}))


def digit(x: float, y: float, kind: str = "fing", text: str = "3") -> Words:
    run = Run(text, 300.0, italic=False, bold=False, music_face=False)
    return Words(x, y, "middle", (run,), frozenset({kind}))


OVER = slur("M0,1000 C300,600 700,600 1000,1000")
"""A slur that arches up to y = 700 at x = 500 (a cubic curve, by arithmetic)."""


@pytest.mark.parametrize(
    ("shape", "words", "moved"),
    [
        (OVER, digit(500, 950), True),
        (OVER, digit(500, 760), True),
        (OVER, digit(500, 500), False),
        (OVER, digit(500, 1900), False),
        (OVER, digit(1500, 950), False),
        (OVER, digit(500, 950, kind="mNum"), False),
        (slur("M0,1000 C300,1400 700,1400 1000,1000"), digit(500, 950), False),
    ],
    ids=["under", "struck", "clear above", "lower staff", "beside", "bar number", "slur below"],
)
def test_a_digit_that_a_slur_runs_through_is_moved_above_it(
    shape: Shape, words: Words, moved: bool
) -> None:
    after = clear_of_slurs(Drawing(1000, 2000, (shape,), (), (words,))).words[0]
    assert (after.y != words.y) is moved
    if moved:
        assert after.y + 0.18 * 300 < 700


def test_what_stood_above_a_moved_digit_still_stands_above_it() -> None:
    lower, upper = digit(500, 950), digit(500, 690, kind="dir", text="sul G")
    drawing = Drawing(1000, 2000, (OVER,), (), (upper, lower))
    new_upper, new_lower = clear_of_slurs(drawing).words
    assert new_upper.y < new_lower.y - 0.68 * 300
