"""Works that music21's corpus carries: real scores that nobody wrote for this project.

Source: the corpus inside the music21 package (M. S. Cuthbert and others), read as files.
"""

from __future__ import annotations

from functools import cache
from importlib.util import find_spec
from pathlib import Path

from pipeline.problems import Origin
from pipeline.score.model import Passage
from pipeline.score.read import read_passage

SMALL = (
    "bach/bwv1.6.mxl",
    "haydn/opus1no1/movement2.mxl",
    "joplin/maple_leaf_rag.mxl",
)
"""A few short works of different kinds, for the tests."""

LARGE = (
    *SMALL,
    "bach/bwv10.7.mxl",
    "bach/bwv244.29-a.mxl",
    "beach/prayer_of_a_tired_child.musicxml",
    "beethoven/opus18no1/movement1.mxl",
    "beethoven/opus59no2/movement1.mxl",
    "corelli/opus3no1/1grave.xml",
    "cpebach/h186.mxl",
    "handel/rinaldo/Lascia_chio_pianga.mxl",
    "haydn/opus74no1/movement1.mxl",
    "haydn/opus74no1/movement2.mxl",
    "johnson_j_r/lift_every_voice.mxl",
    "liliuokalani/aloha_oe.mxl",
    "luca/gloria.xml",
    "lusitano/allor_che_ignuda.mxl",
    "monteverdi/madrigal.3.1.mxl",
    "mozart/k155/movement1.mxl",
    "mozart/k458/movement1.mxl",
    "mozart/k458/movement2.mxl",
    "schoenberg/opus19/movement2.mxl",
    "schubert/Lindenbaum.xml",
    "schumann_clara/opus17/movement3.xml",
    "schumann_robert/opus41no1/movement1.mxl",
    "trecento/PMFC_13_01-Kyrie-Summe-Clementissime.mxl",
    "verdi/laDonnaEMobile.mxl",
    "weber/concertino_clarinet.mxl",
    "webern/webern_dormi_jesu_op_16_no_2.mxl",
)
"""Works of six centuries, from 50 notes to 10,000, for the bench."""


def corpus_file(name: str) -> Path:
    """Return the file of a work. music21 itself is not imported: that alone takes half a second."""
    found = find_spec("music21")
    assert found is not None, "music21 is not installed"
    assert found.origin is not None
    return Path(found.origin).parent / "corpus" / name


@cache
def work(name: str) -> Passage:
    """Return a work as this project reads it; read once, for a passage is never changed."""
    file = corpus_file(name)
    passage = read_passage(file.parent, file.name, Origin("edition.yaml")).value
    assert passage is not None, f"{name} cannot be read"
    return passage
