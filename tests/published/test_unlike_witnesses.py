"""Witnesses that are not what they are said to be: told once, with a figure, and no flood.

Outside reference: works of music21's corpus (see tests/corpus.py), distorted in their MEI, and
other works and movements in the place of the right one.
"""

from __future__ import annotations

import pytest

from pipeline.collation.beside import Obstacle, Shift
from pipeline.collation.collate import collate
from pipeline.collation.collated import BarChange, Collation
from pipeline.collation.laying import lay_beside
from pipeline.collation.model import Change, DifferenceKind
from tests.corpus import work
from tests.planting import unlike
from tests.planting.ground import XML_ID, Ground, named_by

QUARTETS = ("haydn/opus1no1/movement2.mxl", "mozart/k458/movement2.mxl")


def distorted(name: str, distort: unlike.Distortion) -> tuple[Ground, Collation]:
    ground = Ground(work(name))
    distort(ground.witness.root, ground.base)
    return ground, ground.collated()


OTHERS = [
    # in the same key and meter; another movement; another work; a song for a quartet
    ("bach/bwv10.7.mxl", "bach/bwv114.7.mxl"),
    ("bach/bwv103.6.mxl", "bach/bwv108.6.mxl"),
    ("mozart/k458/movement2.mxl", "mozart/k458/movement3.mxl"),
    ("mozart/k155/movement1.mxl", "mozart/k156/movement1.mxl"),
    ("haydn/opus1no1/movement2.mxl", "haydn/opus1no1/movement4.mxl"),
    ("schubert/Lindenbaum.xml", "schumann_clara/opus17/movement3.xml"),
]


@pytest.mark.parametrize(("text", "other"), OTHERS)
def test_another_work_or_movement_is_known_as_one(text: str, other: str) -> None:
    found = collate(work(text), lay_beside(work(text), work(other)), "W", 1)
    assert found.beside.obstacle is Obstacle.ANOTHER_WORK
    assert found.beside.likeness < 0.25
    assert (found.differences, found.bars) == ((), ())


@pytest.mark.parametrize("name", QUARTETS)
def test_bars_in_reversed_order_are_another_work(name: str) -> None:
    _, found = distorted(name, unlike.bars_reversed)
    assert found.beside.obstacle is Obstacle.ANOTHER_WORK
    assert found.beside.likeness < 0.3
    assert (found.differences, found.bars) == ((), ())


@pytest.mark.parametrize("name", QUARTETS)
def test_an_encoding_without_notes(name: str) -> None:
    _, found = distorted(name, unlike.without_notes)
    assert (found.beside.obstacle, found.beside.likeness) == (Obstacle.EMPTY, 0)
    assert (found.differences, found.bars) == ((), ())


@pytest.mark.parametrize("name", QUARTETS)
def test_an_octave_higher_is_told_as_that_and_nothing_else(name: str) -> None:
    _, found = distorted(name, unlike.octave_higher)
    assert found.beside.shifts == {staff: Shift(7, 12) for staff in (1, 2, 3, 4)}
    assert (found.differences, found.bars) == ((), ())


@pytest.mark.parametrize("name", QUARTETS)
def test_in_another_key_only_the_printed_accidentals_differ(name: str) -> None:
    ground, found = distorted(name, unlike.fourth_higher)
    assert found.beside.shifts == {staff: Shift(3, 5) for staff in (1, 2, 3, 4)}
    assert found.beside.likeness == 1
    assert {(d.kind, d.change) for d in found.differences} == {
        (DifferenceKind.ACCIDENTAL, Change.MISSING)
    }
    printed = [e for e in ground.base.events if any(head.accidental for head in e.heads)]
    assert named_by(found) == {event.xml_id for event in printed}


@pytest.mark.parametrize("name", QUARTETS)
def test_a_missing_staff_is_told_once(name: str) -> None:
    _, found = distorted(name, unlike.without_last_staff)
    assert found.beside.missing_staves == (4,)
    assert (found.differences, found.bars) == ((), ())


@pytest.mark.parametrize("name", QUARTETS)
def test_every_second_bar_missing(name: str) -> None:
    ground, found = distorted(name, unlike.every_second_bar_missing)
    missing = {bar for one in found.bars for bar in one.text}
    inner = range(1, len(ground.base.bars) - 1, 2)
    assert missing == set(inner)
    assert {one.change for one in found.bars} == {BarChange.MISSING}
    # What is told besides are slurs and ties that reach into a missing bar, none of them a note.
    assert {d.kind for d in found.differences} <= {DifferenceKind.SLUR, DifferenceKind.TIE}
    assert all(
        d.kind is DifferenceKind.TIE or not missing.isdisjoint({d.start.bar, d.end.bar})
        for d in found.differences
    )


@pytest.mark.parametrize("name", QUARTETS)
def test_a_second_half_that_was_not_encoded_is_not_missing(name: str) -> None:
    ground, found = distorted(name, unlike.second_half_missing)
    assert (found.differences, found.bars) == ((), ())
    assert len(found.beside.pairs) == len(ground.base.bars) // 2


@pytest.mark.parametrize("name", QUARTETS)
def test_three_notes_in_ten_changed_are_told_one_by_one(name: str) -> None:
    ground, found = distorted(name, unlike.three_in_ten_notes_changed)
    assert found.beside.obstacle is None
    assert 0.6 < found.beside.likeness < 0.8
    assert found.bars == ()
    assert {d.kind for d in found.differences} == {DifferenceKind.PITCH}
    changed = {n.get(XML_ID, "") for n in ground.witness.root.iter("*") if n.get("type")}
    assert named_by(found) == {ground.base.by_id[name].xml_id for name in changed}
