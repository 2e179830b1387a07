"""Where strokes of the bow begin in quartets and a trio sonata, against music21's slurs and ties.

K. W. Gehrkens, *Essentials in Conducting* (1919): a slur is one bow, no slur a stroke for each
tone; tied notes are one stroke (common practice, no source). music21 reads the MusicXML by itself;
which notes that makes begin a stroke is worked out here from its slurs and ties alone.
"""

from __future__ import annotations

import warnings
from fractions import Fraction
from pathlib import Path
from typing import Any

import pytest

from pipeline.problems import Origin
from pipeline.score.model import Passage
from pipeline.score.read import read_passage
from pipeline.strings.bow import bow_line
from tests.corpus import corpus_file

Begins = list[tuple[int, Fraction]]
"""Bars (from 0) and quarter notes in them."""

WORKS = ["haydn/opus1no1/movement2.mxl", "corelli/opus3no1/1grave.xml"]


@pytest.mark.parametrize("work", WORKS)
def test_strokes_begin_where_slurs_and_ties_let_them(work: str) -> None:
    file = corpus_file(work)
    passage = read_passage(file.parent, file.name, Origin("edition.yaml")).value
    assert passage is not None
    parts = _parts(file)
    assert len(parts) == len(passage.staves)
    for part, staff in zip(parts, passage.staves, strict=True):
        assert _ours(passage, staff.n) == _by_music21(part), staff.label


def _ours(passage: Passage, staff: int) -> Begins:
    firsts = [stroke.sounds[0].main for stroke in bow_line(passage, staff).strokes]
    return [(note.bar, note.onset) for note in firsts]


def _parts(file: Path) -> list[Any]:
    with warnings.catch_warnings():
        # music21 tells what it repairs in these files; here its reading is the reference as it is.
        warnings.simplefilter("ignore")
        from music21 import converter

        return list(converter.parse(file, forceSource=True).parts)


def _by_music21(part: Any) -> Begins:
    measures = list(part.getElementsByClass("Measure"))
    notes = [
        (bar, note)
        for bar, measure in enumerate(measures)
        for note in measure.recurse().notes
        if not note.duration.isGrace
    ]
    place = {id(note): index for index, (_, note) in enumerate(notes)}
    going_on: set[int] = set()
    begun: set[int] = set()
    for slur in part.recurse().getElementsByClass("Slur"):
        first, last = place.get(id(slur.getFirst())), place.get(id(slur.getLast()))
        if first is not None and last is not None and first < last:
            begun.add(first)
            going_on.update(range(first + 1, last + 1))
    return [
        (bar, Fraction(note.getOffsetInHierarchy(measures[bar])).limit_denominator(3840))
        for index, (bar, note) in enumerate(notes)
        if (index in begun or index not in going_on) and not _tied_on(note)
    ]


def _tied_on(note: Any) -> bool:
    heads = getattr(note, "notes", (note,))
    return any(head.tie is not None and head.tie.type in {"stop", "continue"} for head in heads)
