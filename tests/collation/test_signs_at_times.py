"""Signs that stand at a time of the bar, or at a note, where the two versions differ in rhythm."""

from __future__ import annotations

from pathlib import Path

from pipeline.collation.collate import collate
from pipeline.collation.laying import lay_beside
from tests.collation.letters import dynamic, hairpin, music, told
from tests.score.drawn import mei, read

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


def test_a_slur_of_another_voice_stays_where_it_is(tmp_path: Path) -> None:
    """Its first note stands where the upper voice of the witness has its second one."""
    slur = {0: '<slur startid="#a" endid="#b"/>'}
    lower = "c4/16 a=e4/8. b=f4/4 g4/2"
    text = read(tmp_path, mei(f"c5/8. d5/16 e5/4 f5/2 | {lower}", extra=slur), name="text.mei")
    witness = read(tmp_path, mei(f"c5/16 d5/8. e5/4 f5/2 | {lower}", extra=slur), name="a.mei")
    found = collate(text, lay_beside(text, witness), "A", 1)
    assert [told(each) for each in found.differences] == [RHYTHM]
