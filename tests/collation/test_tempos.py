"""A tempo holds for all staves: where a file has it, and how often, is no difference."""

from __future__ import annotations

from dataclasses import replace

import pytest

from pipeline.collation.collate import collate
from pipeline.collation.laying import lay_beside
from pipeline.score.model import MarkingKind, Passage
from tests.collation.letters import music, sign, told
from tests.collation.small_edition import COMMON, HEAD, small_edition

TWO = ("Violin", "Viola")


def duet(**tempos: str) -> Passage:
    """Return two bars of violin (`v`) and viola (`b`), each with its tempo above the first bar."""
    violin = music("4:C5 4:D5 2:E5 | 1:F5", labels=TWO)
    viola = music("2:C4 2:B3 | 1:A3", labels=TWO, staff=2)
    signs = tuple(
        sign(MarkingKind.TEMPO, "0:0", content=words, staff={"v": 1, "b": 2}[staff])
        for staff, words in tempos.items()
    )
    return replace(violin, events=(*violin.events, *viola.events), markings=signs)


TEMPOS = [
    # text, witness, what is told
    (duet(v="Allegro"), duet(v="Allegro", b="Allegro"), []),
    (duet(v="Allegro", b="Allegro"), duet(v="Allegro"), []),
    (duet(v="Allegro"), duet(b="Allegro"), []),
    (duet(v="Allegro", b="Allegro"), duet(), ["tempo missing 0:0-0:0 Allegro@0:0 | ."]),
    (duet(), duet(v="Allegro", b="Allegro"), ["tempo added 0:0-0:0 . | Allegro@0:0"]),
    (duet(v="Allegro"), duet(v="Presto", b="Presto"),
     ["tempo 0:0-0:0 Allegro@0:0 | Presto@0:0"]),
    (duet(v="Allegro", b="Allegro"), duet(v="Presto", b="Vivace"),
     ["tempo 0:0-0:0 Allegro@0:0 | Presto@0:0", "tempo 0:0-0:0 Allegro@0:0 | Vivace@0:0"]),
]  # fmt: skip


@pytest.mark.parametrize(("text", "witness", "expected"), TEMPOS)
def test_a_tempo_is_told_once(text: Passage, witness: Passage, expected: list[str]) -> None:
    found = collate(text, lay_beside(text, witness), "E", 1)
    assert [told(one) for one in found.differences] == expected


def test_a_part_has_the_tempo_that_stands_above_the_score() -> None:
    part = music("2:C4 2:B3 | 1:A3", sign(MarkingKind.TEMPO, "0:0", content="Allegro"),
                 labels=("Viola",))  # fmt: skip
    text = duet(v="Allegro")
    assert collate(text, lay_beside(text, part), "S", 1).differences == ()


@pytest.mark.parametrize("staff", [1, 2])
def test_a_record_on_any_staff_speaks_of_it(staff: int) -> None:
    record = (
        f"- id: r1\n  kind: reading\n  place: {{movement: 1, staff: {staff}, bar: 1}}\n"
        f"  {COMMON.replace(', ', chr(10) + '  ')}\n  lemma: A\n  readings: [{{witnesses: E}}]\n"
        "  reason: r\n"
    )
    both = duet(v="Allegro", b="Allegro")
    material, problems = small_edition(record, {"A": both, "E": duet()}, text=both, head=HEAD)
    assert problems == ()
    assert [one.answers for one in material.departures] == [("r1",)]
