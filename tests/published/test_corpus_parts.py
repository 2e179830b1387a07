"""Parts of scores that were not made for this project: nothing is lost, nothing stands on figures.

Outside reference: the works of music21's corpus, with records generated all over them; the notes
are counted in the score that READ made of them, the marks in the layered document.
"""

from __future__ import annotations

from pathlib import Path

import pytest

from pipeline.build import examine
from pipeline.edition.layer import Layer
from pipeline.engrave.part_staff import solo_movements
from pipeline.layers.write import write_layers
from pipeline.problems import has_errors
from pipeline.typeset.remarks import remark_numbers
from tests.corpus import SMALL, corpus_file
from tests.engrave.engraved_part import layers_counted, part
from tests.engrave.test_part_keys import meeting
from tests.generated_edition import write_generated_edition


@pytest.mark.parametrize("staff_height_mm", [6.0, 7.5])
@pytest.mark.parametrize("work", SMALL)
def test_the_part_of_a_corpus_work_is_complete(
    work: str, staff_height_mm: float, tmp_path: Path
) -> None:
    folder = tmp_path / "edition"
    write_generated_edition(folder, corpus_file(work), records=40)
    material = examine(folder).value
    assert material is not None
    layered = write_layers(
        material.edition, material.score, material.decisions, material.collations
    )
    numbers = remark_numbers(material.decisions)

    drawn = part(layered, numbers, staff_height_mm=staff_height_mm)

    assert not has_errors(drawn.problems), drawn.problems
    heads = {h.xml_id for m in material.score.movements for e in m.passage.events
             if e.staff == 1 for h in e.heads}  # fmt: skip
    shown = {g.get("id", "") for line in drawn.lines for g in line.groups("note")}
    assert heads <= shown
    written = layers_counted([s.score for s in solo_movements(layered, 1, set(Layer), {})], "type")
    assert layers_counted((line.root for line in drawn.lines), "class") == written
    assert [met for line in drawn.lines for met in meeting(line)] == []
