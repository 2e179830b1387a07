"""A hand can play what was written for it: the four parts of a quartet, each on its instrument.

Source: the corpus inside the music21 package (haydn/opus1no1/movement2). The corpus carries no
fingerings for bowed strings (its only ones are for piano), so what is tested is that a fingering is
found for real parts, that the analysis agrees with the search, and that moving the whole part a
fifth up on a violin tuned a fifth higher changes nothing for the hand.
"""

from __future__ import annotations

from dataclasses import replace

import pytest

from pipeline.problems import Origin
from pipeline.score.model import Event, Passage, Pitch
from pipeline.score.read import read_passage
from pipeline.strings.fingering_ranking import Wishes, cost_of, suggest
from pipeline.strings.frames import Hand
from pipeline.strings.instruments import INSTRUMENTS
from tests.corpus import corpus_file

WORK = "haydn/opus1no1/movement2.mxl"
PARTS = ((0, "violin"), (1, "violin"), (2, "viola"), (3, "cello"))


@pytest.fixture(scope="module")
def quartet() -> Passage:
    file = corpus_file(WORK)
    passage = read_passage(file.parent, file.name, Origin(file.name)).value
    assert passage is not None
    return passage


def notes_of(quartet: Passage, part: int) -> list[Event]:
    staff = quartet.staves[part].n
    return [event for event in quartet.events if event.staff == staff and event.heads]


@pytest.mark.parametrize(("part", "name"), PARTS)
def test_every_part_can_be_fingered(quartet: Passage, part: int, name: str) -> None:
    hand = Hand(INSTRUMENTS[name])
    notes = notes_of(quartet, part)
    assert len(notes) > 50
    found = suggest(notes, quartet.markings, hand, Wishes(), 1)
    assert found.without_any == ()
    (best,) = found.best
    assert best.hand.faults == ()
    assert cost_of(best.hand, hand, Wishes().weights) == pytest.approx(best.cost)
    assert best.hand.facts.moves < len(notes) / 4  # a minuet, written for the first positions


def test_a_fifth_higher_on_strings_a_fifth_higher(quartet: Passage) -> None:
    hand = Hand(INSTRUMENTS["violin"])
    raised = INSTRUMENTS["violin"].model_copy(
        update={"strings": tuple(map(_a_fifth_higher, INSTRUMENTS["violin"].strings))}
    )
    notes = notes_of(quartet, 0)
    (here,) = suggest(notes, (), hand, Wishes(), 1).best
    (there,) = suggest(list(map(_raised, notes)), (), Hand(raised), Wishes(), 1).best
    assert there.cost == here.cost
    assert there.hand.facts == here.hand.facts


def _a_fifth_higher(pitch: Pitch) -> Pitch:
    return replace(pitch, alter=pitch.alter + 7)


def _raised(event: Event) -> Event:
    heads = tuple(replace(head, pitch=_a_fifth_higher(head.pitch)) for head in event.heads)
    return replace(event, heads=heads)
