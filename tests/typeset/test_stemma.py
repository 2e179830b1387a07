"""The drawing of the sources: rows, lines past a source, circles, and what it is without copies."""

from __future__ import annotations

from lxml import etree

from pipeline.edition.head import Witness, WitnessKind
from pipeline.typeset.stemma import rows, stemma


def witness(*copied_from: str, principal: bool = False, date: str = "") -> Witness:
    return Witness(
        kind=WitnessKind.COPY,
        title={"": "x"},
        copied_from=copied_from,
        principal=principal,
        date=date,
    )


def test_a_copy_stands_below_all_it_was_copied_from() -> None:
    models = {"A": (), "E": ("A",), "S": ("E",), "D": ("S", "A")}
    assert rows(models) == {"A": 0, "E": 1, "S": 2, "D": 3}


def test_order_of_writing_does_not_matter() -> None:
    assert rows({"S": ("E",), "E": ("A",), "A": ()}) == {"S": 2, "E": 1, "A": 0}


def test_a_circle_is_cut_and_does_not_hang() -> None:
    assert set(rows({"A": ("B",), "B": ("A",)})) == {"A", "B"}
    assert stemma({"A": witness("B"), "B": witness("A")}, "x") is not None


def test_no_copies_no_drawing() -> None:
    assert stemma({"A": witness(), "E": witness("lost")}, "x") is None


def test_every_source_and_every_copy_is_drawn_once() -> None:
    drawn = stemma(
        {
            "A": witness(principal=True, date="1886"),
            "E": witness("A"),
            "S": witness("E"),
            "D": witness("S", "A"),
            "<K>": witness("A"),
        },
        "relations",
    )
    assert drawn is not None
    assert drawn.text == "relations"
    root = etree.fromstring(drawn.markup.encode())
    words = [text.text for text in root.iter("{*}text")]
    assert sorted(words) == sorted(["A", "1886", "E", "S", "D", "<K>"])
    assert len(root.findall(".//{*}circle")) == 1
    lines = [path for path in root.iter("{*}path") if path.get("fill") == "none"]
    assert len(lines) == 5


def test_sources_never_stand_on_one_another_and_stay_inside() -> None:
    drawn = stemma(
        {"A": witness(), **{s: witness("A") for s in "BCDE"}, "F": witness("B", "E")}, "x"
    )
    assert drawn is not None
    root = etree.fromstring(drawn.markup.encode())
    places = [(float(t.get("x", "")), float(t.get("y", ""))) for t in root.iter("{*}text")]
    assert len(set(places)) == len(places)
    assert all(0 <= x <= drawn.width_mm and 0 <= y <= drawn.height_mm for x, y in places)
