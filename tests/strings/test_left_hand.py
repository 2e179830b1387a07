"""What the hand does in runs that every player knows.

Common practice, no source, where nothing else is said: octaves that are all taken by 1 and 4 move
the hand at every step, alternating 1-4 with 1-3 moves it less and stretches more; a scale in one
position does not move it; a low and a high finger are one place of the hand.
"""

from __future__ import annotations

import pytest

from pipeline.strings.left_hand import left_hand
from tests.collation.letters import slur
from tests.strings.hands import CELLO, HANDS, VIOLIN, grips, played

OCTAVES = "4:B3+B4 4:C4+C5 4:D4+D5 4:E4+E5 4:F#4+F#5 4:G4+G5"
ALL_1_4 = "[1 on G, 4 on D], [1, 4], [1, 4], [1, 4], [1, 4], [1, 4]"
ALTERNATING = "[1 on G, 3 on D], [1, 4], [1, 3], [1, 4], [1, 3], [1, 4]"


def test_octaves_by_1_and_4_move_the_hand_at_every_step() -> None:
    run = played(OCTAVES, ALL_1_4)
    assert grips(run) == "1G4+4D9 1G5+4D10 1G7+4D12 1G9+4D14 1G11+4D16 1G12+4D17"
    assert run.facts.moves == 5
    assert run.moved == (False, True, True, True, True, True)


def test_alternating_1_4_and_1_3_moves_less_and_stretches_more() -> None:
    one, other = played(OCTAVES, ALL_1_4).facts, played(OCTAVES, ALTERNATING).facts
    assert other.moves == 2
    assert other.travel_mm < one.travel_mm
    assert other.widest_in_place_mm > one.widest_in_place_mm
    assert other.widest_double_stop_mm == one.widest_double_stop_mm  # but by 1 and 3
    assert "third finger" not in str(played(OCTAVES, ALL_1_4).faults)


RUNS = [
    # what it is, music, fingers, moves
    ("a scale in the first position", "8:G3 8:A3 8:B3 8:C4 8:D4 8:E4 8:F#4 8:G4",
     "open, 1, 2, 3, open on D, 1, 2, 3", 0),
    ("the same with the fourth finger", "8:G3 8:A3 8:B3 8:C4 8:D4", "open, 1, 2, 3, 4", 0),
    ("a flat and a sharp of one finger", "8:Bb4 8:B4 8:C5 8:C#5", "1 on A, 1, 2, 2", 0),
    ("a low fourth finger", "8:B4 8:C#5 8:D5 8:D#5", "1 on A, 2, 3, 4", 0),
    ("one finger goes on by a whole tone", "8:B4 8:C#5", "1 on A, 1", 1),
    ("first to third position", "8:B4 8:C5 8:D5 8:E5", "1 on A, 2, 1, 2", 1),
    ("a scale on one string", "8:A3 8:B3 8:C4 8:D4 8:E4 8:F#4 8:G4", "1 on G, 2, 3, 1, 2, 3, 4", 1),
    ("two octaves in thirds of fingers", "8:G4 8:A4 8:B4 8:C5 8:D5 8:E5",
     "1 on D, 2, 1, 2, 1, 2", 2),
    ("thirds in the first position", "8:F#4+A4 8:G4+B4 8:A4+C5", "[2, open], [3, 1], [4, 2]", 0),
    ("thirds by one pair of fingers", "8:G4+B4 8:A4+C#5", "[3 on D, 1 on A], [3, 1]", 1),
    ("a minor third and a major third", "8:G4+B4 8:G4+Bb4", "[3 on D, 1 on A], [3, 1]", 0),
    ("sixths that cross the strings", "8:D4+B4 8:A4+F#5", "[open, 1], [open, 1]", 0),
]  # fmt: skip


@pytest.mark.parametrize(("music", "written", "moves"), [run[1:] for run in RUNS],
                         ids=[run[0] for run in RUNS])  # fmt: skip
def test_moves(music: str, written: str, moves: int) -> None:
    run = played(music, written)
    assert run.faults == ()
    assert run.facts.moves == moves == sum(run.moved)


def test_travel_of_a_slide_is_what_the_finger_slides() -> None:
    """From b′ to d″ on the A string, 2 and 5 semitones above open; L(1-2^(-s/12))."""
    run = played("8:B4 8:D5", "1 on A, 1")
    assert run.facts.travel_mm == pytest.approx(328 * (2 ** (-2 / 12) - 2 ** (-5 / 12)))


def test_travel_is_the_way_between_the_nearest_places_of_the_hand() -> None:
    """The second finger on d″ has the hand a tone or a semitone lower, the first on g″ at g″."""
    run = played("8:D5 8:G5", "2 on A, 1")
    assert run.places == (4, 10)
    assert run.facts.travel_mm == pytest.approx(328 * (2 ** (-4 / 12) - 2 ** (-10 / 12)))


FOURTHS = [(1, 77.7), (2, 73.3), (3, 69.2), (5, 61.6), (7, 54.9), (12, 41.1)]
"""A fourth on one string with its lower finger at that semitone, mm on 328 mm (arithmetic)."""


@pytest.mark.parametrize(("lower", "mm"), FOURTHS)
def test_a_touched_fourth_and_an_octave_span_a_fourth(lower: int, mm: float) -> None:
    names = {1: ("Ab3", "Db4", "Ab4"), 2: ("A3", "D4", "A4"), 3: ("Bb3", "Eb4", "Bb4"),
             5: ("C4", "F4", "C5"), 7: ("D4", "G4", "D5"), 12: ("G4", "C5", "G5")}  # fmt: skip
    stopped, _touched, octave = names[lower]
    run = played(f"4:{stopped}+{octave}", "[1 on G, 4 on D]")
    assert run.facts.widest_double_stop_mm == pytest.approx(mm, abs=0.05)


def test_the_strings_that_are_not_named_are_inferred_and_counted() -> None:
    run = played("8:B4 8:C#5 8:D5 8:E5", "1, 2, 3, open")
    assert grips(run) == "1A2 2A4 3A5 0E0"
    assert run.facts.inferred == 3  # the open string can only be one
    assert run.facts.string_changes == 1
    assert played("8:B4 8:C#5", "1 on A, 2").facts.inferred == 0
    assert played("8:B4 8:C#5", "1 on A, none").facts.inferred == 1


def test_a_named_string_holds_until_the_run_leaves_it() -> None:
    assert grips(played("8:D4 8:E4 8:F4 8:G4", "1 on G, 2, 3, 1")) == "1G7 2G9 3G10 1G12"
    left = played("8:A3 8:B3 8:D4 8:E4", "1 on G, 2, open, 1")
    assert grips(left) == "1G2 2G4 0D0 1D2"


def test_a_note_without_a_digit_leaves_the_hand_where_it_is() -> None:
    run = played("8:D5 8:E5 8:F5 8:D5", "1 on A, none, none, 1")
    assert grips(run) == "1A5 2A7 3A8 1A5"
    assert run.facts.moves == 0


def test_a_tied_note_keeps_its_finger() -> None:
    assert grips(played("4:C5~ 4:=C5 4:D5", "2 on A, none, 3")) == "2A3 2A3 3A5"


def test_open_strings_ask_nothing_of_the_hand() -> None:
    run = played("8:G3 8:D4 8:A4", "open, open, open")
    assert run.facts.moves == 0
    assert run.places == (None, None, None)
    back = played("8:B4 8:A4 8:D5", "1 on A, open, 1")
    assert back.facts.moves == 1
    assert back.places[1] == back.places[0]


def test_moves_under_a_slur_are_counted() -> None:
    shift = ("8:B4 8:C#5 8:E5 8:F#5", "1 on A, 2, 1, 2")
    assert played(*shift).facts.share_under_slurs == 0
    assert played(*shift, slur("0:0", "0:1.5")).facts.share_under_slurs == 1
    assert played(*shift, slur("0:0", "0:0.5"), slur("0:1", "0:1.5")).facts.moves_under_slurs == 0


def test_a_natural_harmonic_is_touched_at_its_node() -> None:
    assert grips(played("4:A5'harm", "touch 4 on A")) == "°4A12"
    assert grips(played("4:D5<>", "touch 4 on A")) == "°4A5"
    assert grips(played("4:E6'harm", "touch 3 on E")) == "°3E12"


def test_a_stopped_harmonic_has_two_fingers_on_one_string() -> None:
    from tests.strings.diamonds import harmonics

    run = harmonics(("A3", "D4"), ("B3", "E4"), written="1 touch 4 on G, none")
    assert grips(run) == "1G2+°4G7 1G4+°4G9"
    assert run.facts.moves == 1
    assert run.facts.widest_double_stop_mm == pytest.approx(73.3, abs=0.05)


def test_the_cello_has_a_frame_of_a_minor_third() -> None:
    names = "ADGC"
    run = played("8:E3 8:F3 8:F#3 8:G3", "1 on D, 2, 3, 4", hand=CELLO)
    assert grips(run, names) == "1D2 2D3 3D4 4D5"
    assert run.facts.moves == 0
    assert played("8:E3 8:A3", "1 on D, 4", hand=CELLO).facts.moves == 1
    assert played("8:B4 8:E5", "1 on A, 4", hand=VIOLIN).facts.moves == 0


def test_the_bass_plays_a_whole_tone_from_first_to_fourth_finger() -> None:
    bass = HANDS["double bass"]
    assert played("8:A2 8:B2", "1 on G, 4", hand=bass).facts.moves == 0
    assert played("8:A2 8:C3", "1 on G, 4", hand=bass).facts.moves == 1


def test_a_place_without_notes_asks_nothing() -> None:
    run = left_hand((), (), (), VIOLIN)
    assert (run.facts.moves, run.facts.notes, run.places) == (0, 0, ())
    assert run.facts.share_under_slurs == 0


def test_a_chord_of_four_notes() -> None:
    run = played("4:G3+D4+B4+G5", "[open, open, 1, 2]")
    assert grips(run) == "0G0+0D0+1A2+2E3"
    assert run.faults == ()


def test_one_finger_on_two_strings_is_one_place() -> None:
    run = played("4:A3+E4", "[1, 1]")
    assert run.faults == ()
    assert run.facts.widest_double_stop_mm == 0
