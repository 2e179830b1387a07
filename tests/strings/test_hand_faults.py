"""Fingerings that no hand can take, and those that only a wide one can; each beside one that is
fine. How far hands reach is from memory (see instruments.yaml)."""

from __future__ import annotations

import pytest

from pipeline.strings.hand_faults import CAUTION, FaultKind
from tests.strings.diamonds import harmonics
from tests.strings.hands import CELLO, VIOLIN, played

CASES = [
    # music, fingers, what is said (nothing: it can be played)
    ("4:C5", "2 on E", "not on the string: c″ is not on the E string: it is below its open e″"),
    ("4:C5", "2 on A", ""),
    ("4:F3", "1", "not on the string: f is below the lowest string of the violin, g"),
    ("4:E5", "open on A", "not an open string: e″ is marked as an open string, but the open string "
     "sounds a′"),
    ("4:F5", "open", "not an open string: f″ is marked as an open string, but the open strings "
     "sound g, d′, a′ and e″"),
    ("4:E5", "open", ""),
    ("4:E5", "1 on E", "not on the string: e″ is the E string itself: no finger stops it there"),
    ("4:B4+G5", "[1 on A, 1 on E]", "two places: finger 1 would be on two places at once: "
     "semitone 2 of the A string and semitone 3 of the E string"),
    ("4:B4+G5", "[1 on A, 2 on E]", ""),
    ("4:A3+C4", "[1, 3]", "not together: a and c′ do not lie on neighbouring strings with these "
     "fingers"),
    ("4:G3+A4", "[open, open]", "not together: g and a′ do not lie on neighbouring strings with "
     "these fingers"),
    ("4:A3+D5", "[1 on G, 4 on D]", "beyond reach: the span from finger 1 to finger 4 would be "
     "128 mm; no hand is known to reach beyond 120 mm"),
    ("4:A3+B4", "[1 on G, 4 on D]", "wide stretch: the span from finger 1 to finger 4 is 97 mm; an "
     "ordinary hand reaches 85 mm"),
    ("4:A3+A4", "[1 on G, 4 on D]", ""),
    ("4:B4+D5", "[1 on D, 3 on A]", "below a lower finger: finger 3 (semitone 5 of the A string) "
     "would be below finger 1 (semitone 9 of the D string)"),
    ("4:B4+D5", "[3 on D, 1 on A]", ""),
    ("4:D5'harm", "touch 2 on E", "not on the string: d″ is no natural harmonic of the E string"),
]  # fmt: skip


@pytest.mark.parametrize(("music", "written", "said"), CASES)
def test_what_a_hand_cannot_do(music: str, written: str, said: str) -> None:
    told = [f"{fault.kind}: {fault.message}" for fault in played(music, written).faults]
    assert told == ([said] if said else [])


def test_a_touching_finger_below_the_stopping_one() -> None:
    (fault,) = harmonics(("A3", "D4"), written="4 touch 1 on G").faults
    assert fault.kind is FaultKind.BELOW_LOWER_FINGER
    assert fault.message == (
        "finger 4 (semitone 2 of the G string) would be below finger 1 (semitone 7 of the G string)"
    )
    assert harmonics(("A3", "D4"), written="1 touch 4 on G").faults == ()


def test_a_touched_fifth_needs_a_wider_hand_than_a_touched_fourth() -> None:
    """Common practice, no source; and both sound the same if the stopped notes are chosen so."""
    fourth = harmonics(("A3", "D4"), written="1 touch 4 on G")
    fifth = harmonics(("A3", "E4"), written="1 touch 4 on G")
    assert fifth.facts.widest_double_stop_mm > fourth.facts.widest_double_stop_mm
    (fault,) = fifth.faults
    assert fault.kind is FaultKind.WIDE_STRETCH


def test_what_is_hard_comes_with_a_caution_and_what_is_impossible_does_not() -> None:
    (hard,) = played("4:A3+B4", "[1 on G, 4 on D]").faults
    assert hard.remedy == CAUTION
    assert "teacher" in CAUTION
    assert "physician" in CAUTION
    (impossible,) = played("4:A3+D5", "[1 on G, 4 on D]").faults
    assert CAUTION not in impossible.remedy


def test_the_faults_name_the_note_of_the_run() -> None:
    run = played("4:C5 4:D5 4:C5", "2 on A, 3, 2 on E")
    assert [fault.index for fault in run.faults] == [2]


def test_fingers_that_no_hand_has_are_left_to_another_rule() -> None:
    assert played("4:C5 4:D5", "7, thumb").faults == ()
    assert played("4:C5", "2 on C").faults == ()


def test_the_same_chord_on_two_instruments() -> None:
    """A fifth across one finger; a tenth that a violin reaches and no cello does."""
    assert played("4:A3+C5", "[1 on G, 4 on D]", hand=VIOLIN).faults[0].kind is (
        FaultKind.WIDE_STRETCH
    )
    (cello,) = played("4:A2+C4", "[1 on G, 4 on D]", hand=CELLO).faults
    assert cello.kind is FaultKind.BEYOND_REACH
