"""Where a number should stand and a word does, Verovio is spared it: it would end the process."""

from __future__ import annotations

import pytest

from pipeline.engrave.number_attributes import without_broken_numbers
from pipeline.engrave.verovio import EngravingFault, Layout, engrave
from tests.score.drawn import mei


@pytest.mark.parametrize(
    "broken",
    ['mm="fast"', 'tstamp="one"', 'tstamp2="1m+"', 'dots="x"', 'oct.ges=""', 'mm="1e999"',
     'num="99999999999"', 'vgrp="below"'],
)  # fmt: skip
def test_what_is_no_number_is_taken_out(broken: str) -> None:
    assert without_broken_numbers(f'<tempo {broken} staff="1"/>') == (
        '<tempo staff="1"/>',
        (broken,),
    )


@pytest.mark.parametrize(
    "sound",
    ['mm="60"', 'mm="60.5"', 'tstamp="2.25"', 'tstamp=".5"', 'tstamp2="0m+3.5"', 'tstamp2="2"',
     'tstamp2="1m + 2"', 'trans.semi="-3"', 'label="fast" n="1a" place="above"'],
)  # fmt: skip
def test_what_is_a_number_or_need_not_be_one_stays(sound: str) -> None:
    assert without_broken_numbers(f"<tempo {sound}/>") == (f"<tempo {sound}/>", ())


def test_the_engraving_goes_on_and_tells_it() -> None:
    tempo = '<tempo xml:id="t" tstamp="1" mm="fast" mm.unit="4">Presto</tempo>'
    made = engrave(mei("c5/1", extra={0: tempo}).decode(), Layout(2000), {"t"})
    assert len(made.systems) == 1
    assert made.faults == (
        EngravingFault("complaint", 'mm="fast" is no number and is passed over'),
    )
