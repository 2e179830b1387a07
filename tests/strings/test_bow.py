"""Strokes of the bow from slurs, ties, signs and rests.

K. W. Gehrkens, *Essentials in Conducting* (1919): a slur is one bow, without a slur each tone has a
stroke; down is from the nut to the point. Everything else here is common practice, no source.
"""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

import pytest

from pipeline.score.model import MarkingKind, Passage
from pipeline.strings.bow import clashes, mirrored
from tests.collation.letters import music, sign, slur
from tests.strings.bowed import drawn, line

WORDS, BREATH = MarkingKind.WORDS, MarkingKind.BREATH


GEHRKENS_1919 = [
    ("a slur is one bow", music("4:C5 4:D5 4:E5 4:F5", slur("0:0", "0:3")), "?(C5 D5 E5 F5)"),
    ("no slur, a stroke for each tone", music("4:C5 4:D5 2:E5"), "?(C5) ?(D5) ?(E5)"),
    (
        "slurred and not",
        music("4:C5 4:D5 4:E5 4:F5", slur("0:0", "0:1")),
        "?(C5 D5) ?(E5) ?(F5)",
    ),
    ("a chord is one stroke", music("2:G3+D4+B4 2:G4"), "?(G3+D4+B4) ?(G4)"),
]

PRACTICE = [
    ("to and fro", music("4:C5'dnbow 4:D5 4:E5 4:F5"), "D(C5) u(D5) d(E5) u(F5)"),
    ("counted back", music("4:C5 4:D5 4:E5'dnbow 4:F5"), "d(C5) u(D5) D(E5) u(F5)"),
    ("on over a rest", music("4:C5'upbow 4:r 4:E5 4:F5"), "U(C5) d(E5) u(F5)"),
    ("tied notes are one stroke", music("2:C5'dnbow 2:D5~ | 2:=D5 2:E5"), "D(C5) u(D5 D5) d(E5)"),
    (
        "a slur up to the first of two tied notes goes on",
        music("4:C5'dnbow 4:D5~ 4:=D5 4:E5", slur("0:0", "0:1")),
        "D(C5 D5 D5) u(E5)",
    ),
    (
        "one tied note of a double stop holds the bow",
        music("2:D4+B4~'dnbow 2:=D4+C5 | 1:E5"),
        "D(D4+B4 D4+C5) u(E5)",
    ),
    (
        "dots under a slur are portato, one bow",
        music("4:C5'stacc'upbow 4:D5'stacc 2:E5", slur("0:0", "0:1")),
        "U(C5 D5) d(E5)",
    ),
    (
        "a sign under a slur divides it",
        music("4:C5'dnbow 4:D5 4:E5'upbow 4:F5", slur("0:0", "0:3")),
        "D(C5 D5) U(E5 F5)",
    ),
    (
        "a slur over slurs is a phrase",
        music("4:C5'dnbow 4:D5 4:E5 4:F5", slur("0:0", "0:3"), slur("0:0", "0:1"),
              slur("0:2", "0:3")),
        "D(C5 D5) u(E5 F5)",
    ),
    (
        "notes under a phrase have strokes of their own",
        music("8:C5'dnbow 8:D5 8:E5 8:F5 8:G5 8:A5 4:B5", slur("0:0", "0:2.5"),
              slur("0:1", "0:1.5")),
        "D(C5) u(D5) d(E5 F5) u(G5) d(A5) u(B5)",
    ),
    (
        "a slur over tied notes makes no phrase of the slur above it",
        music("4:C5'dnbow 4:D5~ 4:=D5 4:E5", slur("0:0", "0:3"), slur("0:1", "0:2")),
        "D(C5 D5 D5 E5)",
    ),
    (
        "of slurs that meet on a note the later has it",
        music("4:C5'dnbow 4:D5 4:E5 4:F5", slur("0:0", "0:2"), slur("0:2", "0:3")),
        "D(C5 D5) u(E5 F5)",
    ),
    (
        "of slurs across one another the later has the notes",
        music("4:C5'dnbow 4:D5 4:E5 4:F5", slur("0:0", "0:2"), slur("0:1", "0:3")),
        "D(C5) u(D5 E5 F5)",
    ),
    (
        "the same slur twice",
        music("4:C5'dnbow 4:D5 2:E5", slur("0:0", "0:1"), replace(slur("0:0", "0:1"), xml_id="b")),
        "D(C5 D5) u(E5)",
    ),
    ("a slur over a rest is one bow", music("4:C5'upbow 4:r 2:D5", slur("0:0", "0:2")), "U(C5 D5)"),
    ("a slur across bars", music("4:C5 4:D5'dnbow 2:E5 | 2:F5 2:G5", slur("0:2", "1:0")),
     "u(C5) D(D5) u(E5 F5) d(G5)"),
    ("a grace note goes with its note", music("g8:B4 4:C5'dnbow g8:C5 g8:E5 4:D5 2:E5"),
     "D(gB4 C5) u(gC5 gE5 D5) d(E5)"),
    ("a sign on a grace note", music("g8:B4'upbow 2:C5 2:D5"), "U(gB4 C5) d(D5)"),
    ("a grace note at the end", music("1:C5'dnbow g8:D5"), "D(C5 gD5)"),
    ("nothing but a grace note", music("g8:D5"), "?(gD5)"),
    (
        "pizzicato has no bow",
        music("4:C5'dnbow 4:D5 4:E5 4:F5", sign(WORDS, "0:1", content="pizz."),
              sign(WORDS, "0:3", content="arco")),
        "D(C5) u(F5)",
    ),
    (
        "words that name both: the last counts",
        music("2:C5 2:D5'dnbow", sign(WORDS, "0:0", content="pizz., poi arco")),
        "u(C5) D(D5)",
    ),
    (
        "coll’arco, and other words",
        music("4:C5 4:D5 2:E5'upbow", sign(WORDS, "0:0", content="pizzicato"),
              sign(WORDS, "0:1", content="coll’arco"), sign(WORDS, "0:2", content="marcato")),
        "d(D5) U(E5)",
    ),
    ("plucked by the left hand", music("4:C5'dnbow 4:E5'lhpizz 2:C5"), "D(C5) u(C5)"),
    (
        "a slur over plucked notes does not join",
        music("4:C5'dnbow 4:E5'lhpizz 2:C5", slur("0:0", "0:2")),
        "D(C5) u(C5)",
    ),
    ("both signs leave the choice", music("2:C5'dnbow'upbow 2:D5"), "?(C5) ?(D5)"),
    ("who holds a note holds the bow", music("2:C5'dnbow 2:D5 // 4:E4 4:F4 2:G4"),
     "D(C5 E4 F4) u(D5 G4)"),
    ("held in the lower voice", music("4:C5'dnbow 4:D5 2:E5 // 2:E4 4:r 4:G4"),
     "D(C5 E4 D5) u(E5 G4)"),
]  # fmt: skip


@pytest.mark.parametrize(("text", "strokes"), [case[1:] for case in GEHRKENS_1919 + PRACTICE],
                         ids=[case[0] for case in GEHRKENS_1919 + PRACTICE])  # fmt: skip
def test_strokes(text: Passage, strokes: str) -> None:
    assert drawn(line(text).strokes) == strokes


def test_a_slur_from_main_note_to_grace_note_takes_it_back() -> None:
    """A turn written in small notes at the end of a trill belongs to the note before."""
    drawn_bar = music("2:C5'dnbow g16:B4 g16:C5 2:D5")
    ids = [event.xml_id for event in drawn_bar.events]
    closing = replace(slur("0:0", "0:2"), start_id=ids[0], end_id=ids[2])
    text = replace(drawn_bar, markings=(closing,))
    assert drawn(line(text).strokes) == "D(C5 gB4 gC5) u(D5)"


def test_a_slur_from_a_grace_note_to_its_note_joins_nothing() -> None:
    drawn_bar = music("2:C5'dnbow g16:E5 2:D5")
    ids = [event.xml_id for event in drawn_bar.events]
    text = replace(
        drawn_bar, markings=(replace(slur("0:2", "0:2"), start_id=ids[1], end_id=ids[2]),)
    )
    assert drawn(line(text).strokes) == "D(C5) u(gE5 D5)"


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("4:C5'dnbow 4:D5 4:E5'dnbow 4:F5'upbow", []),
        ("4:C5'dnbow 4:D5 4:E5'upbow 4:F5", [(0, 2, None)]),
        ("4:C5'dnbow 4:r 4:E5 4:F5'dnbow", []),
        ("4:C5'dnbow 4:r 4:E5'dnbow 4:F5", [(0, 1, 1)]),
        ("8:C5'dnbow 8:D5 4:r 4:E5'upbow 4:F5", [(0, 2, 2)]),
        ("4:C5'dnbow 4:D5'dnbow 2:E5'dnbow", [(0, 1, 1), (1, 2, 2)]),
        ("4:C5 4:D5 2:E5", []),
        ("4:C5 4:D5'upbow 2:E5", []),
    ],
)
def test_signs_that_do_not_hold_one_after_the_other(
    text: str, expected: list[tuple[int, int, int | None]]
) -> None:
    """Earlier and later stroke, and the stroke before which the bow is taken back, if it can be."""
    found = clashes(line(music(text)).strokes)
    assert [(c.earlier, c.later, c.retake) for c in found] == expected


def test_a_slur_leaves_no_time_to_take_the_bow_back() -> None:
    text = music("4:C5'dnbow 4:D5 4:E5'dnbow 4:F5", slur("0:0", "0:1"))
    assert [c.retake for c in clashes(line(text).strokes)] == [None]


def test_a_breath_lets_the_bow_be_taken_back() -> None:
    text = music("4:C5'dnbow 4:D5 4:E5'dnbow 4:F5", slur("0:0", "0:1"), sign(BREATH, "0:1"))
    assert [c.retake for c in clashes(line(text).strokes)] == [1]


def test_a_mirror_twice_is_the_text() -> None:
    strokes = line(music("4:C5'dnbow 4:D5 4:r 4:E5'dnbow")).strokes
    assert drawn(mirrored(strokes)) == "U(C5) d(D5) U(E5)"
    assert mirrored(mirrored(strokes)) == strokes


def test_rests_within_a_stroke_are_not_counted() -> None:
    (stroke,) = line(music("4:C5 4:r 2:D5", slur("0:0", "0:2"))).strokes
    assert stroke.quarters == 3


def test_triplets_last_what_they_last() -> None:
    text = music("8/3:C5 8/3:D5 8/3:E5 2.:F5", slur("0:0", "0:2/3"))
    assert [stroke.quarters for stroke in line(text).strokes] == [Fraction(1), Fraction(3)]
