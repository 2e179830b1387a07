"""The wrapper of what the base text does not have: `supplied` with reason, certainty, sources.

MEI Guidelines 5.1, chapter 11.3: att.source and att.evidence stand on the wrapper because the signs
inside cannot carry them.
"""

from __future__ import annotations

from pipeline.collation.model import Decision
from pipeline.layers.sheet import Sheet
from pipeline.layers.tags import Provenance
from pipeline.score.mei_names import Element


def supply(sheet: Sheet, decision: Decision, provenance: Provenance, reason: str) -> Element:
    """Return an empty `supplied` for what the decision adds to the music."""
    record = decision.filed.record
    wrapper = sheet.create("supplied", [provenance], reason=reason)
    if record.certainty is not None:
        wrapper.set("cert", record.certainty.value)
    if record.evidence.witnesses:
        sources = (sheet.names.witness(siglum) for siglum in record.evidence.witnesses)
        wrapper.set("source", " ".join(f"#{one}" for one in sources))
    return wrapper
