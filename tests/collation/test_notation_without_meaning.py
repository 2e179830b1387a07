"""Two ways to write the same music in MEI: what is only notation is not a difference."""

from __future__ import annotations

from pathlib import Path

import pytest

from pipeline.collation.differences import differences
from pipeline.problems import Origin
from pipeline.score.model import Passage
from pipeline.score.read import read_passage
from tests.collation.letters import encoded, told, whole

DOCUMENT = """<?xml version="1.0" encoding="UTF-8"?>
<mei xmlns="http://www.music-encoding.org/ns/mei" meiversion="5.1"><music><body><mdiv><score>
<scoreDef meter.count="4" meter.unit="4" keysig="1s"><staffGrp>
<staffDef n="1" lines="5" clef.shape="G" clef.line="2"/></staffGrp></scoreDef>
<section>{bars}</section></score></mdiv></body></music></mei>
"""


def passage(folder: Path, name: str, layer: str, signs: str = "") -> Passage:
    bars = f'<measure n="1"><staff n="1"><layer n="1">{layer}</layer></staff>{signs}</measure>'
    (folder / name).write_text(DOCUMENT.format(bars=bars), encoding="utf-8")
    read = read_passage(folder, name, Origin("edition.yaml"))
    assert read.value is not None, read.problems
    return read.value


def compared(folder: Path, text: tuple[str, ...], reading: tuple[str, ...]) -> list[str]:
    one, other = passage(folder, "text.mei", *text), passage(folder, "witness.mei", *reading)
    return [told(d) for d in differences(one, whole(one), encoded(one, other))]


Q = '<note xml:id="a" pname="c" oct="5" dur="4"/>'
REST_OF_BAR = '<rest dur="4"/><rest dur="2"/>'

SAME = [
    # stem and beam
    (
        ('<beam><note pname="c" oct="5" dur="8"/><note pname="d" oct="5" dur="8"/></beam>'
         '<rest dur="4"/><rest dur="2"/>',),
        ('<note pname="c" oct="5" dur="8" stem.dir="up"/><note pname="d" oct="5" dur="8"/>'
         '<rest dur="4"/><rest dur="2"/>',),
    ),
    # an articulation as attribute or as element
    (
        (f'<note pname="c" oct="5" dur="4" artic="stacc ten"/>{REST_OF_BAR}',),
        (f'<note pname="c" oct="5" dur="4"><artic artic="ten"/><artic artic="stacc"/></note>'
         f'{REST_OF_BAR}',),
    ),
    # a sign as attribute or as element
    (
        (f'<note pname="c" oct="5" dur="4" accid="s"/>{REST_OF_BAR}',),
        (f'<note pname="c" oct="5" dur="4"><accid accid="s"/></note>{REST_OF_BAR}',),
    ),
    # a sharp of the key, said of the note or not
    (
        (f'<note pname="f" oct="5" dur="4" accid.ges="s"/>{REST_OF_BAR}',),
        (f'<note pname="f" oct="5" dur="4"/>{REST_OF_BAR}',),
    ),
    # a tie as attribute or as element
    (
        ('<note pname="c" oct="5" dur="2" tie="i"/><note pname="c" oct="5" dur="2" tie="t"/>',),
        ('<note xml:id="a" pname="c" oct="5" dur="2"/><note xml:id="b" pname="c" oct="5" dur="2"/>',
         '<tie startid="#a" endid="#b"/>'),
    ),
    # a slur as attribute or as element
    (
        ('<note pname="c" oct="5" dur="2" slur="i1"/><note pname="d" oct="5" dur="2" slur="t1"/>',),
        ('<note xml:id="a" pname="c" oct="5" dur="2"/><note xml:id="b" pname="d" oct="5" dur="2"/>',
         '<slur startid="#a" endid="#b" curvedir="below"/>'),
    ),
    # a dynamic at a note or at its beat, above or below
    (
        (f"{Q}{REST_OF_BAR}", '<dynam startid="#a" staff="1" place="below">p</dynam>'),
        (f"{Q}{REST_OF_BAR}", '<dynam tstamp="1" staff="1" place="above">p</dynam>'),
    ),
    # the usual turn and mordent, their form said or not (importers say it)
    (
        (f"{Q}{REST_OF_BAR}", '<turn startid="#a" staff="1"/><mordent tstamp="2" staff="1"/>'),
        (f"{Q}{REST_OF_BAR}", '<turn startid="#a" staff="1" form="upper"/>'
         '<mordent tstamp="2" staff="1" form="lower"/>'),
    ),
    # silence
    (('<mRest/>',), ('<rest dur="2"/><rest dur="2"/>',)),
]  # fmt: skip


@pytest.mark.parametrize(("text", "reading"), SAME)
def test_the_same_music(text: tuple[str, ...], reading: tuple[str, ...], tmp_path: Path) -> None:
    assert compared(tmp_path, text, reading) == []
    assert compared(tmp_path, reading, text) == []


def test_an_inverted_turn_is_another_ornament(tmp_path: Path) -> None:
    text = (f"{Q}{REST_OF_BAR}", '<turn startid="#a" staff="1"/>')
    reading = (f"{Q}{REST_OF_BAR}", '<turn startid="#a" staff="1" form="lower"/>')
    assert compared(tmp_path, text, reading) == ["ornament 0:0-0:0 turn@0:0 | lower@0:0"]


def test_other_music_in_the_same_notation(tmp_path: Path) -> None:
    text = (f'<note pname="f" oct="5" dur="4"/>{REST_OF_BAR}',)
    reading = (f'<note pname="f" oct="5" dur="4" accid="n"/>{REST_OF_BAR}',)
    assert compared(tmp_path, text, reading) == ["pitch 0:0-0:1 4:F#5 | 4:F5"]
