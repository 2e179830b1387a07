"""What a command may ask of the part, and the exact words of each refusal."""

from __future__ import annotations

import pytest

from pipeline.edition.layer import Layer
from pipeline.typeset.part_paper import Paper, read_paper
from pipeline.typeset.part_wishes import PartWishes, read_wishes

LAYERS = ", ".join(layer.value for layer in Layer)


def wished(**wishes: object) -> PartWishes:
    read = read_wishes(**wishes)  # type: ignore[arg-type] # a test names a few of them
    assert isinstance(read, PartWishes)
    return read


def test_without_wishes_all_layers_stand_on_a4() -> None:
    wishes = wished()
    assert wishes.layers == frozenset(Layer)
    assert (wishes.paper.width_mm, wishes.paper.height_mm) == (210, 297)
    assert wishes.taken == ()


def test_the_text_is_always_among_the_layers() -> None:
    order = wished(layers="editor, composer").order({}, staff=2)
    assert order.layers == {Layer.TEXT, Layer.EDITOR, Layer.COMPOSER}
    assert order.staff == 2


def test_alternatives_of_a_record_stand_in_the_order_they_were_named() -> None:
    taken = wished(choose=["r-1=high", "r-2=no", "r-1=low"]).taken
    assert [(one.of, one.takes) for one in taken] == [("r-1", ("high", "low")), ("r-2", False)]


def test_a_name_may_hold_an_equals_sign() -> None:
    (taken,) = wished(choose=["r-1=a = b"]).taken
    assert taken.takes == ("a = b",)


@pytest.mark.parametrize(
    ("wishes", "refusal"),
    [
        (
            {"layers": "text,editr"},
            f"there is no layer `editr`; did you mean `editor`? The layers are {LAYERS}.",
        ),
        ({"layers": " , "}, f"`--layers` names no layer; the layers are {LAYERS}."),
        (
            {"choose": ["r-1"]},
            "`r-1` chooses nothing; write RECORD=NAME with the name of an alternative, or "
            "RECORD=no to leave out what the record puts there.",
        ),
        (
            {"choose": ["=high"]},
            "`=high` chooses nothing; write RECORD=NAME with the name of an alternative, or "
            "RECORD=no to leave out what the record puts there.",
        ),
        (
            {"paper": "A5"},
            "`A5` is no size of paper; write A4, 9x12in, or width and height such as 230x310mm.",
        ),
        (
            {"paper": "-210x297mm"},
            "`-210x297mm` is no size of paper; write A4, 9x12in, or width and height such as "
            "230x310mm.",
        ),
        (
            {"paper": "10x300mm"},
            "a page of 10 x 300 mm cannot be set; a side is 120 to 1000 mm long.",
        ),
        (
            {"staff_mm": 40.0},
            "a staff of 40 mm cannot be set; from its lowest to its highest line it is 4 to 12 mm "
            "high, 6.5 mm as a rule.",
        ),
        (
            {"staff_mm": float("nan")},
            "a staff of nan mm cannot be set; from its lowest to its highest line it is 4 to 12 mm "
            "high, 6.5 mm as a rule.",
        ),
    ],
)
def test_what_cannot_be_is_refused(wishes: dict[str, object], refusal: str) -> None:
    assert read_wishes(**wishes) == refusal  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("written", "width", "height"),
    [
        ("A4", 210.0, 297.0),
        ("a4", 210.0, 297.0),
        ("9x12in", 228.6, 304.8),
        ("230x310mm", 230.0, 310.0),
        ("230 × 310", 230.0, 310.0),
        ("8.5x11in", 215.9, 279.4),
    ],
)
def test_sizes_of_paper(written: str, width: float, height: float) -> None:
    paper = read_paper(written)
    assert isinstance(paper, Paper)
    assert (paper.width_mm, paper.height_mm) == pytest.approx((width, height))


def test_lines_are_as_wide_as_the_margins_leave_and_marks_make_the_sheet_larger() -> None:
    paper = read_paper("A4", crop_marks=True)
    assert isinstance(paper, Paper)
    assert paper.line_width_mm == pytest.approx(182.0)
    assert paper.around_mm == pytest.approx(10.0)
    assert Paper().around_mm == 0.0
