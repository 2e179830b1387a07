"""Lays a witness's encoding beside the text: staves by name and order, bars by content.

In come two passages; out goes which staff and which bar of the one answers which of the other, at
the text's pitch, or why they cannot be compared. First what is written higher or lower throughout
is found and undone, then the bars are aligned, then it is judged whether this is the work at all.

Measured over music21's corpus, as the share of notes that stand where the text has them once the
bars are aligned (of whichever side has fewer). 318 pairs of different Bach chorales in one key and
meter: half of them below 0.15, all below 0.35, but for six that set one and the same tune (0.44 to
0.54). Different movements of quartets: below 0.15. The same movement with half of all its notes
changed at random: 0.55 to 0.60; with seven in ten changed, 0.39 to 0.44. Runs of four notes that
both have, before anything is aligned: different movements of quartets have 0 to 2 in 100,
different chorales of one key 3 (half of them) to 13, three quartet movements in a row beside nine
of another 6; half of the notes changed leaves 11 to 13.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping
from dataclasses import replace

from pipeline.collation.beside import BarPair, Beside, Besides, Obstacle, Shift
from pipeline.collation.encoded_part import encoded_part
from pipeline.collation.fingerprints import Fingerprints, Tokens
from pipeline.collation.likeness import likeness
from pipeline.collation.shifts import AS_WRITTEN, Standing, standing
from pipeline.collation.versions import staff_answering
from pipeline.score.model import Passage, Score
from pipeline.score.transposing import Move, transposed

SAME_WORK = 0.4
"""The least share of notes that agree in two versions of one work; see above."""

_FEW_RUNS = 0.1
"""Share of runs of four notes below which two long movements are not even aligned: to align what
is unlike takes time by the square of the bars."""

_MANY_PAIRS = 200 * 200
"""Pairs of bars up to which anything is aligned."""

_FEWEST_BARS = 8
"""Bars with notes below which an encoding is never taken for one of another work: a witness may
have a few bars of its own."""

_KNOWN = 0.5
"""Share of a staff's bars that are the same: it then stands at the text's pitch for certain."""


def lay_all_beside(score: Score, encodings: Mapping[tuple[str, int], Passage]) -> Besides:
    """Return every encoding of a movement that the score has, beside the text of that movement."""
    texts = {movement.n: movement.passage for movement in score.movements}
    fingerprints = {n: Fingerprints() for n in texts}
    return {
        (siglum, n): lay_beside(texts[n], encoding, fingerprints[n])
        for (siglum, n), encoding in encodings.items()
        if n in texts
    }


def lay_beside(text: Passage, encoding: Passage, known: Fingerprints | None = None) -> Beside:
    """Return the encoding beside the text.

    Linear in the notes and, where the two are much alike, in the bars. `known` is what was read of
    this text before.
    """
    if _silent(encoding) and not _silent(text):
        return Beside(encoding, {}, (), likeness=0.0, obstacle=Obstacle.EMPTY)
    found = {staff.n: staff_answering(text, staff.n, encoding) for staff in text.staves}
    staves = {n: other for n, other in found.items() if isinstance(other, int)}
    missing = tuple(n for n in found if n not in staves)
    further = tuple(s.n for s in encoding.staves if s.n not in staves.values())
    if not staves:
        return Beside(
            encoding, {}, (), {}, missing, further, likeness=0.0, obstacle=Obstacle.NO_STAFF
        )
    fingerprints = Fingerprints() if known is None else known
    standings = _standings(text, encoding, staves, fingerprints)
    shifts = {n: found.shift for n, found in standings.items() if found.shift != AS_WRITTEN}
    passage = _at_the_texts_pitch(encoding, staves, shifts)
    unlike = Beside(encoding, staves, (), {}, missing, further, obstacle=Obstacle.ANOTHER_WORK)
    if len(standings) == len(staves) and _plainly_unlike(text, encoding, standings):
        count = min(len(text.bars), len(passage.bars))
        in_order = [BarPair(index, index) for index in range(count)]
        like = likeness(text, passage, staves, in_order)
        return replace(unlike, likeness=like.of_text)
    ours = fingerprints.of(text, list(staves))
    theirs = fingerprints.of(passage, list(staves.values()))
    pairs = encoded_part(ours, theirs)
    like = likeness(text, passage, staves, pairs)
    if like.bars >= _FEWEST_BARS and like.of_the_smaller < SAME_WORK:
        return replace(unlike, likeness=like.of_text)
    return Beside(passage, staves, pairs, shifts, missing, further, like.of_text)


def _silent(passage: Passage) -> bool:
    return not any(event.heads for event in passage.events)


def _standings(
    text: Passage, encoding: Passage, staves: Mapping[int, int], known: Fingerprints
) -> dict[int, Standing]:
    """Return how each staff stands whose bars are not plainly those of the text."""
    return {
        staff: standing(text, staff, encoding, other)
        for order, (staff, other) in enumerate(staves.items())
        if not _bars_known(
            known.of_staff(text, staff, order), known.of_staff(encoding, other, order)
        )
    }


def _bars_known(text: Tokens, encoding: Tokens) -> bool:
    ours, theirs = Counter(filter(None, text)), Counter(filter(None, encoding))
    fewer = min(ours.total(), theirs.total())
    return fewer > 0 and (ours & theirs).total() >= _KNOWN * fewer


def _at_the_texts_pitch(
    encoding: Passage, staves: Mapping[int, int], shifts: Mapping[int, Shift]
) -> Passage:
    if not shifts:
        return encoding
    moves = {staves[n]: Move(-by.steps, -by.semitones) for n, by in shifts.items()}
    return transposed(encoding, moves)


def _plainly_unlike(text: Passage, encoding: Passage, standings: Mapping[int, Standing]) -> bool:
    if len(text.bars) * len(encoding.bars) <= _MANY_PAIRS:
        return False
    found = sum(standing.found for standing in standings.values())
    return found < _FEW_RUNS * sum(standing.of for standing in standings.values())
