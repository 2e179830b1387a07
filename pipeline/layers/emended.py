"""Emendations whose defective readings are only described: the text's own notes are tagged.

In come the sheet and an emendation no version of which is encoded. There is no `sic` to write, yet
the notes are the editor's, so they carry the decision themselves.
"""

from __future__ import annotations

from pipeline.collation.model import Decision
from pipeline.layers.sheet import Sheet
from pipeline.layers.tags import Provenance


def tag_described_emendations(sheet: Sheet, decision: Decision) -> None:
    """Tag the notes of the place where nothing was written into the music for the record."""
    record = decision.filed.record
    if any(comparison.differences for comparison in decision.comparisons):
        return
    provenance = Provenance(record.id, decision.layer, record.by)
    for event in decision.span.events:
        sheet.adopt(sheet.by_id[event.xml_id], provenance, "emended")
