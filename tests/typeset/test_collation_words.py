"""A departure in two columns: what the text reads, what the witness reads, and where."""

from __future__ import annotations

from dataclasses import replace

import pytest
from markupsafe import Markup

from pipeline.collation.collate import collate
from pipeline.collation.collated import BarChange, BarDifference
from pipeline.collation.laying import lay_beside
from pipeline.score.model import MarkingKind, Passage
from pipeline.typeset.collation_words import CollationWords
from pipeline.typeset.wording import wording_of
from tests.collation.letters import dynamic, hairpin, music, sign, slur


def told(text: Passage, reading: Passage, language: str = "en") -> list[str]:
    """Return each difference as `place: text | reading`."""
    beside = lay_beside(text, reading)
    words = CollationWords(text, 1, wording_of(language))
    rows = []
    for difference in collate(text, beside, "E", 1).differences:
        said = words.readings(difference, beside)
        row = f"{words.place(difference)}: {said.text} | {said.reading}"
        rows.append(_plain(row))
    return rows


def _plain(markup: str) -> str:
    return Markup(markup).striptags().replace("\u00a0", " ").replace("–nothing", "–")


NOTES = "4:C5 4:D5 4:E5 4:F5 | 4:G5 4:A5 4:B5 4:C6"


@pytest.mark.parametrize(
    ("text", "reading", "expected"),
    [
        (NOTES, NOTES.replace("D5", "B4"), ["beat 2, note 2: d″ | b′"]),
        (NOTES, NOTES.replace("D5", "D#5"), ["beat 2, note 2: d″ | d♯″"]),
        (NOTES, NOTES.replace("4:D5", "4:r"), ["beat 2, note 2: d″ | –"]),
        (NOTES.replace("4:D5", "4:r"), NOTES, ["beat 2: – | d″"]),
        (
            NOTES.replace("4:C5 4:D5", "4.:C5 8:D5"),
            NOTES,
            ["beat 1, notes 1–2: \U0001d15f\U0001d16d \U0001d160 | \U0001d15f \U0001d15f"],
        ),
        (NOTES.replace("D5", "D#5!"), NOTES.replace("D5", "D#5"), ["beat 2, note 2: ♯ | –"]),
        (
            NOTES.replace("D5", "D#5+F#5!"),
            NOTES.replace("D5", "D#5+F#5"),
            ["beat 2, note 2: ♯ (d♯″); ♯ (f♯″) | –"],
        ),
        (NOTES.replace("4:F5", "4:F5~"), NOTES, ["beat 4, note 4: tie | –"]),
        (NOTES, NOTES.replace("D5", "D5'stacc'ten"),
         ["beat 2, note 2: – | staccato dot; tenuto stroke"]),
        (NOTES.replace("D5", "D5'dnbow"), NOTES.replace("D5", "D5'upbow"),
         ["beat 2, note 2: down bow | up bow"]),
        (NOTES.replace("D5", "D5<>"), NOTES, ["beat 2, note 2: diamond head | ordinary head"]),
        (f"g8:B4 {NOTES}", NOTES, ["beat 1, note 1: grace note b′ | –"]),
    ],
)  # fmt: skip
def test_notes(text: str, reading: str, expected: list[str]) -> None:
    rows = told(music(text), music(reading))
    assert [row.replace("\u2009", " ") for row in rows] == expected


@pytest.mark.parametrize(
    ("text", "reading", "expected"),
    [
        ([slur("0:0", "0:3")], [], ["beat 1: slur, notes 1–4 | –"]),
        ([slur("0:0", "0:3")], [slur("0:0", "0:2")],
         ["beat 1: slur, notes 1–4 | slur, notes 1–3"]),
        ([slur("0:0", "1:1")], [slur("0:0", "0:3"), slur("1:0", "1:1")],
         ["beat 1: slur, bar 1, note 1 – bar 2, note 2 | "
          "slur, notes 1–4; slur, bar 2, notes 1–2"]),
        ([hairpin("0:0", "0:2")], [hairpin("0:0", "0:2", "dim")],
         ["beat 1: crescendo hairpin, notes 1–3 | diminuendo hairpin, notes 1–3"]),
        ([dynamic("0:2", "p")], [dynamic("0:2", "f")], ["beat 3: p | f"]),
        ([dynamic("0:2", "p")], [dynamic("0:1", "p")], ["beat 2: p, note 3 | p, note 2"]),
        ([sign(MarkingKind.WORDS, "0:1", content="dolce")], [], ["beat 2: “dolce” | –"]),
    ],
)  # fmt: skip
def test_signs(text: list, reading: list, expected: list[str]) -> None:  # type: ignore[type-arg]
    assert told(music(NOTES, *text), music(NOTES, *reading)) == expected


def test_german_names_pitches_its_own_way() -> None:
    assert told(music(NOTES), music(NOTES.replace("D5", "B4")), "de") == ["Zz. 2, Note 2: d² | h¹"]


def test_a_witness_that_counts_its_bars_otherwise_is_placed_by_the_bars_of_the_text() -> None:
    text = music(f"1:C4 | {NOTES}", slur("1:0", "1:3"), numbers="0 1 2")
    reading = music(NOTES, slur("0:0", "0:2"), numbers="2 3")
    assert told(text, reading) == ["beat 1: slur, notes 1–4 | slur, notes 1–3"]


@pytest.mark.parametrize(
    ("difference", "expected"),
    [
        (BarDifference(BarChange.MISSING, 0, text=(1,)), "bar 2 | –"),
        (BarDifference(BarChange.MISSING, -1, text=(0, 1)), "bars 1–2 | –"),
        (BarDifference(BarChange.ADDED, 0, reading=(1,)), "– | one bar after bar 1"),
        (BarDifference(BarChange.ADDED, -1, reading=(0, 1)), "– | 2 bars after the beginning"),
    ],
)
def test_whole_bars(difference: BarDifference, expected: str) -> None:
    said = CollationWords(music(NOTES), 1, wording_of("en")).bars(difference)
    assert _plain(f"{said.text} | {said.reading}") == expected


def test_staves_of_one_name_are_told_apart_by_their_number() -> None:
    text = music(NOTES, labels=("Violin", "Piano", "Piano", ""))
    words = CollationWords(text, 1, wording_of("en"))
    names = [words.staff(n).replace("\u00a0", " ") for n in (1, 2, 3, 4)]
    assert names == ["Violin", "Piano, staff 2", "Piano, staff 3", "staff 4"]


GRACED = "4:C5 g8:F5 2.:E5"


def test_a_slur_from_a_grace_note_to_its_main_note() -> None:
    grace = "score/movement-1.mei-1-0-1-1"
    text = music(GRACED, replace(slur("0:1", "0:1"), start_id=grace))
    assert told(text, music(GRACED, file="E.mei")) == ["beat 2: slur, notes 2–3 | –"]


def test_a_sign_after_a_grace_note_stands_at_the_main_note() -> None:
    text = music(GRACED, slur("0:0", "0:1"), sign(MarkingKind.TRILL, "0:1"))
    assert told(text, music(GRACED, file="E.mei")) == [
        "beat 1: slur, notes 1–3 | –",
        "beat 2: trill, note 3 | –",
    ]
