"""The suggested stemma in words and as a drawing, beside what the edition itself says."""

from __future__ import annotations

import re
from collections.abc import Mapping
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st
from lxml import etree

from pipeline.collation.shared_errors import suggested_stemma
from pipeline.edition.head import Witness, WitnessKind
from pipeline.typeset.agreement_stemma import SuggestedView, nearest_encoded, suggested_view
from pipeline.typeset.relations import RelationsView, relations_view
from pipeline.typeset.tidy_tree import tidy
from pipeline.typeset.wording import wording_of
from tests.collation.traditions import agreeing, errors

Models = Mapping[str, tuple[str, ...]]
COPY = {"A": errors("a9"), "E": errors("a9", "e7")}
CAUTION = "Figures suggest, the editor decides."


def plain(text: str) -> str:
    return re.sub(r"\s+", " ", re.sub(r"<[^>]*>", "", text))


def view(
    made: Mapping[str, set[str]], models: Models, language: str = "en", **dates: str
) -> SuggestedView:
    suggested = suggested_stemma(agreeing(made), dates)
    assert suggested is not None
    return suggested_view(suggested, models, wording_of(language))


def said(
    made: Mapping[str, set[str]], models: Models, language: str = "en", **dates: str
) -> list[str]:
    return [plain(sentence) for sentence in view(made, models, language, **dates).sentences]


def drawn(one: SuggestedView) -> list[str]:
    """Return the words of the drawing."""
    assert one.drawing is not None
    root = etree.fromstring(one.drawing.markup.encode())
    return [str(text.text).replace("\u2009", "") for text in root.iter("{*}text")]


@pytest.mark.parametrize(
    ("models", "language", "sentence"),
    [
        (
            {"E": ("A",)},
            "en",
            "E hangs on A, as the editor has it: it has 9 of the 9 errors of A and 7 more.",
        ),
        (
            {"E": ("P",), "P": ("A",)},
            "en",
            "E hangs on A, as the editor has it: it has 9 of the 9 errors of A and 7 more.",
        ),
        (
            {},
            "en",
            "E would hang on A: it has 9 of the 9 errors of A and 7 more. "
            "The editor names no model of it.",
        ),
        (
            {"E": ("A",)},
            "de",
            "E hängt von A ab, wie es auch die Ausgabe sieht: "
            "E hat 9 der 9 Fehler von A und 7 weitere.",
        ),
    ],
)
def test_a_copy_beside_what_the_edition_says(models: Models, language: str, sentence: str) -> None:
    assert said(COPY, models, language) == [sentence]


def test_where_the_editor_names_another_model() -> None:
    made = {"A": errors("a9"), "B": errors("b9"), "E": errors("a9", "e7")}
    assert said(made, {"E": ("B",)})[0] == (
        "E would hang on A: it has 9 of the 9 errors of A and 7 more. "
        "The editor has it go back to B."
    )


def test_a_lost_model_and_what_the_editors_view_would_mean() -> None:
    made = {"A": errors("a8", "b9"), "E": errors("a8", "e7")}
    assert said(made, {"E": ("A",)}) == [
        "A and E have 8 errors in common and others besides (9 and 7), "
        "as if from one lost model α.",
        "The editor has E go back to A: then 9 errors of A were mended on the way, and 8 kept.",
    ]


def test_a_lost_copy_agrees_with_the_editor_who_names_what_it_was_copied_from() -> None:
    made = {"A": errors("a9"), "C": errors("a9", "x7", "c8"), "D": errors("a9", "x7", "d8")}
    assert said(made, {"C": ("A",), "D": ("A",)}) == [
        "C and D have 7 errors in common that A lacks, and others besides (8 and 8), "
        "as if from one lost copy α of A."
    ]


def test_a_witness_that_may_itself_be_what_seems_lost() -> None:
    made = {"A": errors("a20"), "E": errors("a15", "e9")}
    assert said(made, {})[1:] == [
        "A may itself be α, if 5 errors of A were mended by who copied from it.",
        "A dashed line rests on few errors, or others speak against it.",
    ]


def test_errors_that_speak_against_the_editor_and_too_few_to_speak() -> None:
    assert said({"A": errors("a9"), "E": errors("e9")}, {"E": ("A",)}) == [
        "No two sources have errors enough in common to say by them how they are related.",
        "The editor has E go back to A: the errors do not show it, for E has 0 of those of A and "
        "lacks 9.",
    ]
    assert said({"A": errors("a2"), "E": errors("e9")}, {"E": ("A",)})[1:] == [
        "The editor has E go back to A: A has too few errors to show it.",
        "A has hardly an error, so that nothing can be seen to hang on it.",
    ]


def test_mixed_alike_and_dated_otherwise() -> None:
    mixed = {"A": errors("a20"), "B": errors("b20"), "C": errors("a20", "b6", "c9")}
    assert said(mixed, {"C": ("A",)})[1:] == [
        "C has errors of two models: 20 that it shares with A and B lacks, 6 that it shares with B "
        "and A lacks. A tree cannot show this.",
        "A dashed line rests on few errors, or others speak against it.",
    ]
    alike = said({"A": errors("a20"), "E": errors("a20", "e1")}, {})
    assert "A and E have nearly the same errors, which do not tell who copied whom." in alike
    assert said(COPY, {}, A="1890", E="1889")[1:] == [
        "By its date, E is older than A, on which it would hang."
    ]


def test_the_figures_stand_on_the_lines() -> None:
    made = {"A": errors("a8", "b9"), "E": errors("a8", "e7")}
    words = drawn(view(made, {}))
    assert sorted(words) == sorted(["[original]", "α", "A", "E", "+8", "8+9", "8+7"])
    assert "[Original]" in drawn(view(made, {}, "de"))


def test_the_drawing_is_told_to_those_who_cannot_see_it() -> None:
    drawing = view(COPY, {}).drawing
    assert drawing is not None
    assert plain(drawing.text).endswith("A: original, + 9; E: A, 9 + 7")


def test_weak_lines_are_dashed() -> None:
    weak, firm = view({"A": errors("a4"), "E": errors("a4", "e9")}, {}), view(COPY, {})
    assert weak.drawing is not None
    assert firm.drawing is not None
    assert weak.drawing.markup.count("stroke-dasharray") == 1
    assert "stroke-dasharray" not in firm.drawing.markup


def test_nothing_is_drawn_where_nothing_is_decided() -> None:
    assert view({"A": errors("a9"), "E": errors("e9")}, {}).drawing is None


def test_the_nearest_encoded_models_are_found_past_lost_ones_and_circles() -> None:
    models: Models = {"D": ("H", "E"), "H": ("S",), "S": ("E",), "E": ("P",), "P": ("A",)}
    assert nearest_encoded("D", models, "AES") == ("E", "S")
    assert nearest_encoded("E", models, "AES") == ("A",)
    assert nearest_encoded("X", {"X": ("Y",), "Y": ("X",)}, "AX") == ()


def relations(made: Mapping[str, set[str]], **models: str) -> RelationsView:
    witnesses = {
        siglum: Witness(
            kind=WitnessKind.COPY,
            title={"": siglum},
            date="1888",
            copied_from=tuple(models.get(siglum, "")),
        )
        for siglum in dict.fromkeys([*made, *models])
    }
    found = relations_view(witnesses, suggested_stemma(agreeing(made)), wording_of("en"))
    assert found is not None
    return found


def test_both_drawings_stand_side_by_side_at_one_height() -> None:
    found = relations(COPY, E="P", P="A", H="E", D="H")
    one, other = found.drawings
    assert found.beside
    assert abs(one.picture.height_mm - other.picture.height_mm) < 0.01
    assert plain(one.caption).startswith("The editor’s view.")
    assert plain(other.caption).startswith("What the errors suggest.")
    assert plain(found.caution).startswith(CAUTION)


def test_wide_drawings_stand_below_one_another_within_the_column() -> None:
    made = {s: errors("x9", f"{s.lower()}9") for s in "BCDEFGH"}
    found = relations({"A": errors("x9"), **made}, **dict.fromkeys("BCDEFGH", "A"))
    assert not found.beside
    assert len(found.drawings) == 2
    assert all(one.picture.width_mm <= 133 for one in found.drawings)


def test_without_a_suggestion_the_editors_stemma_stands_alone() -> None:
    witnesses = {
        "A": Witness(kind=WitnessKind.COPY, title={"": "A"}),
        "E": Witness(kind=WitnessKind.COPY, title={"": "E"}, copied_from=("A",)),
    }
    found = relations_view(witnesses, None, wording_of("en"))
    assert found is not None
    assert len(found.drawings) == 1
    assert plain(found.drawings[0].caption).startswith("An arrow leads from a source")
    assert (found.sentences, found.caution) == ((), "")
    assert relations_view({"A": witnesses["A"]}, None, wording_of("en")) is None


TREES = st.lists(st.integers(0, 10**6), min_size=1, max_size=20).map(
    lambda numbers: {
        str(n): () if n == 0 or number % 5 == 0 else (str(number % n),)
        for n, number in enumerate(numbers)
    }
)


@given(TREES)
def test_places_of_one_row_are_a_column_apart_and_models_over_the_middle(models: Models) -> None:
    x = tidy(models, 20.0)
    assert set(x) == set(models)
    depth = dict.fromkeys(models, 0)
    for key, from_ in models.items():
        depth[key] = depth[from_[0]] + 1 if from_ else 0
    for row in set(depth.values()):
        here = sorted(x[key] for key in models if depth[key] == row)
        assert all(b - a >= 20 - 1e-6 for a, b in pairwise(here))
    for key in models:
        copies = [x[copy] for copy, from_ in models.items() if from_ == (key,)]
        if copies:
            assert abs(x[key] - (copies[0] + copies[-1]) / 2) < 1e-6
