"""The table and the picture of fingerings side by side, and the words for one alone."""

from __future__ import annotations

import re

import pytest
from lxml import etree
from markupsafe import Markup

from pipeline.strings.left_hand import LeftHand
from pipeline.typeset.hand_figures import hand_in_words, hand_view
from pipeline.typeset.hand_picture import AxisWords, hand_picture, line_kind
from pipeline.typeset.views import HandView
from pipeline.typeset.wording import wording_of
from tests.collation.letters import music, slur
from tests.strings.hands import played

OCTAVES = "4:B3+B4 4:C4+C5 4:D4+D5 4:E4+E5 | 4:F#4+F#5 4:G4+G5"
THROUGHOUT = played(OCTAVES, "[1 on G, 4 on D], [1, 4], [1, 4], [1, 4], [1, 4], [1, 4]",
                    slur("0:0", "0:1"))  # fmt: skip
IN_TURN = played(OCTAVES, "[1 on G, 3 on D], [1, 4], [1, 3], [1, 4], [1, 3], [1, 4]")
BARS = music(OCTAVES, numbers="12 13").bars
NAMES = [Markup("1 and 4"), Markup("in turn")]
SVG = "{http://www.w3.org/2000/svg}"


def view(language: str = "en") -> HandView:
    found = hand_view(NAMES, [THROUGHOUT, IN_TURN], BARS, wording_of(language))
    assert found is not None
    return found


def test_fewer_moves_wider_stretch() -> None:
    table = view()
    assert [str(h.striptags()) for h in table.headings] == [
        "moves of the hand", "of these under a slur", "travel, mm",
        "widest span in one place, mm", "widest double stop, mm", "changes of string",
    ]  # fmt: skip
    first, second = table.rows
    assert (first.name, second.name) == tuple(NAMES)
    assert first.cells[:2] == ("5", "1")
    assert second.cells[:2] == ("2", "0")
    assert int(second.cells[2]) < int(first.cells[2])
    assert int(second.cells[3]) > int(first.cells[3])
    assert table.inferred == ""


def test_the_picture_is_described_by_the_table() -> None:
    table = view("de")
    assert table.picture is not None
    (said,) = re.findall(r'alt="([^"]+)"', table.picture.markup)
    assert said.startswith("Ort der Hand: 1 and 4: Lagen")
    assert "; in turn: " in said


def drawn(*hands: LeftHand) -> etree._Element:
    svg = hand_picture(hands, BARS, AxisWords("position", "bar"), 133.0, "")
    assert svg is not None
    return etree.fromstring(svg.markup.encode())


def test_axes_have_their_words_bars_and_positions() -> None:
    texts = [str(text.text) for text in drawn(THROUGHOUT, IN_TURN).iter(f"{SVG}text")]
    assert texts[0] == "position"
    assert "bar 12" in texts
    assert "13" in texts
    assert {"III", "IV", "V"} <= set(texts)


def test_each_fingering_has_a_line_of_its_own_in_black() -> None:
    picture = drawn(THROUGHOUT, IN_TURN)
    lines = [p for p in picture.iter(f"{SVG}path") if p.get("fill") == "none"]
    assert [line.get("stroke-dasharray") for line in lines] == [None, "1.7 1.1"]
    colours = {e.get("stroke") for e in picture.iter() if e.get("stroke")}
    assert colours == {"#000"}
    assert [line_kind(n) for n in range(5)] == [
        "solid", "dashed", "dotted", "dotted_dashed", "solid",
    ]  # fmt: skip


def test_a_dot_at_each_move_and_a_ring_under_a_slur() -> None:
    marks = [mark.get("fill") for mark in drawn(THROUGHOUT, IN_TURN).iter(f"{SVG}circle")]
    assert sorted(marks) == ["#000"] * 6 + ["#fff"]


def test_everything_is_inside_the_drawing() -> None:
    picture = drawn(THROUGHOUT, IN_TURN)
    _, _, width, height = map(float, picture.get("viewBox").split())
    for path in picture.iter(f"{SVG}path"):
        for x, y in re.findall(r"[ML](-?[\d.]+) (-?[\d.]+)", path.get("d")):
            assert 0 <= float(x) <= width
            assert 0 <= float(y) <= height


@pytest.mark.parametrize("notes", [200, 1])
def test_long_and_short_runs_fit_the_column(notes: int) -> None:
    one = played(" ".join(["8:B4 8:D5"] * notes), ", ".join(["1 on A, 1"] * notes))
    svg = hand_picture([one, one], music("4:C4").bars, AxisWords("Lage", "Takt"), 133.0, "")
    assert svg is not None
    assert svg.width_mm <= 133.0


def test_no_picture_where_no_hand_moves() -> None:
    still = played("4:B4 4:C#5", "1 on A, 2")
    found = hand_view(NAMES, [still, still], BARS, wording_of("en"))
    assert found is not None
    assert found.picture is None
    assert found.caption == ""
    assert [row.line for row in found.rows] == [None, None]


def test_one_fingering_has_words_and_no_table() -> None:
    assert hand_view(NAMES[:1], [THROUGHOUT], BARS, wording_of("en")) is None
    assert hand_view(NAMES, [THROUGHOUT, None], BARS, wording_of("en")) is None


WORDS = [
    (THROUGHOUT, "en", r"5 moves of the hand \(\d+ mm in all\); 1 of them under a slur; "
     r"double stops of up to 65 mm"),
    (THROUGHOUT, "de", r"5 Lagenwechsel \(zusammen \d+ mm\); 1 davon unter einem Bogen; "
     r"Doppelgriffe bis 65 mm"),
    (played("4:B4 4:C#5", "1 on A, 2"), "en",
     r"the hand stays in one place; spans of up to 32 mm in one place"),
    (played("4:G3 4:D4", "open, open"), "en", r"the hand stays in one place"),
]  # fmt: skip


@pytest.mark.parametrize(("run", "language", "expected"), WORDS)
def test_one_fingering_in_words(run: LeftHand, language: str, expected: str) -> None:
    said = "; ".join(p.striptags() for p in hand_in_words(run.facts, wording_of(language)))
    assert re.fullmatch(expected, said.replace("\u00a0", " ")), said
