"""Works of music21's corpus through the whole pipeline: read, layered, validated, taken apart.

One line a work; the last lines say how many came back without loss, text and witnesses: one with
records, one full score and one part of some bars without any. Whatever fails says so and fails the
run.
"""

from __future__ import annotations

import tempfile
import time
from pathlib import Path

from lxml import etree

from pipeline.build import examine
from pipeline.layers.extract import canonical_music, extract_text
from pipeline.layers.profile import profile_faults
from pipeline.layers.write import write_layers
from tests.corpus import LARGE, corpus_file
from tests.corpus_witnesses import witnesses_of
from tests.generated_edition import write_generated_edition
from tests.layers.witness_law import faults_of_extraction

SCHEMA = Path(__file__).resolve().parents[3] / "shared" / "standards" / "mei-all-5.1.rng"
RECORDS = 60


def corpus() -> None:
    """Print what became of each work. Raises SystemExit where one did not come back."""
    official = etree.RelaxNG(etree.parse(SCHEMA)) if SCHEMA.exists() else None
    print(f"Works of music21's corpus, {RECORDS} generated records each")
    if official is None:
        print(f"  without the official MEI schema, which is not at {SCHEMA.parent.name}/")
    rows = {work: _faults(work, official) for work in LARGE}
    lost = [work for work, found in rows.items() if found[0]]
    print(f"  {len(LARGE) - len(lost)} of {len(LARGE)} works without loss")
    differences = sum(found[1] for found in rows.values())
    print(f"  {3 * len(LARGE)} witnesses with {differences} differences taken out again")
    if lost:
        raise SystemExit(1)


def _faults(work: str, official: etree.RelaxNG | None) -> tuple[list[str], int]:
    with tempfile.TemporaryDirectory() as folder:
        edition = Path(folder) / "edition"
        records = write_generated_edition(edition, corpus_file(work), RECORDS)
        begun = time.perf_counter()
        material = examine(edition).value
    if material is None:
        print(f"  {work:<48} cannot be read")
        return ["cannot be read"], 0
    passage = material.score.movements[0].passage
    layered = write_layers(
        material.edition, material.score, material.decisions, material.collations
    )
    found = list(profile_faults(layered))
    if official is not None and not official.validate(etree.fromstring(layered)):
        found += [str(entry) for entry in official.error_log]
    if canonical_music(extract_text(layered)[1]) != canonical_music(passage.mei):
        found.append("the text does not come back")
    encodings, collations = material.encodings, material.collations
    with tempfile.TemporaryDirectory() as folder:
        found += faults_of_extraction(layered, collations, encodings, Path(folder))
        carried = witnesses_of(work, Path(folder), seed=1)
    found += carried.faults
    if official is not None and not official.validate(etree.fromstring(carried.layered)):
        found += [str(entry) for entry in official.error_log]
    if len(material.decisions) != records:
        found.append(f"{records - len(material.decisions)} records without a decision")
    seconds = time.perf_counter() - begun
    notes = sum(len(event.heads) for event in passage.events)
    print(f"  {work:<48}{notes:>7} notes {seconds:6.1f} s  {'; '.join(found) or 'whole'}")
    return found, carried.differences + sum(len(one.differences) for one in collations.values())
