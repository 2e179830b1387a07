"""Two witnesses made of a work of music21's corpus, and what of them does not come back.

One is the whole score with notes, signs and bars changed by chance and its bars counted from
another number; one is a single part of some bars only, changed likewise.
"""

from __future__ import annotations

import random
from dataclasses import dataclass
from pathlib import Path

from lxml import etree

from pipeline.score.mei_names import tag
from tests import corpus
from tests.layers import changed
from tests.layers.small_edition import small
from tests.layers.witness_law import faults_of_extraction

CHANGES = 30


@dataclass(frozen=True)
class Carried:
    """The layered file, how much the witnesses have otherwise, and what does not come back."""

    layered: bytes
    differences: int
    faults: tuple[str, ...]


def witnesses_of(work: str, folder: Path, seed: int) -> Carried:
    """Make the witnesses and lay them beside the work, without any record; the same every time."""
    chance = random.Random(seed)
    folder.mkdir(exist_ok=True)
    passage = corpus.work(work)
    full = changed.changed(passage.mei, chance, changed.ALL, CHANGES)
    some = changed.changed(passage.mei, chance, changed.ALL, CHANGES)
    bars = sum(1 for _ in etree.fromstring(some).iter(tag("measure")))
    first = chance.randrange(bars // 2)
    some = changed.excerpt(some, first, first + bars // 2)
    labels = [staff.label for staff in passage.staves]
    parts = [staff.n for staff in passage.staves if labels.count(staff.label) == 1]
    if parts:  # a single staff of a piano does not say which of the two it is
        some = changed.part(some, chance.choice(parts))
    if chance.random() < 0.5:
        some = changed.octave_higher(some)
    witnesses = {"F": changed.counted_from(full, 2), "P": some}
    edition = small(folder, passage.mei, [], witnesses, strict=False)
    found = faults_of_extraction(edition.layered, edition.collations, edition.encodings, folder)
    collations = edition.collations.values()
    return Carried(
        edition.layered,
        sum(len(one.differences) + len(one.bars) for one in collations),
        (*found, *(str(one.beside.obstacle) for one in collations if one.beside.obstacle)),
    )
