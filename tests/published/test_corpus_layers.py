"""Scores that were not made for this project survive the layers without loss.

Outside references: the works of music21's corpus, and the official MEI 5.1 schema
(mei-all-5.1.rng of the Music Encoding Initiative) where it lies beside the project.
"""

from __future__ import annotations

from pathlib import Path

import pytest

from pipeline.build import examine
from pipeline.layers.extract import canonical_music, extract_text
from pipeline.layers.profile import profile_faults
from pipeline.layers.write import write_layers
from pipeline.problems import has_errors
from tests.corpus import SMALL, corpus_file
from tests.generated_edition import write_generated_edition


@pytest.mark.parametrize("work", SMALL)
def test_a_corpus_work_is_layered_and_taken_apart_again(work: str, tmp_path: Path) -> None:
    folder = tmp_path / "edition"
    written = write_generated_edition(folder, corpus_file(work), records=40)
    examined = examine(folder)
    assert not has_errors(examined.problems), examined.problems
    material = examined.value
    assert material is not None
    assert len(material.decisions) == written == 40

    layered = write_layers(
        material.edition, material.score, material.decisions, material.collations
    )

    assert profile_faults(layered) == ()
    base = material.score.movements[0].passage.mei
    assert canonical_music(extract_text(layered)[1]) == canonical_music(base)
    assert (
        write_layers(material.edition, material.score, material.decisions, material.collations)
        == layered
    )
