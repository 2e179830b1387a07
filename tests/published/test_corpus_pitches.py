"""Works that music21's corpus carries, note by note against music21's own reading of them.

A work in Humdrum is written out as MEI by Verovio and then read as any MEI that another encoder
made; music21 reads the Humdrum itself.

Onset in the bar, sounding pitch, part by part. music21 reads the MusicXML by itself; we read what
Verovio's importer and our own code make of it, so two readers that share nothing agree.
"""

from __future__ import annotations

import warnings
from collections import Counter
from collections.abc import Iterator
from fractions import Fraction
from pathlib import Path
from typing import Any

import pytest

from pipeline.problems import Origin
from pipeline.score.model import Passage
from pipeline.score.read import read_passage

Sounds = Counter[tuple[int, Fraction, int]]
"""How often a pitch (MIDI) begins in a bar (from 0) at an onset (quarter notes)."""

WORKS = [
    "bach/bwv66.6.mxl",
    "bach/bwv269.mxl",
    "haydn/opus74no1/movement3.mxl",
    "mozart/k80/movement3.mxl",
    "schoenberg/opus19/movement2.mxl",
    "schumann_clara/polonaise_op1n4.mxl",
    "webern/webern_dormi_jesu_op_16_no_2.mxl",
    "monteverdi/madrigal.5.5.mxl",
]


FROM_HUMDRUM = "beethoven/opus18no1/movement3.krn"
MISREAD_BY_THE_IMPORTER = "mozart/k80/movement1.mxl"
"""Bar 35, viola: the importer puts one triplet inside the other."""


@pytest.fixture(scope="module")
def corpus() -> Path:
    with warnings.catch_warnings():
        # Libraries that music21 imports warn of their own future; none of it is ours.
        warnings.simplefilter("ignore")
        from music21 import common

        return Path(common.getSourceFilePath()) / "corpus"


def _as_music21_reads(path: Path) -> Sounds:
    with warnings.catch_warnings():
        # music21 tells what it repairs in these files; here its reading is the reference as it is.
        warnings.simplefilter("ignore")
        from music21 import converter

        score: Any = converter.parse(path, forceSource=True)
    found: Sounds = Counter()
    for part in score.parts:
        for bar, measure in enumerate(part.getElementsByClass("Measure")):
            for element in measure.recurse().notes:
                if element.style.hideObjectOnPrint or "ChordSymbol" in element.classes:
                    continue
                onset = Fraction(element.getOffsetInHierarchy(measure)).limit_denominator(3840)
                found.update((bar, onset, pitch.midi) for pitch in element.pitches)
    return found


def _as_we_read(passage: Passage) -> Sounds:
    return Counter(_sounds(passage))


def _sounds(passage: Passage) -> Iterator[tuple[int, Fraction, int]]:
    for event in passage.events:
        for head in event.heads:
            yield event.bar, event.onset.limit_denominator(3840), head.pitch.midi


@pytest.mark.parametrize("work", WORKS)
def test_every_note_is_where_music21_has_it(corpus: Path, work: str) -> None:
    outcome = read_passage(corpus, work, Origin("edition.yaml"))
    assert outcome.value is not None
    ours, theirs = _as_we_read(outcome.value), _as_music21_reads(corpus / work)
    assert sum(theirs.values()) > 50
    assert ours - theirs == Counter()
    assert theirs - ours == Counter()


def test_every_note_of_another_encoders_mei_is_where_music21_has_it(
    corpus: Path, tmp_path: Path
) -> None:
    import verovio

    toolkit = verovio.toolkit()
    toolkit.loadData((corpus / FROM_HUMDRUM).read_text(encoding="latin-1"))
    written = toolkit.getMEI().replace('meiversion="6.0-dev"', 'meiversion="5.1"')
    (tmp_path / "quartet.mei").write_text(written, encoding="utf-8")
    outcome = read_passage(tmp_path, "quartet.mei", Origin("edition.yaml"))
    assert outcome.problems == ()
    assert outcome.value is not None
    assert _as_we_read(outcome.value) == _as_music21_reads(corpus / FROM_HUMDRUM)


def test_where_the_import_goes_wrong_it_is_told(corpus: Path) -> None:
    outcome = read_passage(corpus, MISREAD_BY_THE_IMPORTER, Origin("edition.yaml"))
    assert outcome.value is not None
    ours, theirs = _as_we_read(outcome.value), _as_music21_reads(corpus / MISREAD_BY_THE_IMPORTER)
    assert {bar for bar, _, _ in ours - theirs} == {34}
    assert [(p.code, p.place) for p in outcome.problems] == [
        ("durations-changed-in-import", "bar 35, part P3")
    ]
