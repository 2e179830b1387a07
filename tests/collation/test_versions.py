"""Which staff and which bars of a witness stand against a place of the text."""

from __future__ import annotations

import pytest

from pipeline.collation.laying import lay_beside
from pipeline.collation.model import Version
from pipeline.collation.versions import bar_list, witness_version
from tests.collation.letters import music, whole

BARS = "1:C5 | 1:D5 | 1:E5 | 1:F5"

STAVES = [
    # staves of the text, the place's staff, staves of the witness, the witness's staff
    (("Violin", "Piano", "Piano"), 1, ("Violin",), 1),
    (("Violin", "Piano", "Piano"), 1, ("Violino principale",), 1),
    (("Violin", "Piano", "Piano"), 1, ("",), 1),
    (("Violin", "Piano", "Piano"), 3, ("Piano", "Piano"), 2),
    (("Violin", "Piano", "Piano"), 1, ("Piano", "Piano", "Violin"), 3),
    (("Violin", "Piano", "Piano"), 2, ("violin", "PIANO", "Piano"), 2),
    (("", "", ""), 2, ("", "", ""), 2),
    (("Flute", "Violin"), 2, ("Violin",), 1),
    (("Violin I", "Violin II", "Viola", "Cello"), 2, ("Violin", "Violin", "Viola", "Basso"), 2),
]


@pytest.mark.parametrize(("text", "staff", "witness", "expected"), STAVES)
def test_staff(text: tuple[str, ...], staff: int, witness: tuple[str, ...], expected: int) -> None:
    score = music(BARS, labels=text)
    found = witness_version(
        score, whole(score, staff=staff), lay_beside(score, music(BARS, labels=witness)), "S", None
    )
    assert isinstance(found, Version)
    assert found.staff == expected


UNCLEAR = [
    (("Violin", "Piano", "Piano"), 2, ("Violin",), "1 (Violin)"),
    (("Violin", "Piano", "Piano"), 1, ("Piano",), "1 (Piano)"),
    (("Violin", "Piano", "Piano"), 2, ("Piano",), "1 (Piano)"),
    (("Violin", "Piano", "Piano"), 2, ("",), "1"),
    (("Violin", "Piano", "Piano"), 1, ("", ""), "1, 2"),
    (("Flute", "Violin"), 1, ("Violin", "Oboe"), "1 (Violin), 2 (Oboe)"),
]


@pytest.mark.parametrize(("text", "staff", "witness", "there"), UNCLEAR)
def test_no_staff_is_guessed(
    text: tuple[str, ...], staff: int, witness: tuple[str, ...], there: str
) -> None:
    score = music(BARS, labels=text)
    found = witness_version(
        score, whole(score, staff=staff), lay_beside(score, music(BARS, labels=witness)), "S", None
    )
    assert found == (
        f"it is not clear which of its staves is staff {staff} of the text: it has {there}"
    )


def test_bars_by_their_content_not_by_their_number() -> None:
    score = music(BARS, numbers="12 13 13a 14")
    witness = lay_beside(score, music("1:D5 | 1:E5 | 1:F5", numbers="1 2 3"))
    found = witness_version(score, whole(score, 1, 3), witness, "S", None)
    assert isinstance(found, Version)
    assert found.bars == (0, 1, 2)
    assert found.beside is witness
    assert witness_version(score, whole(score, 0, 1), witness, "S", None) == (
        "its encoding has no bar 12"
    )


def test_a_bar_missing_between_two_is_missing_in_the_witness() -> None:
    score = music(BARS, numbers="1 2 3 4")
    witness = lay_beside(score, music("1:C5 | 1:E5 | 1:F5", numbers="1 3 4"))
    for place, bars in (((0, 2), (0, 1)), ((1, 2), (1,)), ((1, 1), ())):
        found = witness_version(score, whole(score, *place), witness, "S", None)
        assert isinstance(found, Version)
        assert found.bars == bars


def test_a_bar_that_is_added_goes_with_the_one_before() -> None:
    score = music(BARS)
    witness = lay_beside(score, music("1:C5 | 1:D5 | 1:A4 | 1:E5 | 1:F5"))
    for bar, bars in ((0, (0,)), (1, (1, 2)), (2, (3,))):
        found = witness_version(score, whole(score, bar, bar), witness, "S", None)
        assert isinstance(found, Version)
        assert found.bars == bars


def test_bars_in_words() -> None:
    assert bar_list(["14"]) == "bar 14"
    assert bar_list(["14", "15", "15a"]) == "bars 14, 15 and 15a"
