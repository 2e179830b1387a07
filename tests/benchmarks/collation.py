"""What collating finds and what it costs: planted changes told right, time and memory by notes.

The first table plants more changes than the tests do and says of each sort how many were told
exactly, and of each kind of difference how many that were told had been planted. The second lays
ever longer scores of four staves (movements of quartets one after the other, no bar copied) beside
a witness in which every fourth bar is changed; reading both files is what it is held against.
"""

from __future__ import annotations

import gc
import random
import subprocess
import sys
import tempfile
import tracemalloc
from collections import Counter
from copy import deepcopy
from itertools import count
from pathlib import Path

from lxml import etree

from pipeline.collation.collate import collate
from pipeline.collation.laying import lay_beside
from pipeline.score.model import Passage
from tests.benchmarks.bow import read, timed
from tests.corpus import work
from tests.planting.ground import MEI, XML_ID, Element, Ground, named_by, told_by
from tests.planting.planting import OPERATIONS, planted, planted_near
from tests.planting.works import DENSE, LIGHT, LONG

PLANTS = 5000
NEAR_SEEDS = 3
NOTES = (1_000, 10_000, 40_000)
QUARTETS = (
    *(f"haydn/opus74no1/movement{n}.mxl" for n in (1, 2, 3, 4)),
    *(f"mozart/k458/movement{n}.mxl" for n in (1, 2, 3, 4)),
    *(f"beethoven/opus18no1/movement{n}.mxl" for n in (1, 2, 3, 4)),
    "beethoven/opus59no2/movement1.mxl",
    "schumann_robert/opus41no1/movement1.mxl",
    *(f"mozart/k155/movement{n}.mxl" for n in (1, 2, 3)),
    *(f"mozart/k156/movement{n}.mxl" for n in (1, 2, 3, 4)),
)


def collation() -> None:
    """Print both tables."""
    gc.set_threshold(50_000, 20, 100)  # as the command line does
    planted_changes()
    near_each_other()
    with tempfile.TemporaryDirectory() as folder:
        costs(Path(folder))


def planted_changes() -> None:
    """Print how many planted changes of each sort are told, and what else is."""
    planted_by, found_by = Counter[str](), Counter[str]()
    told, right, wanted = Counter[str](), Counter[str](), Counter[str]()
    for seed in count():
        if planted_by.total() >= PLANTS:
            break
        for name in (*LIGHT, *DENSE, *LONG):
            field = planted(work(name), random.Random(seed), planted_by)
            found = Counter(told_by(field.ground.collated(), field.ground.base))
            expected = Counter(field.expected)
            found_by.update(n for n, p in field.plants if not Counter(p.told) - found)
            told.update(one.kind for one in found.elements())
            wanted.update(one.kind for one in expected.elements())
            right.update(one.kind for one in (found & expected).elements())
    print(f"{planted_by.total()} changes planted in {len(LIGHT + DENSE + LONG)} works")
    for name in OPERATIONS:
        print(f"  {name:<36}{planted_by[name]:6} planted{found_by[name]:6} told exactly")
    recall = found_by.total() / planted_by.total()
    print(f"  recall {recall:.4f}, precision {right.total() / told.total():.4f}; both by kind:")
    for kind in sorted(wanted | told):
        recall, precision = right[kind] / (wanted[kind] or 1), right[kind] / (told[kind] or 1)
        print(
            f"  {kind:<36}{wanted[kind]:6} planted{told[kind]:6} told {recall:8.4f}{precision:8.4f}"
        )


def near_each_other() -> None:
    """Print how much of what was changed is named where several changes stand in one bar."""
    touched = named = both = changes = 0
    for name in (*LIGHT, *DENSE):
        for together in (2, 3):
            for seed in range(NEAR_SEEDS):
                field = planted_near(work(name), random.Random(seed), together)
                found = named_by(field.ground.collated())
                changes += len(field.plants)
                touched += len(field.touched)
                named += len(found)
                both += len(found & field.touched)
    print(f"{changes} changes, two or three in a bar: recall {both / touched:.4f}, "
          f"precision {both / named:.4f} of notes and signs")  # fmt: skip


def costs(folder: Path) -> None:
    """Print time and memory for ever longer scores."""
    print("A score of four staves beside a witness with a change in every fourth bar")
    for notes in NOTES:
        bars, changes = _written(folder, notes)
        text, first = timed(lambda: read(folder / "text.mei"))
        witness, second = timed(lambda: read(folder / "witness.mei"))
        beside, laying = timed(lambda: lay_beside(text, witness))  # noqa: B023
        found, comparing = timed(lambda: collate(text, beside, "W", 1))  # noqa: B023
        reading = first + second
        before, only_read, whole = (_peak(what, folder) for what in ("nothing", "read", "collate"))
        print(
            f"  {_notes(text):6} notes {bars:5} bars {changes:4} changes"
            f"{reading:7.2f} s to read both{laying:7.2f} s laid beside{comparing:7.2f} s compared "
            f"({(laying + comparing) / reading:.2f} times reading), {len(found.differences)} told; "
            f"memory {before:.0f} MB before, {only_read:.0f} MB read, {whole:.0f} MB collated, "
            f"of which {_megabytes_held(folder):.1f} MB for the collation"
        )


def _peak(what: str, folder: Path) -> float:
    """Return the peak megabytes of a process of its own that does that.

    The process says so itself: what its parent had in memory is counted among a child's otherwise.
    """
    command = [sys.executable, "-m", "tests.benchmarks.collation", what, str(folder)]
    return float(subprocess.run(command, capture_output=True, check=True, text=True).stdout)


def _megabytes_held(folder: Path) -> float:
    """Return the most that laying beside and comparing hold at once, beside the two passages."""
    text, witness = (read(folder / name) for name in ("text.mei", "witness.mei"))
    tracemalloc.start()
    collate(text, lay_beside(text, witness), "W", 1)
    _, peak = tracemalloc.get_traced_memory()
    tracemalloc.stop()
    return peak / 1e6


def _written(folder: Path, notes: int) -> tuple[int, int]:
    """Write a text of so many notes and a witness; return its bars and changes."""
    (folder / "whole.mei").write_bytes(_concatenated(notes))
    field = planted(read(folder / "whole.mei"), random.Random(1), Counter())
    for name, tree in (("text", field.ground.text), ("witness", field.ground.witness)):
        (folder / f"{name}.mei").write_bytes(etree.tostring(tree.root))
    return len(field.ground.base.bars), len(field.plants)


def _concatenated(notes: int) -> bytes:
    """Return bars of one movement after the other until there are so many notes."""
    root, total = Ground(work(QUARTETS[0])).text.root, 0
    last: Element | None = None
    for turn, name in enumerate(QUARTETS):
        source = root if turn == 0 else Ground(work(name)).text.root
        for measure in list(source.iter(f"{MEI}measure")):
            enough = total >= notes
            if enough and turn == 0:
                measure.getparent().remove(measure)  # type: ignore[union-attr]
            if enough:
                continue
            total += sum(1 for _ in measure.iter(f"{MEI}note"))
            if last is not None and turn:
                measure = _prefixed(deepcopy(measure), f"w{turn}-")
                last.addnext(measure)
            last = measure
    return etree.tostring(root)


def _prefixed(measure: Element, prefix: str) -> Element:
    for one in measure.iter("*"):
        for name in (XML_ID, "startid", "endid"):
            if one.get(name):
                one.set(name, one.get(name, "").replace("#", f"#{prefix}") if name != XML_ID
                        else prefix + one.get(name, ""))  # fmt: skip
        one.attrib.pop("plist", None)
    return measure


def _notes(passage: Passage) -> int:
    return sum(len(event.heads) for event in passage.events)


def _peak_here() -> float:
    """Return the peak resident megabytes of this process (Linux, proc(5), VmHWM)."""
    status = Path("/proc/self/status").read_text(encoding="ascii")
    (line,) = (line for line in status.splitlines() if line.startswith("VmHWM"))
    return int(line.split()[1]) / 1024


if __name__ == "__main__":
    gc.set_threshold(50_000, 20, 100)
    if sys.argv[1] != "nothing":
        of_text, of_witness = (read(Path(sys.argv[2]) / f"{n}.mei") for n in ("text", "witness"))
        if sys.argv[1] == "collate":
            collate(of_text, lay_beside(of_text, of_witness), "W", 1)
    print(_peak_here())
