"""`make bench`: the cost of the build beside its floor, and how it grows with the records.

Everything is measured in processes of its own, one after the other, on an otherwise idle machine.
"""

from __future__ import annotations

import sys
import tempfile
from pathlib import Path

from tests.benchmarks.agreement import agreeing_cost
from tests.benchmarks.bow import bow
from tests.benchmarks.collation import collation
from tests.benchmarks.corpus import corpus
from tests.benchmarks.harmonics import harmonics
from tests.benchmarks.left_hand import hand
from tests.benchmarks.measure import Cost, cost_of
from tests.benchmarks.part import part
from tests.corpus import corpus_file
from tests.generated_edition import write_generated_edition

EDITION = Path("example_edition")
OF_THE_COMMENTARY = ("commentary", "edition", "decisions", "problems")
"""What the floor is held against; the part and the reading copy have tables of their own."""
GROWTH = (100, 400, 1600)
GROWTH_SCORE = "beethoven/opus59no2/movement1.mxl"


def main() -> None:
    """Print the tables; `python -m tests.benchmarks example` prints one of them."""
    wanted = sys.argv[1:] or [
        "example",
        "growth",
        "corpus",
        "bow",
        "harmonics",
        "hand",
        "agreement",
        "collation",
        "part",
    ]
    with tempfile.TemporaryDirectory() as folder:
        if "example" in wanted:
            example(Path(folder))
        if "growth" in wanted:
            growth(Path(folder))
    if "corpus" in wanted:
        corpus()
    if "bow" in wanted:
        bow()
    if "harmonics" in wanted:
        harmonics()
    if "hand" in wanted:
        hand()
    if "collation" in wanted:
        collation()
    if "part" in wanted:
        part(EDITION)
    if "agreement" in wanted:
        agreeing_cost(EDITION)


def example(folder: Path) -> None:
    """Print the cost of the example beside Verovio and WeasyPrint alone."""
    kept = folder / "kept"
    cost_of("-m", "tests.benchmarks.floor", "record", EDITION, kept)
    floor = cost_of("-m", "tests.benchmarks.floor", "run", kept, runs=3)
    products = [word for name in OF_THE_COMMENTARY for word in ("--only", name)]
    command = ("-m", "pipeline", "build", EDITION, "--out", folder / "build", *products)
    build = cost_of(*command, runs=3)
    check = cost_of("-m", "pipeline", "check", EDITION, runs=3)
    usage = cost_of("-m", "pipeline", "--help", runs=3)
    print("The example edition (quickest of three runs)")
    _row("Verovio and WeasyPrint alone", floor)
    wall, processor = (
        build.seconds / floor.seconds,
        build.processor_seconds / floor.processor_seconds,
    )
    _row("apparatus build", build, f"{wall:.2f} times the floor ({processor:.2f} in CPU time)")
    _row("apparatus check", check)
    _row("apparatus --help", usage)


def growth(folder: Path) -> None:
    """Print what check and build cost for generated records over one large score."""
    print(f"Generated records over {GROWTH_SCORE} (music21's corpus)")
    for records in GROWTH:
        edition = folder / f"records-{records}"
        written = write_generated_edition(edition, corpus_file(GROWTH_SCORE), records)
        check = cost_of("-m", "pipeline", "check", edition)
        build = cost_of("-m", "pipeline", "build", edition)
        _row(
            f"{written} records, check", check, f"{1000 * check.seconds / written:.1f} ms a record"
        )
        _row(
            f"{written} records, build", build, f"{1000 * build.seconds / written:.1f} ms a record"
        )


def _row(what: str, cost: Cost, remark: str = "") -> None:
    print(f"  {what:<32}{cost}  {remark}", flush=True)


if __name__ == "__main__":
    main()
