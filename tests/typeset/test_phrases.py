"""Differences in the trade's words, English and German; bars drawn in letters.

The turns of phrase (instead of, lacking, one beat later) are common practice of critical reports,
no source.
"""

from __future__ import annotations

import pytest

from pipeline.score.model import Marking, MarkingKind
from tests.collation.letters import dynamic, hairpin, moment, music, sign, slur
from tests.typeset.said import said

QUAVER, CROTCHET, DOT = "\U0001d160", "\U0001d15f", "\U0001d16d"

NOTES = [
    ("4:C5 4:G5", "4:C5 4:F#5", "f♯″ instead of g″ (note 2)", "fis² statt g² (Note 2)"),
    ("1:G5", "1:F#5", "f♯″ instead of g″", "fis² statt g²"),
    ("1:Bb3", "1:B3", "b instead of b♭", "h statt b"),
    ("1:Eb2", "1:E1", "E₁ instead of E♭", "E₁ statt Es"),
    ("4:E4+C5 2.:D5", "4:E4+B4 2.:D5", "b′ instead of c″ (note 1)", "h¹ statt c² (Note 1)"),
    ("4:C5 4:D5 2:E5", "8:C5 4.:D5 2:E5", f"{QUAVER} {CROTCHET}{DOT} instead of "
     f"{CROTCHET} {CROTCHET} (notes 1–2)", f"{QUAVER} {CROTCHET}{DOT} statt {CROTCHET} {CROTCHET} "
     "(Noten 1–2)"),
    ("4:C5 4:D5 2:E5", "4:C5 4:r 2:E5", "note d″ lacking (note 2)", "Note d² fehlt (Note 2)"),
    ("1:C5+E5", "1:C5", "note e″ lacking", "Note e² fehlt"),
    ("1:C5", "1:C5+E5", "additional note e″", "zusätzlich Note e²"),
    ("g8:D5 1:C5", "1:C5", "grace note d″ lacking (note 1)", "Vorschlag d² fehlt (Note 1)"),
    ("2:F#5! 2:G5", "2:F#5 2:G5", "♯ lacking (note 1)", "♯ fehlt (Note 1)"),
    ("2:F5 2:G5", "2:F5! 2:G5", "with ♮ (note 1)", "zusätzlich ♮ (Note 1)"),
    ("2:C5~ 2:=C5", "2:C5 2:C5", "tie lacking (note 1)", "Haltebogen fehlt (Note 1)"),
    ("1:A4<>", "1:A4", "ordinary head instead of diamond head",
     "gewöhnlicher Kopf statt Rautenkopf"),
    (
        "4:C5 4:D5'stacc 4:E5'stacc 4:F5'stacc",
        "4:C5 4:D5 4:E5 4:F5",
        "staccato dots lacking on notes 2–4",
        "Staccatopunkte fehlen (Noten 2–4)",
    ),
    ("1:C5'stacc", "1:C5", "staccato dot lacking", "Staccatopunkt fehlt"),
    ("2:C5 2:D5", "2:C5 2:D5'acc", "with accent on note 2", "zusätzlich Akzent (Note 2)"),
    ("2:C5'ten 2:D5", "2:C5'acc 2:D5", "accent instead of tenuto stroke on note 1",
     "Akzent statt Tenutostrich (Note 1)"),
    ("2:C5'dnbow 2:D5", "2:C5 2:D5", "down bow lacking on note 1", "Abstrich fehlt (Note 1)"),
    ("2:C5'acc'stacc 2:D5'acc", "2:C5'stacc 2:D5", "accents lacking", "Akzente fehlen"),
]  # fmt: skip


@pytest.mark.parametrize(("text", "reading", "english", "german"), NOTES)
def test_what_notes_have_otherwise(text: str, reading: str, english: str, german: str) -> None:
    thin = {ord("\u2009"): " "}
    versions = music(text), music(reading, file="E.mei")
    assert said(*versions).translate(thin) == english
    assert said(*versions, language="de").translate(thin) == german


FOUR = "4:C5 4:D5 4:E5 4:F5"
P, F = dynamic("0:0", "p"), dynamic("0:0", "f")
MARKINGS = [
    ([slur("0:0", "0:3")], [], "slur lacking", "Bogen fehlt"),
    ([slur("0:1", "0:2")], [], "slur lacking (notes 2–3)", "Bogen fehlt (Noten 2–3)"),
    ([], [slur("0:0", "0:3")], "with slur", "zusätzlich Bogen"),
    ([slur("0:0", "0:3")], [slur("0:0", "0:2")], "slur to note 3", "Bogen bis Note 3"),
    ([slur("0:0", "0:3")], [slur("0:1", "0:3")], "slur from note 2", "Bogen ab Note 2"),
    (
        [slur("0:0", "0:2")],
        [slur("0:1", "0:3")],
        "slur from note 2 to note 4",
        "Bogen von Note 2 bis Note 4",
    ),
    (
        [slur("0:0", "0:3")],
        [slur("0:0", "0:1"), slur("0:2", "0:3")],
        "slur divided (notes 1–2; notes 3–4)",
        "Bogen geteilt (Noten 1–2; Noten 3–4)",
    ),
    (
        [slur("0:0", "0:1"), slur("0:2", "0:3")],
        [slur("0:0", "0:3")],
        "slur joined (notes 1–4)",
        "Bogen verbunden (Noten 1–4)",
    ),
    ([P], [], "p lacking", "p fehlt"),
    ([], [dynamic("0:2", "sf")], "with sf (note 3)", "zusätzlich sf (Note 3)"),
    ([P], [F], "f instead of p", "f statt p"),
    ([P], [dynamic("0:1", "p")], "p one beat later", "p eine Zählzeit später"),
    ([P], [dynamic("0:3", "p")], "p 3 beats later", "p 3 Zählzeiten später"),
    ([dynamic("0:1", "p")], [P], "p one beat earlier", "p eine Zählzeit früher"),
    ([P], [dynamic("0:1.5", "p")], "p on beat 2½", "p zu Zz. 2½"),
    (
        [hairpin("0:0", "0:3")],
        [hairpin("0:0", "0:2")],
        "crescendo hairpin to note 3",
        "Crescendogabel bis Note 3",
    ),
    (
        [hairpin("0:0", "0:3")],
        [hairpin("0:0", "0:3", "dim")],
        "diminuendo hairpin instead of crescendo hairpin",
        "Decrescendogabel statt Crescendogabel",
    ),
    (
        [sign(MarkingKind.WORDS, "0:0", content="dolce")],
        [],
        "“dolce” lacking",
        "„dolce“ fehlt",
    ),
    (
        [sign(MarkingKind.FINGERING, "0:1", content="3")],
        [sign(MarkingKind.FINGERING, "0:1", content="4")],
        "fingering 4 instead of 3 (note 2)",
        "Fingersatz 4 statt 3 (Note 2)",
    ),
    (  # a digit belongs to one note, so the first is named as well
        [sign(MarkingKind.FINGERING, "0:0", content="3")],
        [],
        "fingering 3 lacking (note 1)",
        "Fingersatz 3 fehlt (Note 1)",
    ),
    (
        [sign(MarkingKind.FINGERING, "0:1", content=c) for c in ("1", "4")],
        [],
        "fingering 1/4 lacking (note 2)",
        "Fingersatz 1/4 fehlt (Note 2)",
    ),
    ([sign(MarkingKind.TRILL, "0:0")], [], "trill lacking", "Triller fehlt"),
    (
        [sign(MarkingKind.TURN, "0:0")],
        [sign(MarkingKind.TURN, "0:0", content="lower")],
        "inverted turn instead of turn",
        "umgekehrter Doppelschlag statt Doppelschlag",
    ),
    (
        [sign(MarkingKind.MORDENT, "0:0", content="lower")],
        [sign(MarkingKind.MORDENT, "0:0", content="upper")],
        "inverted mordent instead of mordent",
        "Pralltriller statt Mordent",
    ),
    (
        [],
        [sign(MarkingKind.FERMATA, "0:3")],
        "with fermata (note 4)",
        "zusätzlich Fermate (Note 4)",
    ),
]


@pytest.mark.parametrize(("text", "reading", "english", "german"), MARKINGS)
def test_what_markings_a_reading_has_otherwise(
    text: list[Marking], reading: list[Marking], english: str, german: str
) -> None:
    versions = music(FOUR, *text), music(FOUR, *reading, file="E.mei")
    assert said(*versions) == english
    assert said(*versions, language="de") == german


def test_like_pitches_are_drawn_together() -> None:
    text = music("4:Bb4 4:A4 4:Bb4 4:G4")
    reading = music("4:B4 4:A4 4:B4 4:G4", file="E.mei")
    assert said(text, reading) == "b′ instead of b♭′ (notes 1, 3)"


def test_a_place_of_several_bars_names_the_bar() -> None:
    text = music("1:C5 | 2:D5 2:E5", numbers="7 8")
    reading = music("1:C5 | 2:D5 2:F5", numbers="7 8", file="E.mei")
    assert said(text, reading) == "f″ instead of e″ (bar 8, note 2)"


def test_signs_in_several_bars_are_named_bar_by_bar() -> None:
    text = music("2:C5'acc 2:D5 | 2:E5'acc 2:F5", numbers="7 8")
    reading = music("2:C5 2:D5 | 2:E5 2:F5", numbers="7 8", file="E.mei")
    assert said(text, reading) == "accents lacking (bar 7, note 1; bar 8, note 1)"


def test_a_place_of_one_note_names_no_note() -> None:
    text = music("2:D5 2:E5")
    reading = music("2:D5 2:F5", file="E.mei")
    assert said(text, reading, place=(moment("0:2"), moment("0:4"))) == "f″ instead of e″"


def test_a_version_without_differences_says_nothing() -> None:
    text = music("2:D5 2:E5")
    assert said(text, music("2:D5 2:E5", file="E.mei")) == ""


@pytest.mark.parametrize(
    ("reading", "english", "german"),
    [
        (
            "1:C5 | 4:G4 4:F4 4:E4 4:D4",
            "bar 8 an octave lower",
            "Takt 8 eine Oktave tiefer",
        ),
        (
            "1:C5 | 4:G5 4:F6 4:E6 4:D6",
            "bar 8, notes 2–4 an octave higher",
            "Takt 8, Noten 2–4 eine Oktave höher",
        ),
        (
            "1:C5 | 4:G5 4:F5 4:E4 4:D4",
            "e′ instead of e″ (bar 8, note 3); d′ instead of d″ (bar 8, note 4)",
            "e¹ statt e² (Takt 8, Note 3); d¹ statt d² (Takt 8, Note 4)",
        ),
    ],
)
def test_a_run_in_another_octave_is_told_as_one(reading: str, english: str, german: str) -> None:
    text = music("1:C5 | 4:G5 4:F5 4:E5 4:D5", numbers="7 8")
    versions = text, music(reading, numbers="7 8", file="E.mei")
    assert said(*versions) == english
    assert said(*versions, language="de") == german
