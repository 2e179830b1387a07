"""Works that the corpus carries in two independent encodings, collated as two witnesses.

Outside references: music21's corpus has, beside MusicXML, the Humdrum files of another project for
three chorales of J. S. Bach and for Beethoven's quartet opus 18 no. 1; nothing else in it stands
there twice (Palestrina is Humdrum only, the folk songs ABC only, a second file of Monteverdi's
madrigals holds their harmony without notes). music21 reads both and writes the Humdrum as MusicXML;
in its own objects the notes are compared without this project.

Music21 drops the slurs and bowings of Humdrum and writes cautionary accidentals of its own: both
are true of the file that is collated here, and told.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from functools import cache
from pathlib import Path

import pytest

from pipeline.collation.collate import collate
from pipeline.collation.collated import BarChange, Collation
from pipeline.collation.laying import lay_beside
from pipeline.collation.model import DifferenceKind
from pipeline.problems import Origin
from pipeline.score.model import Moment, Passage
from pipeline.score.read import read_passage
from tests.collation.letters import told
from tests.corpus import corpus_file

NOTES = {
    DifferenceKind.PITCH,
    DifferenceKind.RHYTHM,
    DifferenceKind.NOTES_ADDED,
    DifferenceKind.NOTES_MISSING,
}
SCHERZO = "beethoven/opus18no1/movement3"
CHORALE = "bach/bwv277"
SAME_BARS = ("bach/bwv281", SCHERZO)

Sounding = frozenset[tuple[Fraction, Fraction, str, str]]
"""Notes of a bar as music21 has them: offset, length, value and pitch."""


@dataclass(frozen=True)
class Pair:
    """Both encodings of a work collated, and the notes of each bar and part in music21's eyes."""

    text: Passage
    collation: Collation
    notes: tuple[tuple[tuple[Sounding, ...], ...], ...]


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return tmp_path_factory.mktemp("encodings")


@cache
def pair(work: str, folder: Path) -> Pair:
    from music21 import converter

    xml = converter.parse(corpus_file(f"{work}.mxl"), forceSource=True)
    humdrum = converter.parse(corpus_file(f"{work}.krn"), forceSource=True)
    name = work.replace("/", "-")
    humdrum.write("musicxml", fp=folder / f"{name}.musicxml")
    (folder / f"{name}.mxl").write_bytes(corpus_file(f"{work}.mxl").read_bytes())
    text, witness = (_read(folder, name + suffix) for suffix in (".mxl", ".musicxml"))
    found = collate(text, lay_beside(text, witness), "K", 1)
    return Pair(text, found, tuple(_sounding(score) for score in (xml, humdrum)))


def _read(folder: Path, name: str) -> Passage:
    passage = read_passage(folder, name, Origin("edition.yaml")).value
    assert passage is not None
    return passage


def _sounding(score: object) -> tuple[tuple[Sounding, ...], ...]:
    return tuple(
        tuple(
            frozenset(
                (Fraction(n.offset), Fraction(n.quarterLength), n.duration.type, p.nameWithOctave)
                for n in bar.flatten().notes
                for p in n.pitches
            )
            for bar in part.getElementsByClass("Measure")
        )
        for part in score.parts  # type: ignore[attr-defined]
    )  # fmt: skip


@pytest.mark.parametrize("work", SAME_BARS)
def test_the_notes_that_differ_are_those_that_music21_sees(work: str, folder: Path) -> None:
    """Every note that music21 sees in one file alone is told, and no place where it sees none."""
    both = pair(work, folder)
    other_notes = {
        (staff, Moment(bar, note[0]))
        for staff, parts in enumerate(zip(*both.notes, strict=True), 1)
        for bar, (one, other) in enumerate(zip(*parts, strict=True))
        for note in one ^ other
    }
    told_of = [d for d in both.collation.differences if d.kind in NOTES]
    covered = {
        (staff, at)
        for staff, at in other_notes
        if any(d.staff == staff and d.start <= at <= d.end for d in told_of)
    }
    assert covered == other_notes
    assert len(other_notes) >= (1 if work == "bach/bwv281" else 50)
    for difference in told_of:
        inside = {
            at
            for staff, at in other_notes
            if staff == difference.staff and difference.start <= at <= difference.end
        }
        assert inside, told(difference)


def test_all_staves_and_bars_answer_each_other(folder: Path) -> None:
    beside = pair(SCHERZO, folder).collation.beside
    assert dict(beside.staves) == {1: 1, 2: 2, 3: 3, 4: 4}
    assert [(p.text, p.reading) for p in beside.pairs] == [(n, n) for n in range(145)]
    assert beside.likeness > 0.99


def test_a_repeat_that_is_written_out_in_one_file_only(folder: Path) -> None:
    both = pair("bach/bwv366", folder)
    (bars,) = both.collation.bars
    assert (bars.change, bars.text) == (BarChange.MISSING, tuple(range(8, 16)))
    for part in both.notes[0]:
        assert part[8:16] == part[0:8], "music21 does not see the repetition"


FERMATA = "the MusicXML file has its fermatas in the soprano alone"
SLURS = "the other file has no slurs: they were dropped in conversion"
CAUTION = "a sign that was written in conversion; it repeats one of the bar or contradicts none"
OFFSET = "the MusicXML file sets the sign back by an offset; the other has it at the later note"
NO_SFORZATO = "the Humdrum file has no sforzati"
AFTERBEAT = "end of the trill, before the bar line there and after it here: one thing told twice"
NO_TIE = "the MusicXML file ties these notes, the Humdrum file does not"
ONE_LENGTH = "tied quavers there, one crotchet here: the same sound written otherwise"
UNFILLED = "the MusicXML file leaves the last crotchet of the bar empty: its slip"
ONE_TIE = "the MusicXML file ties only one note of the chord on: its slip"
SAMPLE = [
    # work, staff, what is told, what the two files have
    (SCHERZO, 1, "tempo added 0:0-0:0", "only Humdrum gives a tempo"),
    (SCHERZO, 1, "ornament missing 6:0-6:0 trill@6:0 | .", "Humdrum has no trills"),
    (SCHERZO, 1, "notes missing missing 6:3-6:3 16:C5 16:D5 | .", AFTERBEAT),
    (SCHERZO, 1, "notes added added 7:0-7:0 . | 8:C5 8:D5", AFTERBEAT),
    (SCHERZO, 3, "articulation missing 10:0-10:2 2:Eb4 | 2:Eb4", "a tenuto in MusicXML only"),
    (SCHERZO, 1, "rhythm 20:0-20:2 2:Ab5 | 2.:Ab5", UNFILLED),
    (SCHERZO, 1, "rhythm 24:2-24:2 16:B5 | 8:B5", "the value of a grace note"),
    (SCHERZO, 1, "dynamic moved 29:0-29:1 pp@29:0 | pp@29:1", OFFSET),
    (SCHERZO, 2, "slur missing 38:0-38:2 slur@38:0-38:2 | .", SLURS),
    (SCHERZO, 4, "accidental added 39:2-39:2.5 8:C3 | 8:C3", CAUTION),
    (SCHERZO, 3, "dynamic missing 54:0-54:0 sf@54:0 | .", NO_SFORZATO),
    (SCHERZO, 1, "accidental added 58:0-58:1 4:E5 | 4:E5", CAUTION),
    (SCHERZO, 1, "slur missing 73:0-76:0 slur@73:0-76:0 | .", SLURS),
    (SCHERZO, 4, "accidental missing 110:0-110:1 4:E3 | 4:E3", "lost in conversion"),
    (SCHERZO, 3, "tie added 123:0-123:3 2.:D3+G3 | 2.:D3+G3", ONE_TIE),
    (CHORALE, 2, "tie missing 1:3-1:4 4:B4 | 4:B4", NO_TIE),
    (CHORALE, 2, "rhythm 12:0.5-12:1.5 8:F4 8:F4 | 4:F4", ONE_LENGTH),
    (CHORALE, 2, "pitch 14:1.5-14:2 8:D4 | 8:C#4", "8 D C# D there, crotchet D and C# here"),
    ("bach/bwv281", 2, "other added", FERMATA),
    ("bach/bwv366", 2, "rhythm 17:0.5-17:1.5 8:F4 8:F4 | 4:F4", ONE_LENGTH),
]  # fmt: skip
"""Twenty differences of several kinds, each looked up in both files: all are true of them. Five
come from the conversion, two are the same sound written otherwise, two tell one thing twice."""


@pytest.mark.parametrize(("work", "staff", "line", "words"), SAMPLE)
def test_each_of_the_sample_is_told(
    work: str, staff: int, line: str, words: str, folder: Path
) -> None:
    found = pair(work, folder).collation.differences
    lines = [told(one) for one in found if one.staff == staff]
    assert any(one.startswith(line) for one in lines), words
