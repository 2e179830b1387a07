"""Witnesses of works that nobody chose come out of the layers as their encodings.

Outside reference: the works of music21's corpus, and the official MEI 5.1 schema
(mei-all-5.1.rng of the Music Encoding Initiative) where it lies beside the project. `make bench`
goes through all the works.
"""

from __future__ import annotations

import random
from pathlib import Path

import pytest

from pipeline.build import examine
from pipeline.layers.write import write_layers
from pipeline.problems import Origin
from pipeline.score.read import read_passage
from tests.corpus import SMALL, corpus_file
from tests.corpus_witnesses import witnesses_of
from tests.generated_edition import write_generated_edition
from tests.layers import changed
from tests.layers.small_edition import assert_valid, small
from tests.layers.witness_law import faults_of_extraction


@pytest.mark.parametrize("work", SMALL)
def test_a_witness_whose_differences_are_told_in_part(work: str, tmp_path: Path) -> None:
    folder = tmp_path / "edition"
    write_generated_edition(folder, corpus_file(work), records=25)
    material = examine(folder).value
    assert material is not None
    layered = write_layers(
        material.edition, material.score, material.decisions, material.collations
    )
    assert material.collations["W", 1].differences
    assert faults_of_extraction(layered, material.collations, material.encodings, tmp_path) == []


@pytest.mark.parametrize("work", SMALL)
@pytest.mark.parametrize("seed", [1, 2])
def test_witnesses_changed_in_any_way(work: str, seed: int, tmp_path: Path) -> None:
    """A full score with bars missing and added, and a part of some bars in another octave."""
    found = witnesses_of(work, tmp_path, seed)
    assert found.differences > 20
    assert found.faults == ()
    assert_valid(found.layered)


@pytest.mark.parametrize("work", SMALL)
def test_a_witness_in_musicxml_beside_a_text_in_mei(work: str, tmp_path: Path) -> None:
    (tmp_path / "work.mxl").write_bytes(corpus_file(work).read_bytes())
    passage = read_passage(tmp_path, "work.mxl", Origin("edition.yaml")).value
    assert passage is not None
    text = changed.changed(passage.mei, random.Random(3), changed.ALL, 20)
    edition = small(tmp_path, text, [], {"W": corpus_file(work).read_bytes()}, strict=False)
    assert edition.collations["W", 1].differences
    faults = faults_of_extraction(edition.layered, edition.collations, edition.encodings, tmp_path)
    assert faults == []


def test_one_chorale_in_two_independent_encodings(tmp_path: Path) -> None:
    """BWV 281 in MusicXML and in Humdrum, by different hands (music21's corpus)."""
    from music21 import converter

    humdrum = converter.parse(corpus_file("bach/bwv281.krn"), forceSource=True)
    humdrum.write("musicxml", fp=tmp_path / "humdrum.musicxml")
    text, other = corpus_file("bach/bwv281.mxl"), tmp_path / "humdrum.musicxml"
    edition = small(tmp_path, text.read_bytes(), [], {"W": other.read_bytes()}, strict=False)
    assert edition.collations["W", 1].differences
    faults = faults_of_extraction(edition.layered, edition.collations, edition.encodings, tmp_path)
    assert faults == []
