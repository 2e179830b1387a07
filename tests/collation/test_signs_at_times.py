"""Signs that stand at a time of the bar, or at a note, where the two versions differ in rhythm."""

from __future__ import annotations

from pipeline.collation.collate import collate
from pipeline.collation.laying import lay_beside
from tests.collation.letters import dynamic, hairpin, music, told

TEXT = "8.:C5 16:D5 4:E5 2:F5"
WITNESS = "16:C5 8.:D5 4:E5 2:F5"
RHYTHM = "rhythm 0:0-0:1 8.:C5 16:D5 | 16:C5 8.:D5"


def test_a_sign_between_notes_is_not_moved_with_them() -> None:
    """A quarter after the beat, where the witness happens to have its second note."""
    one, other = music(TEXT, dynamic("0:0.25", "p")), music(WITNESS, dynamic("0:0.25", "p"))
    found = collate(one, lay_beside(one, other), "A", 1)
    assert [told(each) for each in found.differences] == [RHYTHM]


def test_a_sign_at_a_note_is_moved_with_it() -> None:
    one, other = music(TEXT, dynamic("0:0.75", "p")), music(WITNESS, dynamic("0:0.25", "p"))
    found = collate(one, lay_beside(one, other), "A", 1)
    assert [told(each) for each in found.differences] == [RHYTHM]


def test_a_hairpin_may_begin_at_a_note_and_end_at_a_time() -> None:
    one = music(TEXT, hairpin("0:0", "0:0.25"))
    other = music(WITNESS, hairpin("0:0", "0:0.25"))
    found = collate(one, lay_beside(one, other), "A", 1)
    assert [told(each) for each in found.differences] == [RHYTHM]


def test_a_sign_at_another_note_and_another_time_is_told() -> None:
    one, other = music(TEXT, dynamic("0:0", "p")), music(WITNESS, dynamic("0:0.25", "p"))
    found = collate(one, lay_beside(one, other), "A", 1)
    lines = [told(each) for each in found.differences]
    assert lines == [RHYTHM, "dynamic moved 0:0-0:0.75 p@0:0 | p@0:0.25"]
