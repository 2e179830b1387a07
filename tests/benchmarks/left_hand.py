"""What the left hand costs: a fingered run analysed, and the best fingerings of it searched.

Processor time in this process, beside the time that the same MEI takes to be parsed and read. The
tune wanders over three octaves, other notes in every bar, so that nothing repeats for long; its
digits are those of the best fingering, with strings named where they change, as an editor would.
"""

from __future__ import annotations

import gc
import random
import tempfile
from pathlib import Path

from pydantic import TypeAdapter

from pipeline.edition.fingers import Run
from pipeline.strings.fingering_ranking import Wishes, suggest
from pipeline.strings.frames import Hand
from pipeline.strings.instruments import INSTRUMENTS
from pipeline.strings.left_hand import left_hand
from tests.benchmarks.bow import read, timed
from tests.score.drawn import mei

NOTES_IN_A_BAR = 8
BARS = (156, 313, 625, 1250)
SUGGESTED = 5
SCALE = [f"{step}{octave}" for octave in (4, 5, 6) for step in "cdefgab"]


def hand() -> None:
    """Print the cost of analysing and of searching for ever longer runs."""
    gc.set_threshold(50_000, 20, 100)  # as the command line does
    print("The left hand in a run, and its best fingerings (processor time)")
    with tempfile.TemporaryDirectory() as folder:
        for bars in BARS:
            file = Path(folder) / f"{bars}.mei"
            file.write_bytes(_tune(bars))
            _print_row(file)


def _print_row(file: Path) -> None:
    violin = Hand(INSTRUMENTS["violin"])
    passage, reading = timed(lambda: read(file))
    notes = [event for event in passage.events if event.heads]
    best, one = timed(lambda: suggest(notes, (), violin, Wishes(), 1))
    _, several = timed(lambda: suggest(notes, (), violin, Wishes(), SUGGESTED))
    run = TypeAdapter(Run).validate_python(best.best[0].fingers)
    analysed, analysing = timed(lambda: left_hand(notes, run, passage.markings, violin))
    assert analysed.faults == ()
    print(
        f"  {len(notes):>6} notes{1000 * reading:8.0f} ms to read{1000 * analysing:8.0f} ms "
        f"analysed ({analysing / reading:.2f} times reading){1000 * one:8.0f} ms best "
        f"({1e6 * one / len(notes):.0f} µs a note){1000 * several:8.0f} ms best {SUGGESTED}"
    )


def _tune(bars: int) -> bytes:
    chance = random.Random(1)
    at = 7
    drawn = []
    for bar in range(bars):
        notes = []
        for n in range(NOTES_IN_A_BAR):
            at = max(0, min(len(SCALE) - 1, at + chance.choice((-2, -1, -1, 1, 1, 2))))
            notes.append(f"n{bar}x{n}={SCALE[at]}/8")
        drawn.append(" ".join(notes))
    return mei(*drawn)
