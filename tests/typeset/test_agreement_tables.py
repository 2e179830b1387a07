"""The tables of agreement as they are printed: figures, greys, widths, captions, both languages.

Contrast is reckoned by the formula of WCAG 2.1 (relative luminance, contrast ratio; W3C, 2018).
"""

from __future__ import annotations

import io
import re
from collections.abc import Iterator
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st
from pypdf import PdfReader
from pypdf.generic import DictionaryObject, IndirectObject

from pipeline.collation.agreement import KINDS, Agreement, tallied
from pipeline.typeset.agreement import DARKEST, AgreementView, agreement_view, grey
from pipeline.typeset.commentary import commentary_html, commentary_pdf
from pipeline.typeset.wording import languages, wording_of
from tests.collation.letters import music
from tests.collation.small_edition import small_edition
from tests.collation.traditions import agreeing, errors
from tests.typeset.small_commentary import (
    EXAMPLES,
    HEAD,
    NOTES,
    RECORDS,
    SLUR,
    TEXT,
    small_material,
)

TEXT_COLUMN_MM = 133.0
THREE = {"A": errors("a2"), "E": errors("a2", "e3"), "S": errors("a1", "e3", "s4")}


def view(found: Agreement, language: str = "en", *not_encoded: str) -> AgreementView:
    made = agreement_view(found, wording_of(language), not_encoded)
    assert made is not None
    return made


def plain(text: str) -> str:
    return re.sub(r"\s+", " ", re.sub(r"<[^>]*>", "", text))


def many(count: int, errors_each: int = 8) -> Agreement:
    """Return so many witnesses, each with errors of its own of every kind."""
    found = agreeing({chr(65 + n): errors(f"{chr(97 + n)}{errors_each}") for n in range(count)})
    return tallied(
        found.witnesses,
        (replace(unit, kind=KINDS[n % len(KINDS)]) for n, unit in enumerate(found.units)),
    )


def test_three_sources_as_a_reader_sees_them() -> None:
    made = view(agreeing(THREE))
    assert [[f"{cell.figure} {plain(cell.below)}" for cell in row.cells] for row in made.pairs] == [
        ["0 alone", "67 6/9", "11 1/9"],
        ["67 6/9", "0 alone", "44 4/9"],
        ["11 1/9", "44 4/9", "4 alone"],
    ]
    (pitch,) = made.kinds
    assert (pitch.name, pitch.departures) == ("Pitch", ("2", "5", "8"))
    assert pitch.pairs == ("6/9", "1/9", "4/9")
    assert made.pair_headings == ("A–E", "A–S", "E–S")
    assert [row.departures for row in made.totals] == [("2", "5", "8"), ("9", "9", "9")]


def test_what_was_counted_and_who_does_not_appear() -> None:
    english = view(agreeing(THREE), "en", "P", "H")
    assert plain(english.lead).startswith(
        "Counted are the 9 places at which at least one of A, E and S departs from the text."
    )
    assert plain(english.note).endswith("P and H are not encoded and do not appear.")
    german = view(agreeing(THREE), "de", "P")
    assert plain(german.lead).startswith(
        "Gezählt sind die 9 Stellen, an denen mindestens eine der Quellen A, E und S vom Text"
    )
    assert plain(german.note).endswith("P ist nicht codiert und kommt nicht vor.")


def test_where_nothing_differs_a_sentence_stands_for_the_tables() -> None:
    made = view(agreeing({"A": set(), "E": set()}))
    assert (
        plain(made.lead) == "A and E nowhere depart from the text, and so nowhere from one another."
    )
    assert (made.pairs, made.kinds, made.totals) == ((), (), ())


def test_one_source_has_nobody_to_agree_with() -> None:
    assert agreement_view(agreeing({"A": errors("a9")}), wording_of("en")) is None


def test_a_pair_without_a_common_place_has_a_dash_and_no_grey() -> None:
    gaps = {"A": frozenset(errors("e9")), "E": frozenset(errors("a9"))}
    (first, _) = view(agreeing({"A": errors("a9"), "E": errors("e9")}, gaps=gaps)).pairs
    assert (first.cells[1].figure, first.cells[1].grey) == ("–", "")


@pytest.mark.parametrize(("agreed", "of", "said"), [(199, 200, "99"), (1, 400, "1"), (9, 9, "100")])
def test_nearly_all_is_not_all(agreed: int, of: int, said: str) -> None:
    made = {"A": errors(f"a{of}"), "E": errors(f"a{agreed}")}
    assert view(agreeing(made)).pairs[0].cells[1].figure == said


@pytest.mark.parametrize("count", range(2, 13))
@pytest.mark.parametrize("errors_each", [1, 8, 400])
def test_the_tables_fit_the_text_column(count: int, errors_each: int) -> None:
    made = view(many(count, errors_each))
    assert 10 + count * made.pair_mm <= TEXT_COLUMN_MM + 0.01
    pairs = len(made.pair_headings)
    assert 33 + count * made.count_mm + pairs * made.pair_count_mm <= TEXT_COLUMN_MM + 0.01
    assert made.count_mm >= 8


def test_four_sources_have_their_pairs_by_kind_five_do_not() -> None:
    assert len(view(many(4)).pair_headings) == 6
    assert view(many(5)).pair_headings == ()


def test_pairs_by_kind_are_left_out_where_their_counts_are_too_long() -> None:
    assert view(many(4, 400)).pair_headings == ()


def test_long_counts_are_broken_in_a_narrow_cell() -> None:
    assert "/<br>" in view(many(12, 400)).pairs[0].cells[1].below
    assert "<br>" not in view(many(3, 400)).pairs[0].cells[1].below


def luminance(colour: str) -> float:
    """WCAG 2.1, relative luminance of an sRGB colour."""
    parts = [int(colour[at : at + 2], 16) / 255 for at in (1, 3, 5)]
    red, green, blue = (c / 12.92 if c <= 0.03928 else ((c + 0.055) / 1.055) ** 2.4 for c in parts)
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


@given(st.floats(0, 1))
def test_black_figures_are_read_on_every_grey(share: float) -> None:
    """WCAG 2.1 asks for 4.5 to 1 (1.4.3), for 7 to 1 where it is enhanced (1.4.6)."""
    contrast = (luminance(grey(share)) + 0.05) / (luminance("#000000") + 0.05)
    assert contrast >= 7


@given(st.floats(0, 1), st.floats(0, 1))
def test_who_agrees_more_is_never_lighter(one: float, other: float) -> None:
    less, more = sorted((one, other))
    assert luminance(grey(less)) >= luminance(grey(more))
    assert grey(0) == "#ffffff"
    assert grey(1) == f"#{DARKEST:02x}{DARKEST:02x}{DARKEST:02x}"


@pytest.mark.parametrize("language", languages())
def test_every_kind_has_a_word(language: str) -> None:
    assert {kind.value for kind in KINDS} <= set(wording_of(language).names("collation.kinds"))


class TestInTheCommentary:
    def html(self, language: str = "en") -> str:
        made = small_material()
        return commentary_html(
            made.edition, made.score, made.decisions, EXAMPLES, {}, language,
            collations=made.collations,
        )  # fmt: skip

    def test_the_section_follows_the_sources_and_names_those_left_out(self) -> None:
        text = plain(self.html().partition("<body>")[2])
        sources, agree = text.index("Lost copy"), text.index("How the sources agree")
        assert sources < agree < text.index("Relation of the sources", agree)
        assert "L is not encoded and does not appear." in text

    @pytest.mark.parametrize("language", ["en", "de"])
    def test_it_is_set_without_complaint_and_read_back(self, language: str) -> None:
        outcome = commentary_pdf(self.html(language))
        assert outcome.problems == ()
        assert outcome.value is not None
        pages = [page.extract_text() for page in PdfReader(io.BytesIO(outcome.value)).pages]
        heading = {"en": "How the sources agree", "de": "Wie die Quellen übereinstimmen"}[language]
        assert sum(heading in page for page in pages) == 1

    def test_every_figure_is_told_under_the_heads_of_its_row_and_column(self) -> None:
        """ISO 14289-1, 7.5: what heads a cell is told by Headers and IDs."""
        pdf = commentary_pdf(self.html()).value
        assert pdf is not None
        root = PdfReader(io.BytesIO(pdf)).trailer["/Root"]["/StructTreeRoot"]
        elements = list(structure(root))
        heads = {str(element["/ID"]) for element in elements if element.get("/S") == "/TH"}
        cells = [element["/A"] for element in elements if element.get("/S") == "/TD"]
        figures = [set(map(str, cell["/Headers"])) for cell in cells if len(cell["/Headers"]) > 1]
        assert len(figures) >= 9 + 2 * 6
        assert all(own <= heads for own in figures)
        assert sum(element.get("/S") == "/Caption" for element in elements) == 2

    @pytest.mark.parametrize("encoded", [(), ("A",)])
    def test_an_edition_with_one_encoded_source_or_none_has_no_section(
        self, encoded: tuple[str, ...]
    ) -> None:
        witnesses = {siglum: music(NOTES, SLUR, file="x.mei") for siglum in encoded}
        made, _ = small_edition(RECORDS[:0], witnesses, text=TEXT, head=HEAD)
        html = commentary_html(
            made.edition, made.score, made.decisions, {}, {}, "en", collations=made.collations
        )
        body = html.partition("<body>")[2]
        assert "How the sources agree" not in body
        assert "Relation of the sources" in body


def structure(element: DictionaryObject) -> Iterator[DictionaryObject]:
    yield element
    kids = element.get("/K", [])
    for kid in kids if isinstance(kids, list) else [kids]:
        one = kid.get_object() if isinstance(kid, IndirectObject) else kid
        if isinstance(one, DictionaryObject):
            yield from structure(one)
