"""How an encoding stands beside the text: elsewhere, without a staff, or of another work."""

from __future__ import annotations

import pytest

from pipeline.checks.encodings import shift_in_words
from pipeline.collation.beside import Shift
from pipeline.score.model import Passage
from pipeline.score.transposing import Move, transposed
from tests.checks.asking import WITNESSES, asked, record
from tests.collation.letters import music
from tests.collation.small_edition import HEAD, line, small_edition

TUNE = (
    "4:C5 4:D5 4:E5 4:F5 | 4:G5 4:A5 2:B5 | 2:C6 4:B5 4:G5 | 2:A5 2:F5 | 4:D5 4:F5 4:E5 4:C5 "
    "| 2:D5 2:B4 | 2:C5 4:E5 4:G5 | 1:C5"
)
OTHER = (
    "2:G4 2:A4 | 4:B4 8:A4 8:G4 2:F4 | 1:E4 | 8:D4 8:E4 8:F4 8:G4 2:A4 | 2:B4 4:G4 4:E4 | 1:A4 "
    "| 4:F4 4:A4 4:C5 4:A4 | 2:G4 2:E4"
)
TEXT = music(TUNE)


def at(by: Move) -> Passage:
    return transposed(music(TUNE, file="E.mei"), {1: by})


@pytest.mark.parametrize(
    ("by", "words"),
    [
        (Move(-7, -12), "an octave lower"),
        (Move(1, 2), "a major second higher"),
        (Move(0, 1), "an augmented unison higher"),
    ],
)
def test_a_witness_in_another_octave_or_key(by: Move, words: str) -> None:
    told = asked("witness-written-elsewhere", "", {"E": at(by)}, text=TEXT)
    assert told == [
        "edition.yaml:11:76 warning witness-written-elsewhere: the encoding of E is written "
        f"{words} throughout; it is compared as if at the text's pitch > Nothing need be done "
        "where the witness is so written; else correct the file."
    ]


def test_a_passage_in_another_octave_is_a_difference() -> None:
    higher = TUNE.replace("2:D5 2:B4 | 2:C5 4:E5 4:G5", "2:D6 2:B5 | 2:C6 4:E6 4:G6")
    assert asked("witness-written-elsewhere", "", {"E": music(higher)}, text=TEXT) == []
    assert asked("witness-written-elsewhere", "", {"E": music(TUNE)}, text=TEXT) == []


@pytest.mark.parametrize(
    ("shift", "words"),
    [
        (Shift(14, 24), "two octaves higher"),
        (Shift(-9, -15), "an octave and a minor third lower"),
        (Shift(3, 5), "a perfect fourth higher"),
        (Shift(-4, -6), "a diminished fifth lower"),
        (Shift(6, 10), "a minor seventh higher"),
        (Shift(1, 0), "with other names for the same pitches"),
    ],
)
def test_a_shift_in_words(shift: Shift, words: str) -> None:
    assert shift_in_words(shift) == words


def test_a_score_without_one_of_the_staves() -> None:
    text = music(TUNE, labels=("Violin", "Piano", "Piano"))
    two = music(TUNE, labels=("Violin", "Pianoforte"))
    told = asked("witness-staff-missing", "", {"E": two, "S": two}, text=text)
    assert told == [
        "edition.yaml:11:76 warning witness-staff-missing: the encoding of E has not all staves "
        "of movement 1: it lacks 2 (Piano), 3 (Piano); it is not clear which staff "
        "of the text is its staff 2 (Pianoforte) > Give its staves the labels of the text."
    ]


def test_a_staff_without_a_label_in_the_text_is_labelled_there_first() -> None:
    text = music(TUNE, labels=("Flute", "Violin", ""))
    two = music(TUNE, labels=("Violin", ""))
    (told,) = asked("witness-staff-missing", "", {"E": two}, text=text)
    assert "it lacks 1 (Flute), 3; it is not clear" in told
    assert told.endswith("> Label staff 3 in the text, and give its own staves the same labels.")


def test_the_solo_staff_of_a_score_is_enough() -> None:
    text = music(TUNE, labels=("Violin", "Piano", "Piano"))
    assert asked("witness-staff-missing", "", {"E": music(TUNE)}, text=text) == []


READS_E = record("reading", "r1", "bar: 1", "lemma: A", "readings: [{witnesses: E}]")
READS_E_TWICE = READS_E + READS_E.replace("r1", "r2").replace("bar: 1", "bar: 2")


def obstacles(records: str, witness: Passage, head: str = HEAD) -> list[str]:
    material, problems = small_edition(records, {"E": witness}, text=TEXT, head=head)
    collation = material.collations["E", 1]
    assert (collation.differences, collation.bars) == ((), ())
    return [line(problem) for problem in problems]


def test_another_work_is_one_problem_however_many_records_speak_of_it() -> None:
    told = obstacles(READS_E_TWICE, music(OTHER))
    assert told == [
        "edition.yaml:11:76 error witness-unlike-text: the encoding of E is hardly like movement "
        "1: 0 % of the notes stand where the text has them; it is not compared > Name the file "
        "that holds this movement; if this is it, put its staves in the order of the text, or "
        "correct its notes."
    ]
    assert obstacles("", music(OTHER))[0].startswith("edition.yaml:11:76 warning")


def test_an_encoding_without_notes_and_one_of_another_instrument() -> None:
    assert obstacles("", music("1:r | 1:r")) == [
        "edition.yaml:11:76 warning witness-unlike-text: the encoding of E has no notes > Export "
        "it again with its music, or remove the line."
    ]
    assert obstacles(READS_E_TWICE, music(TUNE, labels=("", ""))) == [
        "edition.yaml:11:76 error witness-unlike-text: no staff of the encoding of E is known to "
        "be one of movement 1: it has 1, 2, the text has 1 (Violin) > Give its staves the labels "
        "of the text."
    ]


def test_the_small_edition_has_nothing_of_the_kind() -> None:
    _, problems = small_edition(READS_E, WITNESSES)
    assert problems == ()
