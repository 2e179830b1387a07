"""When a hairpin is over, however its file gives the end.

MEI may name the last note under it (`endid`) or a time (`tstamp2`); programs that write
MusicXML stop a wedge after its last note. In comes a sign at moments of the text;
out goes the same with the moment at which it is over, by which either way can be compared.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from fractions import Fraction

from pipeline.collation.markings import Placed
from pipeline.score.model import MarkingKind, Moment, Passage


def with_end_of_note(
    placed: Placed, passage: Passage, in_text: Callable[[Moment], Moment], text: Passage
) -> Placed:
    """Return a hairpin with the moment at which it is over, any other sign as it is.

    A slur ends at a note, not at a time; an octave sign that ends at a time holds for the note
    there. `passage` holds the notes that the sign names, `in_text` gives their moments in the text.
    """
    marking = placed.marking
    if marking.end is None or marking.kind is not MarkingKind.HAIRPIN:
        return placed
    last = passage.by_id.get(marking.end_id)
    if last is None:
        return replace(placed, over=_counted_on(placed.end, text))
    return replace(placed, over=_counted_on(in_text(last.end), text))


def _counted_on(at: Moment, text: Passage) -> Moment:
    """Return the end of a bar as the beginning of the next one."""
    full = at.bar < len(text.bars) and at.offset >= text.bars[at.bar].filled
    return Moment(at.bar + 1, Fraction(0)) if full else at
