"""Lays a witness's encoding beside the text: staves by name and order, bars by content.

In come two passages; out goes which staff and which bar of the one answers which of the other.
"""

from __future__ import annotations

from collections.abc import Mapping

from pipeline.collation.beside import BarPair, Beside, Besides, Obstacle
from pipeline.collation.fingerprints import Fingerprints
from pipeline.collation.movement_alignment import align
from pipeline.collation.versions import staff_answering
from pipeline.score.model import Passage, Score


def lay_all_beside(score: Score, encodings: Mapping[tuple[str, int], Passage]) -> Besides:
    """Return every encoding of a movement that the score has, beside the text of that movement."""
    texts = {movement.n: movement.passage for movement in score.movements}
    return {
        (siglum, n): lay_beside(texts[n], encoding)
        for (siglum, n), encoding in encodings.items()
        if n in texts
    }


def lay_beside(text: Passage, encoding: Passage) -> Beside:
    """Return the encoding beside the text. Linear in the bars where the two are much alike."""
    if not any(event.heads for event in encoding.events):
        return Beside(encoding, {}, (), likeness=0.0, obstacle=Obstacle.EMPTY)
    found = {staff.n: staff_answering(text, staff.n, encoding) for staff in text.staves}
    staves = {n: other for n, other in found.items() if isinstance(other, int)}
    if not staves:
        return Beside(encoding, {}, (), likeness=0.0, obstacle=Obstacle.NO_STAFF)
    fingerprints = Fingerprints()
    aligned = align(
        fingerprints.of(text, list(staves)), fingerprints.of(encoding, list(staves.values()))
    )
    return Beside(encoding, staves, _encoded(aligned.pairs))


def _encoded(pairs: tuple[BarPair, ...]) -> tuple[BarPair, ...]:
    """Leave out the text's bars before the first and after the last that the encoding holds."""
    held = [index for index, pair in enumerate(pairs) if pair.reading is not None]
    return pairs[held[0] : held[-1] + 1] if held else ()
