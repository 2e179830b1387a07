"""Whole movements collated: what lies in bars that one side lacks is told with them, once."""

from __future__ import annotations

from pipeline.collation.collate import collate
from pipeline.collation.collated import BarChange, Collation
from pipeline.collation.laying import lay_beside
from pipeline.score.model import Passage
from tests.collation.letters import dynamic, music, slur, told

FOUR = "4:C5 4:D5 4:E5 4:F5 | 2:G5 4:A5 4:B5 | 4:C6 2:A5 4:F5 | 1:E5"
THREE = "4:C5 4:D5 4:E5 4:F5 | 4:C6 2:A5 4:F5 | 1:E5"


def collated(text: Passage, witness: Passage) -> Collation:
    return collate(text, lay_beside(text, witness), "A", 1)


def test_signs_in_a_missing_bar_are_missing_with_it() -> None:
    text = music(FOUR, slur("1:0", "1:3"), dynamic("1:2", "p"), dynamic("2:0", "f"))
    found = collated(text, music(THREE, dynamic("1:0", "f")))
    assert [(one.change, one.text) for one in found.bars] == [(BarChange.MISSING, (1,))]
    assert found.differences == ()


def test_signs_in_an_added_bar_are_added_with_it() -> None:
    witness = music(FOUR, slur("1:0", "1:3"), dynamic("1:2", "p"), dynamic("2:0", "f"))
    found = collated(music(THREE, dynamic("1:0", "f")), witness)
    assert [(one.change, one.reading) for one in found.bars] == [(BarChange.ADDED, (1,))]
    assert found.differences == ()


def test_signs_of_an_added_bar_are_not_taken_for_those_of_the_bar_after_it() -> None:
    of_text = music(THREE, slur("1:0", "1:3"))
    witness = music(FOUR, slur("1:0", "1:3"), slur("2:0", "2:3"))
    assert collated(of_text, witness).differences == ()


def test_a_slur_that_reaches_into_a_missing_bar_is_told() -> None:
    text = music(FOUR, slur("0:2", "1:2"))
    found = collated(text, music(THREE))
    assert [told(one) for one in found.differences] == ["slur missing 0:2-1:2 slur@0:2-1:2 | ."]


def test_a_note_beside_a_missing_bar_is_told_besides() -> None:
    found = collated(music(FOUR), music("4:C5 4:D5 4:E5 4:F5 | 4:C6 2:G5 4:F5 | 1:E5"))
    assert [(one.change, one.text) for one in found.bars] == [(BarChange.MISSING, (1,))]
    assert [told(one) for one in found.differences] == ["pitch 2:1-2:3 2:A5 | 2:G5"]
