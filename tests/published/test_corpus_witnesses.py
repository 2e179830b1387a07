"""Witnesses of works that nobody chose come out of the layers as their encodings.

Outside reference: the works of music21's corpus, and the official MEI 5.1 schema
(mei-all-5.1.rng of the Music Encoding Initiative) where it lies beside the project. `make bench`
goes through all the works.
"""

from __future__ import annotations

from pathlib import Path

import pytest

from pipeline.build import examine
from pipeline.layers.write import write_layers
from tests.corpus import SMALL, corpus_file
from tests.corpus_witnesses import witnesses_of
from tests.generated_edition import write_generated_edition
from tests.layers.small_edition import assert_valid
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
