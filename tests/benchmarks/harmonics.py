"""What harmonics cost: every way to sound each note of a staff, and a way through all of it.

Processor time in this process, beside the time that the same MEI takes to be parsed and read.
"""

from __future__ import annotations

import gc
import tempfile
import time
from collections.abc import Callable
from pathlib import Path
from typing import TypeVar

from pipeline.problems import Origin
from pipeline.score.model import Passage
from pipeline.score.read import read_passage
from pipeline.strings.harmonic_passage import sounding_notes
from pipeline.strings.harmonic_path import Aim, way_through
from pipeline.strings.harmonic_ways import Way, ways
from pipeline.strings.instruments import INSTRUMENTS
from tests.score.drawn import mei

T = TypeVar("T")

VIOLIN = INSTRUMENTS["violin"]
MELODY = "a5/8 d6/8 e6/8 f6/8 e6/8 d6/8 g6/8 f6/8"
NOTES_IN_A_BAR = 8
BARS = (156, 625, 2500)


def harmonics() -> None:
    """Print the cost of ever longer staves, all of whose notes are to be harmonics."""
    gc.set_threshold(50_000, 20, 100)  # as the command line does
    print("Ways to sound each note as a harmonic, and a way through (processor time)")
    with tempfile.TemporaryDirectory() as folder:
        for bars in BARS:
            file = Path(folder) / f"{bars}.mei"
            file.write_bytes(mei(*[MELODY] * bars))
            _print_row(file, bars * NOTES_IN_A_BAR)


def _print_row(file: Path, notes: int) -> None:
    passage, reading = _timed(lambda: _read(file))
    ways.cache_clear()
    offered, listing = _timed(lambda: _offered(passage))
    _, going = _timed(lambda: way_through(offered, VIOLIN, Aim.FEWEST_MOVES))
    print(
        f"  {notes:6} notes   read {reading:6.2f} s   ways {listing:6.2f} s   "
        f"a way through {going:6.2f} s   {(listing + going) / reading:5.2f} times the reading"
    )


def _read(file: Path) -> Passage:
    passage = read_passage(file.parent, file.name, Origin(file.name)).value
    assert passage is not None
    return passage


def _offered(passage: Passage) -> list[tuple[Way, ...]]:
    found = sounding_notes(passage.events, VIOLIN)
    return [() if note.pitch is None else ways(note.pitch, VIOLIN) for note in found]


def _timed(work: Callable[[], T]) -> tuple[T, float]:
    begun = time.process_time()
    done = work()
    return done, time.process_time() - begun
