"""What a version's differences are called, so that a test shows the remark as it is printed."""

from __future__ import annotations

from pipeline.collation.differences import differences
from pipeline.collation.model import Comparison
from pipeline.score.model import Moment, Passage
from pipeline.typeset.phrases import phrases
from pipeline.typeset.wording import wording_of
from tests.collation.letters import encoded, whole, within


def said(
    text: Passage,
    reading: Passage,
    language: str = "en",
    place: tuple[Moment, Moment] | None = None,
) -> str:
    """Return the phrases for what `reading` has otherwise, set apart by semicolons."""
    span = within(text, *place) if place else whole(text)
    versioned = encoded(text, reading)
    comparison = Comparison(versioned, 0, differences(text, span, versioned))
    told = phrases(comparison, text, span, wording_of(language))
    return "; ".join(phrase.striptags() for phrase in told).replace("\u00a0", " ")
