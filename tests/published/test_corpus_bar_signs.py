"""Meters, repeat signs and endings of real works, against what their files say bar by bar.

Outside reference: works of music21's corpus (see tests/corpus.py) as MusicXML 4.0 has them: `time`,
`barline/repeat`, `barline/ending`, read here without this project.
"""

from __future__ import annotations

from zipfile import ZipFile

import pytest
from lxml import etree

from pipeline.problems import Origin
from pipeline.score.read import read_passage
from tests.corpus import corpus_file

WORKS = {
    "joplin/maple_leaf_rag.mxl": (8, 7),
    "haydn/opus1no1/movement2.mxl": (5, 0),
    "haydn/opus74no1/movement1.mxl": (4, 0),
    "haydn/opus74no1/movement2.mxl": (3, 0),
    "mozart/k458/movement2.mxl": (5, 2),
    "trecento/PMFC_13_01-Kyrie-Summe-Clementissime.mxl": (5, 0),
    "verdi/laDonnaEMobile.mxl": (1, 0),
}
"""How many repeat signs and endings the file of each has, counted in its first part."""

Signs = tuple[str, bool, bool, bool]
"""Meter, repeat sign at the beginning and at the end, and whether an ending begins."""


def written(name: str) -> list[Signs]:
    """Return what the first part of the file has in each bar."""
    with ZipFile(corpus_file(name)) as packed:
        (inside,) = (n for n in packed.namelist() if n.endswith("xml") and "META-INF" not in n)
        part = etree.fromstring(packed.read(inside)).find("part")
    assert part is not None
    found, meter = [], ""
    for measure in part.iterfind("measure"):
        time = measure.find("attributes/time")
        if time is not None and time.get("print-object") != "no":
            meter = f"{time.findtext('beats')}/{time.findtext('beat-type')}"
        ways = {repeat.get("direction") for repeat in measure.iterfind("barline/repeat")}
        begins = any(one.get("type") == "start" for one in measure.iterfind("barline/ending"))
        found.append((meter, "forward" in ways, "backward" in ways, begins))
    return found


@pytest.mark.parametrize("name", WORKS)
def test_every_sign_of_a_bar_is_read(name: str) -> None:
    file = corpus_file(name)
    passage = read_passage(file.parent, file.name, Origin(name)).value
    assert passage is not None
    before = ["", *(bar.ending for bar in passage.bars)]
    read = [
        (bar.meter, bar.repeat_start, bar.repeat_end, bar.ending not in {"", earlier})
        for bar, earlier in zip(passage.bars, before, strict=False)
    ]
    expected = written(name)
    assert read == expected
    repeats = sum(start + end for _, start, end, _ in expected)
    assert (repeats, sum(begins for *_, begins in expected)) == WORKS[name]
