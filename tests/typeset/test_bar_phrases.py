"""Bars that one side lacks: a remark names the bars, not every note and sign in them."""

from __future__ import annotations

import pytest

from tests.collation.letters import dynamic, hairpin, moment, music, slur
from tests.typeset.said import said

BARS = ("4:C5 4:D5 2:E5", "4:F5 4:G5 2:A5", "2:B5 2:C6", "4:D6 4:C6 2:B5", "1:C5")


def drawn(*bars: int) -> str:
    return " | ".join(BARS[bar] for bar in bars)


TEXT = music(drawn(0, 1, 2, 3, 4), slur("1:0", "1:2"), dynamic("2:0", "p"))


@pytest.mark.parametrize(
    ("held", "english", "german"),
    [
        ((0, 2, 3, 4), "bar 2 lacking", "Takt 2 fehlt"),
        ((0, 3, 4), "bars 2–3 lacking", "Takt 2–3 fehlen"),
        ((0, 1, 2, 2, 3, 4), "one bar more after bar 3", "ein Takt mehr nach Takt 3"),
        ((0, 1, 2, 1, 2, 3, 4), "2 bars more after bar 3", "2 Takte mehr nach Takt 3"),
    ],
)
def test_bars_that_one_side_lacks(held: tuple[int, ...], english: str, german: str) -> None:
    signs = {1: slur, 2: dynamic}
    made = [
        slur(f"{at}:0", f"{at}:2") if bar == 1 else dynamic(f"{at}:0", "p")
        for at, bar in enumerate(held)
        if bar in signs
    ]
    witness = music(drawn(*held), *made, file="E.mei")
    assert said(TEXT, witness) == english
    assert said(TEXT, witness, "de") == german


def test_what_else_the_witness_has_otherwise_is_told_beside_it() -> None:
    witness = music(drawn(0, 3, 4).replace("D6", "E6"), file="E.mei")
    assert said(TEXT, witness) == "bars 2–3 lacking; e‴ instead of d‴ (bar 4, note 1)"


def test_a_note_before_an_added_bar_has_nothing_to_do_with_it() -> None:
    changed = drawn(0, 1, 2).replace("C6", "D6")
    witness = music(f"{changed} | 4:E4 4:E4 2:G4 | {drawn(3, 4)}", file="E.mei")
    place = moment("2:0"), moment("2:4")
    assert said(TEXT, witness, place=place) == "p lacking; d‴ instead of c‴ (note 2)"


def test_a_bar_is_named_as_the_text_counts_it() -> None:
    """The part counts the upbeat as bar 1; its hairpin ends a bar of the text later."""
    text = music(f"4:G4 | {drawn(0, 1, 2)}", hairpin("1:0", "2:0"), numbers="0 1 2 3")
    part = music(f"4:G4 | {drawn(0, 1, 2)}", hairpin("1:0", "3:0"), numbers="1 2 3 4")
    place = moment("1:0"), moment("2:0")
    assert said(text, part, place=place) == "crescendo hairpin to bar 3, note 1"
