"""Real works written as parts come back as they were.

Outside references: the works of music21's corpus; its reader of MusicXML, which is not this
project's; the MusicXML schema that partitura carries. Staves are taken in turn, so that violins,
voices, basses and both hands of a keyboard are among them.
"""

from __future__ import annotations

import shutil
from collections import Counter
from fractions import Fraction
from functools import cache
from pathlib import Path

import pytest

from pipeline.edition.layer import Layer
from pipeline.edition.read import read_edition
from pipeline.exchange.source import StaffMusic, music_of
from pipeline.layers.write import write_layers
from pipeline.score.model import MarkingKind
from pipeline.score.read import read_score
from tests.collation.letters import told
from tests.corpus import corpus_file
from tests.exchange.exchanged import compared, exchanged, untold
from tests.exchange.musicxml_schema import assert_valid_musicxml

STAVES = {
    "bach/bwv1.6.mxl": 1,
    "bach/bwv10.7.mxl": 4,
    "bach/bwv244.29-a.mxl": 2,
    "beach/prayer_of_a_tired_child.musicxml": 5,
    "beethoven/opus18no1/movement1.mxl": 4,
    "corelli/opus3no1/1grave.xml": 3,
    "cpebach/h186.mxl": 1,
    "handel/rinaldo/Lascia_chio_pianga.mxl": 2,
    "haydn/opus1no1/movement2.mxl": 1,
    "haydn/opus74no1/movement1.mxl": 1,
    "haydn/opus74no1/movement2.mxl": 1,
    "johnson_j_r/lift_every_voice.mxl": 4,
    "joplin/maple_leaf_rag.mxl": 1,
    "liliuokalani/aloha_oe.mxl": 6,
    "luca/gloria.xml": 2,
    "lusitano/allor_che_ignuda.mxl": 3,
    "mozart/k155/movement1.mxl": 1,
    "mozart/k458/movement1.mxl": 1,
    "mozart/k458/movement2.mxl": 1,
    "schoenberg/opus19/movement2.mxl": 1,
    "schubert/Lindenbaum.xml": 3,
    "schumann_clara/opus17/movement3.xml": 1,
    "trecento/PMFC_13_01-Kyrie-Summe-Clementissime.mxl": 1,
    "verdi/laDonnaEMobile.mxl": 1,
    "webern/webern_dormi_jesu_op_16_no_2.mxl": 1,
}
"""A staff of each work. Left out are works whose encodings have signs at times that three decimals
cannot hold (Beethoven op. 59, Schumann op. 41, Weber): their moments return to a ten-thousandth."""

HEAD = """\
title: A work
scoring: as the score says
languages: [en]
agents:
  composer: {name: Somebody, role: composer}
witnesses:
  T: {kind: autograph, title: The text, principal: true}
movements:
  - {n: 1, title: First, base: BASE}
"""

NOT_HELD = {"lyrics", "slur without an end", "slur to another staff"}
"""Words that are sung are not the solo part's; slurs without an end are the encodings' own."""


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return tmp_path_factory.mktemp("works")


@cache
def layered(work: str, folder: Path) -> bytes:
    """Return the layered file of an edition that has no records."""
    own = folder / work.replace("/", "-")
    (own / "records").mkdir(parents=True)
    file = corpus_file(work)
    shutil.copy(file, own / file.name)
    (own / "edition.yaml").write_text(HEAD.replace("BASE", file.name), encoding="utf-8")
    edition = read_edition(own).value
    assert edition is not None
    score = read_score(edition).value
    assert score is not None
    return write_layers(edition, score, (), {})


@pytest.mark.parametrize("work", STAVES)
def test_a_part_of_a_work_comes_back_as_it_was(work: str, folder: Path, tmp_path: Path) -> None:
    mei, staff = layered(work, folder), STAVES[work]
    part = exchanged(mei, {Layer.TEXT}, staff)
    assert_valid_musicxml(part.musicxml)
    assert untold(mei, part, staff) == set()
    assert {one.kind for one in part.left_out} <= NOT_HELD
    found = compared(mei, tmp_path, staff)
    assert [told(one) for one in found.differences] == []
    assert found.bars == ()
    assert found.beside.obstacle is None


def sounding(music: StaffMusic) -> Counter[tuple[int, Fraction, Fraction, tuple[int, ...]]]:
    return Counter(
        (e.bar, e.onset, e.duration, tuple(sorted(p.midi for p in e.pitches)))
        for e in music.events
        if e.heads and not e.grace
    )


@pytest.mark.parametrize("work", STAVES)
def test_music21_reads_the_notes_of_the_part(work: str, folder: Path) -> None:
    from music21 import converter

    mei, staff = layered(work, folder), STAVES[work]
    music = next(iter(music_of(mei, {Layer.TEXT}, staff))).main
    part = exchanged(mei, {Layer.TEXT}, staff)
    score = converter.parseData(part.musicxml.decode(), format="musicxml")
    notes = [
        (index, bar, note)
        for index, bar in enumerate(score.parts[-1].getElementsByClass("Measure"))
        for note in bar.recurse().getElementsByClass("NotRest")
    ]
    found = Counter(
        (
            index,
            Fraction(note.getOffsetInHierarchy(bar)).limit_denominator(5040),
            Fraction(note.quarterLength).limit_denominator(5040),
            tuple(sorted(pitch.midi for pitch in note.pitches)),
        )
        for index, bar, note in notes
        if not note.duration.isGrace
    )
    assert found == sounding(music)
    staccati = sum(
        one.classes[0] == "Staccato" for _, _, note in notes for one in note.articulations
    )
    assert staccati == sum(event.articulations.count("stacc") for event in music.events)
    fermatas = sum(
        "Fermata" in one.classes
        for note in score.parts[-1].recurse().notesAndRests
        for one in note.expressions
    )
    assert fermatas == sum(m.kind is MarkingKind.FERMATA for m in music.markings)
