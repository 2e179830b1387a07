"""Two versions of a few bars, and every difference as one line: kind, from-to, text | reading."""

from __future__ import annotations

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pipeline.collation.differences import differences
from pipeline.score.model import Marking, MarkingKind, Passage
from tests.collation.letters import (
    dynamic,
    encoded,
    fragment,
    hairpin,
    moment,
    music,
    sign,
    slur,
    told,
    whole,
    within,
)


def compared(text: Passage, reading: Passage) -> list[str]:
    return [told(d) for d in differences(text, whole(text), encoded(text, reading))]


NOTES = [
    # one bar as it stands in the text, the same bar in a witness, the differences
    ("4:C5 4:D5 2:E5", "4:C5 4:D5 2:E5", []),
    ("4:C5 4:D5 2:E5", "4:C5 4:F5 2:E5", ["pitch 0:1-0:2 4:D5 | 4:F5"]),
    ("4:C5 4:F#5 2:E5", "4:C5 4:F5 2:E5", ["pitch 0:1-0:2 4:F#5 | 4:F5"]),
    ("4:C5 4:F#5! 2:E5", "4:C5 4:F#5 2:E5", ["accidental missing 0:1-0:2 4:F#5 | 4:F#5"]),
    ("4:C5 4:F5 2:E5", "4:C5 4:F5! 2:E5", ["accidental added 0:1-0:2 4:F5 | 4:F5"]),
    ("4.:C5 8:D5 2:E5", "4:C5 4:D5 2:E5", ["rhythm 0:0-0:2 4.:C5 8:D5 | 4:C5 4:D5"]),
    (
        "4.:C5 8:D5 2:E5",
        "4:C5 4:F5 2:E5",
        ["pitch 0:0-0:2 4.:C5 8:D5 | 4:C5 4:F5", "rhythm 0:0-0:2 4.:C5 8:D5 | 4:C5 4:F5"],
    ),
    ("4:C5 4:D5 2:E5", "4:C5 4:r 2:E5", ["notes missing missing 0:1-0:2 4:D5 | 4:r"]),
    ("4:C5 4:r 2:E5", "4:C5 8:D5 8:r 2:E5", ["notes added added 0:1-0:2 4:r | 8:D5 8:r"]),
    ("8:C5 8:D5 4:E5", "4:C5 4:E5", ["notes missing missing 0:0-0:1 8:C5 8:D5 | 4:C5"]),
    ("4:C5 4:E5", "8:C5 8:D5 4:E5", ["notes added added 0:0-0:1 4:C5 | 8:C5 8:D5"]),
    ("4:C5+E5 4:D5", "4:C5 4:D5", ["notes missing missing 0:0-0:1 4:C5+E5 | 4:C5"]),
    ("4:C5 4:D5", "4:C5+E5 4:D5", ["notes added added 0:0-0:1 4:C5 | 4:C5+E5"]),
    ("4:C5+E5 4:D5", "4:C5+F5 4:D5", ["pitch 0:0-0:1 4:C5+E5 | 4:C5+F5"]),
    ("4:C5+E5 4:D5", "4:E5+C5 4:D5", []),
    ("4:C5 4:D5 4:E5 4:F5", "4:C5 4:E5 4:F5", ["notes missing missing 0:1-0:2 4:D5 | ."]),
    ("4:C5 4:E5 4:F5", "4:C5 4:D5 4:E5 4:F5", ["notes added added 0:1-0:1 . | 4:D5"]),
    ("4:C5 4:D5 2:r", "4:C5 4:D5", []),
    ("4:C5 4:D5 2:r", "4:C5 4:D5 4:r 4:r", []),
    ("2:C5~ 2:=C5", "2:C5 2:C5", ["tie missing 0:0-0:2 2:C5 | 2:C5"]),
    ("2:C5 2:C5", "2:C5~ 2:=C5", ["tie added 0:0-0:2 2:C5 | 2:C5"]),
    ("2:C5 2:D5", "4:C5~ 4:=C5 2:D5", ["rhythm 0:0-0:2 2:C5 | 4:C5 4:C5"]),
    ("4:=C5 4:D5", "4:C5 4:D5", ["tie missing 0:0-0:1 4:C5 | 4:C5"]),
    ("4:C5'stacc 4:D5", "4:C5 4:D5", ["articulation missing 0:0-0:1 4:C5 | 4:C5"]),
    ("4:C5'stacc'ten 4:D5", "4:C5'ten'stacc 4:D5", []),
    ("4:C5'stacc 4:D5", "4:C5'ten 4:D5", ["articulation 0:0-0:1 4:C5 | 4:C5"]),
    ("4:C5'dnbow 4:D5", "4:C5'upbow 4:D5", ["bow sign 0:0-0:1 4:C5 | 4:C5"]),
    ("4:C5 4:D5", "4:C5 4:D5'dnbow", ["bow sign added 0:1-0:2 4:D5 | 4:D5"]),
    ("4:C5+F5<> 4:D5", "4:C5+F5 4:D5", ["note head 0:0-0:1 4:C5+F5 | 4:C5+F5"]),
    (
        "4.:C5'stacc 8:D5",
        "4:C5 4:D5",
        ["articulation missing 0:0-0:1.5 4.:C5 | 4:C5", "rhythm 0:0-0:2 4.:C5 8:D5 | 4:C5 4:D5"],
    ),
    ("8/3:C5 8/3:D5 8/3:E5 4:F5", "8:C5 16:D5 16:E5 4:F5",
     ["rhythm 0:0-0:1 8:C5 8:D5 8:E5 | 8:C5 16:D5 16:E5"]),
    # grace notes take no time
    ("g8:D5 4:C5 4:E5", "4:C5 4:E5", ["notes missing missing 0:0-0:0 8:D5 | ."]),
    ("4:C5 4:E5", "4:C5 g16:D5 g16:F5 4:E5", ["notes added added 0:1-0:1 . | 16:D5 16:F5"]),
    ("g8:D5 4:C5", "g8:B4 4:C5", ["pitch 0:0-0:0 8:D5 | 8:B4"]),
    ("g8:D5 4:C5", "g16:D5 4:C5", ["rhythm 0:0-0:0 8:D5 | 16:D5"]),
    ("g8:D5 4:C5", "8:D5 8:C5", ["notes missing missing 0:0-0:0 8:D5 | .",
                                 "notes added added 0:0-0:1 4:C5 | 8:D5 8:C5"]),
    # voices
    ("4:C5 4:D5 // 2:A4", "4:C5 4:D5 // 2:G4", ["pitch 0:0-0:2 2:A4 | 2:G4"]),
    ("4:C5 4:D5 // 2:A4", "4:C5 4:D5", ["notes missing missing 0:0-0:2 2:A4 | ."]),
    ("4:C5 4:D5", "4:C5 4:D5 // 2:A4", ["notes added added 0:0-0:2 . | 2:A4"]),
    ("4:C5 4:D5 // 4:s 4:A4", "4:C5 4:D5 // 4:r 4:A4", []),
    # bars
    ("1:C5 | 1:D5 | 1:E5", "1:C5 | 1:r | 1:E5", ["notes missing missing 1:0-1:4 1:D5 | 1:r"]),
    ("1:C5 | 2:D5 2:E5", "1:C5 | 2:D5 2:F5", ["pitch 1:2-1:4 2:E5 | 2:F5"]),
]  # fmt: skip


@pytest.mark.parametrize(("text", "reading", "expected"), NOTES)
def test_notes(text: str, reading: str, expected: list[str]) -> None:
    assert compared(music(text), music(reading, file="witnesses/A.mei")) == expected


FOUR = "4:C5 4:D5 4:E5 4:F5"
SIGNS: list[tuple[list[Marking], list[Marking], list[str]]] = [
    ([slur("0:0", "0:2")], [slur("0:0", "0:2")], []),
    ([slur("0:0", "0:2")], [], ["slur missing 0:0-0:2 slur@0:0-0:2 | ."]),
    ([], [slur("0:0", "0:2")], ["slur added 0:0-0:2 . | slur@0:0-0:2"]),
    ([slur("0:0", "0:2")], [slur("0:0", "0:3")],
     ["slur ends elsewhere 0:0-0:3 slur@0:0-0:2 | slur@0:0-0:3"]),
    ([slur("0:0", "0:2")], [slur("0:1", "0:2")],
     ["slur starts elsewhere 0:0-0:2 slur@0:0-0:2 | slur@0:1-0:2"]),
    ([slur("0:0", "0:2")], [slur("0:1", "0:3")],
     ["slur moved 0:0-0:3 slur@0:0-0:2 | slur@0:1-0:3"]),
    ([slur("0:0", "0:1")], [slur("0:2", "0:3")],
     ["slur missing 0:0-0:1 slur@0:0-0:1 | .", "slur added 0:2-0:3 . | slur@0:2-0:3"]),
    ([slur("0:0", "0:3")], [slur("0:0", "0:1"), slur("0:2", "0:3")],
     ["slur divided 0:0-0:3 slur@0:0-0:3 | slur@0:0-0:1 slur@0:2-0:3"]),
    ([slur("0:0", "0:1"), slur("0:2", "0:3")], [slur("0:0", "0:3")],
     ["slur joined 0:0-0:3 slur@0:0-0:1 slur@0:2-0:3 | slur@0:0-0:3"]),
    ([hairpin("0:0", "0:2")], [hairpin("0:0", "0:2", "dim")],
     ["hairpin 0:0-0:2 cres@0:0-0:2 | dim@0:0-0:2"]),
    ([hairpin("0:0", "0:2")], [hairpin("0:0", "0:4")],
     ["hairpin ends elsewhere 0:0-0:4 cres@0:0-0:2 | cres@0:0-0:4"]),
    ([dynamic("0:0", "p")], [dynamic("0:0", "f")], ["dynamic 0:0-0:0 p@0:0 | f@0:0"]),
    ([dynamic("0:0", "p")], [dynamic("0:1", "p")], ["dynamic moved 0:0-0:1 p@0:0 | p@0:1"]),
    ([dynamic("0:0", "p")], [], ["dynamic missing 0:0-0:0 p@0:0 | ."]),
    ([dynamic("0:2", "cresc.")], [sign(MarkingKind.WORDS, "0:2", content="cresc. ")], []),
    ([sign(MarkingKind.WORDS, "0:0", content="dolce")], [],
     ["words missing 0:0-0:0 dolce@0:0 | ."]),
    ([sign(MarkingKind.TEMPO, "0:0", content="Allegro")],
     [sign(MarkingKind.TEMPO, "0:0", content="Allegretto")],
     ["tempo 0:0-0:0 Allegro@0:0 | Allegretto@0:0"]),
    ([sign(MarkingKind.FINGERING, "0:0", content="1")],
     [sign(MarkingKind.FINGERING, "0:0", content="3")], ["fingering 0:0-0:0 1@0:0 | 3@0:0"]),
    ([sign(MarkingKind.FINGERING, "0:0", content="1")],
     [sign(MarkingKind.FINGERING, "0:1", content="1")],
     ["fingering missing 0:0-0:0 1@0:0 | .", "fingering added 0:1-0:1 . | 1@0:1"]),
    ([sign(MarkingKind.TRILL, "0:0")], [sign(MarkingKind.TURN, "0:0")],
     ["ornament 0:0-0:0 trill@0:0 | turn@0:0"]),
    ([sign(MarkingKind.FERMATA, "0:3")], [sign(MarkingKind.BREATH, "0:3")],
     ["other missing 0:3-0:3 fermata@0:3 | .", "other added 0:3-0:3 . | breath@0:3"]),
    ([sign(MarkingKind.TIE, "0:0", "0:1")], [], []),
    ([sign(MarkingKind.FERMATA, "0:3", content="inv")],
     [sign(MarkingKind.FERMATA, "0:3", content="norm")], []),
    ([sign(MarkingKind.FERMATA, "0:3", content="norm angular")],
     [sign(MarkingKind.FERMATA, "0:3", content="norm")],
     ["other 0:3-0:3 norm angular@0:3 | norm@0:3"]),
    ([sign(MarkingKind.TEMPO, "0:0")], [], []),
]  # fmt: skip


@pytest.mark.parametrize(("text", "reading", "expected"), SIGNS)
def test_signs(text: list[Marking], reading: list[Marking], expected: list[str]) -> None:
    assert compared(music(FOUR, *text), music(FOUR, *reading, file="witnesses/A.mei")) == expected


def test_a_slur_over_notes_of_another_rhythm_has_not_moved() -> None:
    text = music("4.:C5 8:D5 2:E5", slur("0:0", "0:1.5"))
    reading = music("4:C5 4:D5 2:E5", slur("0:0", "0:1"))
    assert compared(text, reading) == ["rhythm 0:0-0:2 4.:C5 8:D5 | 4:C5 4:D5"]


OCTAVE = sign(MarkingKind.OCTAVE, "0:1", "1:0", "8")
SHIFTED = [
    # place, what is told: the sign where notes under it sound otherwise, and not each of the notes
    ("0:0", "0:1", []),
    ("0:1", "0:2", ["octave sign missing 0:1-1:0 8@0:1-1:0 | ."]),
    ("1:0", "1:4", ["octave sign missing 0:1-1:0 8@0:1-1:0 | .", "pitch 1:2-1:4 2:B5 | 2:A5"]),
]


@pytest.mark.parametrize(("start", "end", "expected"), SHIFTED)
def test_an_octave_sign_is_told_instead_of_the_notes_under_it(
    start: str, end: str, expected: list[str]
) -> None:
    text = music("4:C5 4:D6 2:E6 | 2:F6 2:B5", OCTAVE)
    witness = music("4:C5 4:D5 2:E5 | 2:F5 2:A5")
    span = within(text, moment(start), moment(end))
    assert [told(d) for d in differences(text, span, encoded(text, witness))] == expected


def test_an_octave_sign_that_leaves_the_sound_is_not_told() -> None:
    assert (
        compared(music("4:C5 4:D6 2:E6 | 2:F6 2:B5", OCTAVE), music("4:C5 4:D6 2:E6 | 2:F6 2:B5"))
        == []
    )


TEXT = music(
    "4:C5 4:D5 4:E5 4:F5 | 4:G5 4:A5 4:B5 4:C6 | 1:C6",
    slur("0:2", "1:1"),
    dynamic("1:2", "f"),
    numbers="14 15 16",
)
WITNESS = music(
    "4:C5 4:B4 4:E5 4:F5 | 4:G5 4:F5 4:A5 4:C6 | 1:C6",
    dynamic("1:3", "f"),
    numbers="14 15 16",
)

PLACES = [
    ("0:0", "0:1", []),
    ("0:1", "0:2", ["pitch 0:1-0:2 4:D5 | 4:B4"]),
    ("0:1", "0:4", ["pitch 0:1-0:2 4:D5 | 4:B4", "slur missing 0:2-1:1 slur@0:2-1:1 | ."]),
    ("1:0", "1:1", ["slur missing 0:2-1:1 slur@0:2-1:1 | ."]),
    ("1:1", "1:2", ["slur missing 0:2-1:1 slur@0:2-1:1 | .", "pitch 1:1-1:2 4:A5 | 4:F5"]),
    ("1:2", "1:3", ["pitch 1:2-1:3 4:B5 | 4:A5", "dynamic moved 1:2-1:3 f@1:2 | f@1:3"]),
    ("2:0", "2:4", []),
]


@pytest.mark.parametrize(("start", "end", "expected"), PLACES)
def test_a_place_tells_only_what_lies_within(start: str, end: str, expected: list[str]) -> None:
    span = within(TEXT, moment(start), moment(end))
    assert [told(d) for d in differences(TEXT, span, encoded(TEXT, WITNESS))] == expected


def test_a_solo_part_has_its_only_staff_against_the_second_of_the_score() -> None:
    score = music("4:C5 4:D5", staff=2, labels=("Flute", "Violin"))
    part = music("4:C5 4:E5")
    found = differences(score, whole(score, staff=2), encoded(score, part))
    assert [told(d) for d in found] == ["pitch 0:1-0:2 4:D5 | 4:E5"]
    assert found[0].staff == 2


def test_a_witness_that_lacks_the_middle_bar() -> None:
    text = music("1:C5 | 2:D5 2:E5 | 1:F5", numbers="1 2 3")
    reading = music("1:C5 | 1:F5", numbers="1 3")
    assert compared(text, reading) == ["notes missing missing 1:0-1:4 2:D5 2:E5 | ."]


def test_a_fragment_with_one_bar_more() -> None:
    text = music("1:C5 | 1:D5", numbers="7 8")
    reading = music("1:C5 | 1:D5 | 1:E5", numbers="1 2 3")
    found = differences(text, whole(text), fragment(reading))
    assert [told(d) for d in found] == ["notes added added 1:4-1:4 . | 1:E5"]


def test_a_fragment_with_one_bar_more_of_the_same_number() -> None:
    text = music("1:C5 | 1:D5", numbers="7 8")
    reading = music("1:C5 | 1:E5", numbers="7 7")
    found = differences(text, whole(text, 0, 0), fragment(reading))
    assert [told(d) for d in found] == ["notes added added 0:4-0:4 . | 1:E5"]


def test_a_slur_to_the_last_of_fewer_notes_has_not_moved() -> None:
    text = music("16/3:D5 16/3:C5 16/3:B4 2:A4", slur("0:0", "0:1/3"))
    reading = music("16:D5 16:B4 2:A4", slur("0:0", "0:1/4"))
    (found,) = compared(text, reading)
    assert found.startswith("notes missing missing 0:0-0:0.5 16:D5 16:C5 16:B4 | 16:D5 16:B4")


def test_a_word_that_stands_a_bar_earlier_is_one_difference_at_both_places() -> None:
    word = MarkingKind.WORDS
    text = music("1:C5 | 1:D5 | 1:E5", sign(word, "1:0", content="morendo"))
    reading = music("1:C5 | 1:D5 | 1:E5", sign(word, "0:2", content="morendo"))
    for bar, expected in ((0, 1), (1, 1), (2, 0)):
        found = differences(text, whole(text, bar, bar), encoded(text, reading))
        assert [told(d) for d in found] == [
            "words moved 0:2-1:0 morendo@1:0 | morendo@0:2"
        ] * expected


def test_a_fragment_is_silent_about_a_slur_that_crosses_its_border() -> None:
    text = music("4:C5 4:D5 | 4:E5 4:F5", slur("0:1", "1:1"), slur("1:0", "1:1"))
    music_of_record = music("4:E5 4:F5")
    found = differences(text, whole(text, 1), fragment(music_of_record))
    assert [told(d) for d in found] == ["slur missing 1:0-1:1 slur@1:0-1:1 | ."]


def test_a_fragment_is_silent_about_ties_that_cross_its_border() -> None:
    text = music("1:C5~ | 2:=C5 2:D5~ | 1:=D5")
    music_of_record = music("2:C5 2:D5")
    assert differences(text, whole(text, 1, 1), fragment(music_of_record)) == ()
    encoding = music("1:C5 | 2:C5 2:D5 | 1:D5")
    found = differences(text, whole(text, 1, 1), encoded(text, encoding))
    assert [told(d) for d in found] == [
        "tie missing 1:0-1:2 2:C5 | 2:C5",
        "tie missing 1:2-1:4 2:D5 | 2:D5",
    ]


def test_a_tie_into_the_first_note_of_the_place() -> None:
    text, reading = music("2:C5~ 2:=C5"), music("2:C5 2:C5")
    second = within(text, moment("0:2"), moment("0:4"))
    assert [told(d) for d in differences(text, second, encoded(text, reading))] == [
        "tie missing 0:2-0:4 2:C5 | 2:C5"
    ]


def test_an_excerpt_answers_the_bars_that_it_holds() -> None:
    excerpt = music(
        "4:C5 4:B4 4:E5 4:F5 | 4:G5 4:F5 4:A5 4:C6", slur("0:2", "1:1"), numbers="14 15"
    )
    span = within(TEXT, moment("1:0"), moment("1:2"))
    found = differences(TEXT, span, encoded(TEXT, excerpt, span))
    assert [told(d) for d in found] == ["pitch 1:1-1:2 4:A5 | 4:F5"]


def test_a_slur_divided_at_the_border_of_the_place_is_divided_all_the_same() -> None:
    text = music("4:C5 4:D5 | 4:E5 4:F5 | 2:G5", slur("0:0", "1:1"))
    witness = music("4:C5 4:D5 | 4:E5 4:F5 | 2:G5", slur("0:0", "0:1"), slur("1:0", "1:1"))
    for bar in (0, 1):
        found = differences(text, whole(text, bar, bar), encoded(text, witness))
        assert [told(d) for d in found] == [
            "slur divided 0:0-1:1 slur@0:0-1:1 | slur@0:0-0:1 slur@1:0-1:1"
        ]
    assert (
        differences(text, within(text, moment("0:0"), moment("0:1")), encoded(text, witness)) != ()
    )
    third = differences(text, whole(text, 2, 2), encoded(text, witness))
    assert third == ()


def test_a_place_of_one_voice_leaves_the_other_out() -> None:
    text = music("4:C5 4:D5 // 2:A4")
    reading = music("4:E5 4:D5 // 2:G4")
    place = whole(text)
    one_voice = tuple(e for e in place.events if e.voice == 2)
    span = place.__class__(1, 1, place.start, place.end, one_voice, False)
    found = differences(text, span, encoded(text, reading))
    assert [told(d) for d in found] == ["pitch 0:0-0:2 2:A4 | 2:G4"]


LONG = "4:C5 4:D5 4:E5 4:F5 | 4:G5 4:A5 4:B5 4:C6"
STRETCHES = [
    # slurs of the text, slurs of the witness, the notes (bar:offset) at which a difference is told
    ([slur("0:0", "1:3")], [slur("0:0", "1:1")], ["0:0", "1:1", "1:2", "1:3"]),
    ([slur("0:0", "1:3")], [slur("0:2", "1:3")], ["0:0", "0:1", "0:2"]),
    ([slur("0:0", "1:3")], [slur("0:0", "0:3"), slur("1:0", "1:3")], ["0:0", "0:3", "1:0"]),
    ([slur("0:1", "0:3")], [], ["0:1", "0:2", "0:3"]),
    ([hairpin("0:0", "0:3")], [hairpin("0:0", "0:2")], ["0:0", "0:2"]),
    ([hairpin("0:1", "0:3")], [hairpin("0:1", "0:3", "dim")], ["0:1", "0:2"]),
]


@pytest.mark.parametrize(("text", "reading", "expected"), STRETCHES)
def test_a_sign_is_told_where_it_starts_and_where_it_differs(
    text: list[Marking], reading: list[Marking], expected: list[str]
) -> None:
    """A note under both slurs, or outside both, is slurred as in the text."""
    one, other = music(LONG, *text), music(LONG, *reading, file="A.mei")
    notes = [f"{bar}:{offset}" for bar in (0, 1) for offset in range(4)]
    told_at = []
    for note in notes:
        at = moment(note)
        span = within(one, at, at.__class__(at.bar, at.offset + 1))
        if differences(one, span, encoded(one, other)):
            told_at.append(note)
    assert told_at == expected


NOTE = st.builds(
    lambda value, name, octave: f"{value}:{name}{octave}",
    st.sampled_from(["4", "8", "2", "4.", "16"]),
    st.sampled_from(["C", "F#", "Bb", "D"]),
    st.integers(4, 6),
)
BAR = st.lists(NOTE | st.sampled_from(["4:r", "8:r"]), min_size=1, max_size=6).map(" ".join)
SOUNDING = BAR.filter(lambda drawn: any(not one.endswith(":r") for one in drawn.split()))
PIECE = st.lists(SOUNDING, min_size=1, max_size=3).map(" | ".join)


@given(PIECE)
def test_a_copy_without_a_mistake_has_no_difference(drawn: str) -> None:
    assert compared(music(drawn), music(drawn, file="copy.mei")) == []


@given(BAR, SOUNDING)
def test_every_note_that_differs_is_told_and_runs_meet_at_both_ends(one: str, other: str) -> None:
    text, reading = music(one), music(other, file="copy.mei")
    found = differences(text, whole(text), encoded(text, reading))
    told_text = {e.xml_id for d in found for e in d.text.events}
    told_reading = {e.xml_id for d in found for e in d.reading.events}
    kept_text = [e for e in text.events if e.xml_id not in told_text and e.heads]
    kept_reading = [e for e in reading.events if e.xml_id not in told_reading and e.heads]
    assert [(e.pitches, e.duration) for e in kept_text] == [
        (e.pitches, e.duration) for e in kept_reading
    ]
    if text.bars[0].filled == reading.bars[0].filled:
        for difference in found:
            for events in (difference.text.events, difference.reading.events):
                assert sum((e.duration for e in events), Fraction(0)) == (
                    difference.end.offset - difference.start.offset
                )


@given(BAR, SOUNDING)
def test_differences_are_the_same_every_time(one: str, other: str) -> None:
    text, reading = music(one), music(other, file="copy.mei")
    first = differences(text, whole(text), encoded(text, reading))
    assert differences(text, whole(text), encoded(text, reading)) == first
