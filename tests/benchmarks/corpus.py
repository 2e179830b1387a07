"""Works of music21's corpus through the whole pipeline: read, layered, validated, taken apart.

One line a work; the last line says how many came back without loss. Whatever fails says so and
fails the run.
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
from tests.generated_edition import write_generated_edition

SCHEMA = Path(__file__).resolve().parents[3] / "shared" / "standards" / "mei-all-5.1.rng"
RECORDS = 60


def corpus() -> None:
    """Print what became of each work. Raises SystemExit where one did not come back."""
    official = etree.RelaxNG(etree.parse(SCHEMA)) if SCHEMA.exists() else None
    print(f"Works of music21's corpus, {RECORDS} generated records each")
    if official is None:
        print(f"  without the official MEI schema, which is not at {SCHEMA.parent.name}/")
    faults = {work: _faults(work, official) for work in LARGE}
    lost = [work for work, found in faults.items() if found]
    print(f"  {len(LARGE) - len(lost)} of {len(LARGE)} works without loss")
    if lost:
        raise SystemExit(1)


def _faults(work: str, official: etree.RelaxNG | None) -> list[str]:
    with tempfile.TemporaryDirectory() as folder:
        edition = Path(folder) / "edition"
        records = write_generated_edition(edition, corpus_file(work), RECORDS)
        begun = time.perf_counter()
        material = examine(edition).value
    if material is None:
        print(f"  {work:<48} cannot be read")
        return ["cannot be read"]
    passage = material.score.movements[0].passage
    layered = write_layers(
        material.edition, material.score, material.decisions, material.collations
    )
    found = list(profile_faults(layered))
    if official is not None and not official.validate(etree.fromstring(layered)):
        found += [str(entry) for entry in official.error_log]
    if canonical_music(extract_text(layered)[1]) != canonical_music(passage.mei):
        found.append("the text does not come back")
    if len(material.decisions) != records:
        found.append(f"{records - len(material.decisions)} records without a decision")
    seconds = time.perf_counter() - begun
    notes = sum(len(event.heads) for event in passage.events)
    print(f"  {work:<48}{notes:>7} notes {seconds:6.1f} s  {'; '.join(found) or 'whole'}")
    return found
