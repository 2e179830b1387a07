"""What the bow costs: all strokes of a staff, and a bowing carried out in each of its bars.

Processor time in this process, beside the time that the same MEI takes to be parsed and read.
"""

from __future__ import annotations

import gc
import tempfile
import time
from collections.abc import Callable
from pathlib import Path
from typing import TypeVar

from pipeline.edition.records import BowingAlternative
from pipeline.problems import Origin
from pipeline.score.model import Passage
from pipeline.score.read import read_passage
from pipeline.strings.bow import BowLine, bow_line
from pipeline.strings.bowing import bowed
from tests.corpus import corpus_file
from tests.score.drawn import mei

T = TypeVar("T")

NOTES_IN_A_BAR = 8
BARS = (156, 625, 2500)
REAL = "beethoven/opus59no2/movement1.mxl"
PARTED = BowingAlternative.model_validate(
    {"name": "parted", "divide_after": [2], "signs": {1: "down", 3: "up"}}
)


def bow() -> None:
    """Print the cost of slurred quavers, four and four, for ever longer staves; and of a quartet's
    first violin."""
    gc.set_threshold(50_000, 20, 100)  # as the command line does
    print("Strokes of the bow, and a bowing in each bar (processor time)")
    with tempfile.TemporaryDirectory() as folder:
        for bars in BARS:
            file = Path(folder) / f"{bars}.mei"
            file.write_bytes(_quavers(bars))
            _print_row(file, f"{bars * NOTES_IN_A_BAR} notes")
    _print_row(corpus_file(REAL), REAL.rpartition("/")[0])


def _print_row(file: Path, what: str) -> None:
    passage, reading = timed(lambda: read(file))
    staff = passage.staves[0].n
    line, strokes = timed(lambda: _with_strokes(passage, staff))
    bars = [
        [e for e in passage.events_in.get((staff, bar.index), ()) if e.heads]
        for bar in passage.bars
    ]
    _, bowings = timed(lambda: [bowed(line, notes, PARTED) for notes in bars])
    count = sum(map(len, bars))
    print(
        f"  {what:<32}{1000 * reading:8.0f} ms to read{1000 * strokes:8.1f} ms strokes"
        f"{1000 * bowings:8.1f} ms bowings  {1e6 * (strokes + bowings) / count:5.1f} µs a note, "
        f"{(strokes + bowings) / reading:.2f} times reading"
    )


def _with_strokes(passage: Passage, staff: int) -> BowLine:
    line = bow_line(passage, staff)
    assert line.strokes
    return line


def read(file: Path) -> Passage:
    """Return the music of a file."""
    passage = read_passage(file.parent, file.name, Origin(file.name)).value
    assert passage is not None
    return passage


def timed(what: Callable[[], T]) -> tuple[T, float]:
    """Return what is made and the processor time it took, in seconds."""
    begun = time.process_time()
    made = what()
    return made, time.process_time() - begun


def _quavers(bars: int) -> bytes:
    names = ["c5", "d5", "e5", "f5", "g5", "f5", "e5", "d5"]
    drawn = [
        " ".join(f"n{bar}x{n}={name}/8" for n, name in enumerate(names)) for bar in range(bars)
    ]
    slurs = {
        bar: "".join(
            f'<slur startid="#n{bar}x{first}" endid="#n{bar}x{first + 3}"/>' for first in (0, 4)
        )
        for bar in range(bars)
    }
    return mei(*drawn, extra=slurs)
