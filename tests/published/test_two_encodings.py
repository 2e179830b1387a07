"""One chorale in two independent encodings, collated as two witnesses.

Outside references: J. S. Bach's chorale BWV 281 as music21's corpus carries it in MusicXML and in
Humdrum, and music21's own reading of both, in which the notes are compared without this project.
"""

from __future__ import annotations

from fractions import Fraction
from pathlib import Path

from pipeline.collation.differences import differences
from pipeline.collation.model import DifferenceKind, Version
from pipeline.problems import Origin
from pipeline.score.read import read_passage
from tests.collation.letters import whole
from tests.corpus import corpus_file

NOTES = {
    DifferenceKind.PITCH,
    DifferenceKind.RHYTHM,
    DifferenceKind.NOTES_ADDED,
    DifferenceKind.NOTES_MISSING,
}


def test_the_notes_that_differ_are_those_that_music21_sees(tmp_path: Path) -> None:
    from music21 import converter

    xml = converter.parse(corpus_file("bach/bwv281.mxl"), forceSource=True)
    humdrum = converter.parse(corpus_file("bach/bwv281.krn"), forceSource=True)
    humdrum.write("musicxml", fp=tmp_path / "witness.musicxml")
    (tmp_path / "text.mxl").write_bytes(corpus_file("bach/bwv281.mxl").read_bytes())
    text = read_passage(tmp_path, "text.mxl", Origin("edition.yaml")).value
    witness = read_passage(tmp_path, "witness.musicxml", Origin("edition.yaml")).value
    assert text is not None
    assert witness is not None

    expected = set()
    for number, (one, other) in enumerate(zip(xml.parts, humdrum.parts, strict=True), start=1):
        for index, (a, b) in enumerate(
            zip(one.getElementsByClass("Measure"), other.getElementsByClass("Measure"), strict=True)
        ):
            of_text = {(n.offset, n.quarterLength, n.nameWithOctave) for n in a.flatten().notes}
            of_witness = {(n.offset, n.quarterLength, n.nameWithOctave) for n in b.flatten().notes}
            expected |= {(number, index, Fraction(n[0])) for n in of_text ^ of_witness}

    bars = tuple(bar.index for bar in witness.bars)
    found = {
        (staff.n, difference.start.bar, difference.start.offset)
        for staff in text.staves
        for difference in differences(
            text, whole(text, staff=staff.n), Version(witness, bars, staff.n, "encoding")
        )
        if difference.kind in NOTES
    }
    assert found == expected
    assert len(expected) == 1
