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


WEDGE = '<hairpin form="cres" startid="#a" {}/>'
OVER_THREE = "a=c5/4 b=d5/4 c=e5/4 d=f5/4"
"""Four quarters, the notes named a to d."""


def ends(tmp_path: Path, one: str, other: str, sign: str = WEDGE) -> list[str]:
    """Return what differs where two versions end one sign in two ways."""
    passages = [
        read(tmp_path, mei(OVER_THREE, "g5/1", extra={0: sign.format(end)}), name=f"{name}.mei")
        for name, end in (("text", one), ("a", other))
    ]
    both = []
    for text, witness in (passages, passages[::-1]):
        found = collate(text, lay_beside(text, witness), "A", 1)
        both.append([str(each.change) for each in found.differences])
    assert both[0] == both[1]
    return both[0]


def test_an_end_at_the_end_of_a_note_is_the_end_that_names_the_note(tmp_path: Path) -> None:
    assert ends(tmp_path, 'endid="#c"', 'tstamp2="4"') == []
    assert ends(tmp_path, 'endid="#c"', 'tstamp2="3"') == []
    assert ends(tmp_path, 'endid="#c"', 'tstamp2="3.5"') == ["ends elsewhere"]
    assert ends(tmp_path, 'endid="#b"', 'tstamp2="4"') == ["ends elsewhere"]
    assert ends(tmp_path, 'endid="#c"', 'endid="#d"') == ["ends elsewhere"]


def test_the_end_of_a_bar_is_the_end_of_its_last_note(tmp_path: Path) -> None:
    for end in ('tstamp2="5"', 'tstamp2="1m+1"'):
        assert ends(tmp_path, 'endid="#d"', end) == []


def test_a_slur_ends_at_a_note(tmp_path: Path) -> None:
    sign = '<slur startid="#a" {}/>'
    assert ends(tmp_path, 'endid="#c"', 'tstamp2="4"', sign) == ["ends elsewhere"]
