"""The meter in force, repeat signs and endings of each bar, from MEI and from MusicXML.

MEI Guidelines 5.1: `measure/@left` and `@right` with data.BARRENDITION, `ending`, `meterSig`.
MusicXML 4.0: `time`, `barline/repeat`, `barline/ending`.
"""

from __future__ import annotations

from pathlib import Path

import pytest

from pipeline.problems import Origin
from pipeline.score.model import Passage
from pipeline.score.read import read_passage
from tests.score.drawn import document

NOTE = '<staff n="1"><layer n="1"><note pname="c" oct="5" dur="1"/></layer></staff>'


def bar(n: int, lines: str = "") -> str:
    return f'<measure n="{n}" {lines}>{NOTE}</measure>'


def passage(folder: Path, section: str, meter: str = 'meter.count="4" meter.unit="4"') -> Passage:
    staff = '<staffDef n="1" lines="5" clef.shape="G" clef.line="2"/>'
    head = f"<scoreDef {meter}><staffGrp>{staff}</staffGrp></scoreDef>"
    (folder / "a.mei").write_bytes(document(f"{head}<section>{section}</section>"))
    read = read_passage(folder, "a.mei", Origin("edition.yaml"))
    assert read.value is not None, read.problems
    return read.value


def repeats(read: Passage) -> str:
    """Return the bars as a player sees them: `|: 1 | 2 :|`."""
    return " ".join(
        f"{'|: ' if one.repeat_start else ''}{one.n}{' :|' if one.repeat_end else ''}"
        for one in read.bars
    )


REPEATS = (
    (('left="rptstart"', 'right="rptend"', ""), "|: 1 2 :| 3"),
    (("", 'right="rptstart"', ""), "1 2 |: 3"),
    (("", "", 'left="rptend"'), "1 2 :| 3"),
    (("", 'right="rptboth"', ""), "1 2 :| |: 3"),
    (("", "", 'left="rptboth"'), "1 2 :| |: 3"),
    (("", 'right="rptend"', 'left="rptstart"'), "1 2 :| |: 3"),
    (("", 'right="rptboth"', 'left="rptboth"'), "1 2 :| |: 3"),
    (("", 'right="dbl"', 'right="end"'), "1 2 3"),
)


@pytest.mark.parametrize(("lines", "expected"), REPEATS)
def test_a_repeat_sign_is_known_on_whichever_side_of_the_line_it_is_written(
    tmp_path: Path, lines: tuple[str, ...], expected: str
) -> None:
    bars = "".join(bar(n, one) for n, one in enumerate(lines, 1))
    assert repeats(passage(tmp_path, bars)) == expected


@pytest.mark.parametrize(
    ("first", "second", "expected"),
    [
        ('n="1"', 'n="2"', ["", "1", "2", ""]),
        ('n="1."', 'label="2."', ["", "1", "2", ""]),
        ('n="1 - 3"', 'n="4"', ["", "1, 2, 3", "4", ""]),
        ("", "", ["", "1", "2", ""]),
    ],
)
def test_endings_by_their_number_or_their_place_in_the_row(
    tmp_path: Path, first: str, second: str, expected: list[str]
) -> None:
    section = f"{bar(1)}<ending {first}>{bar(2)}</ending><ending {second}>{bar(3)}</ending>{bar(4)}"
    assert [one.ending for one in passage(tmp_path, section).bars] == expected


METERS = (
    ('meter.count="6" meter.unit="8"', "6/8"),
    ('meter.sym="common"', "4/4"),
    ('meter.sym="cut"', "2/2"),
    ('meter.count="2" meter.unit="2" meter.sym="cut"', "2/2"),
    ('meter.count="3+2" meter.unit="8"', "3+2/8"),
    ("", ""),
)


@pytest.mark.parametrize(("written", "figures"), METERS)
def test_the_meter_is_known_in_figures_however_it_is_printed(
    tmp_path: Path, written: str, figures: str
) -> None:
    assert [one.meter for one in passage(tmp_path, bar(1) + bar(2), written).bars] == [figures] * 2


@pytest.mark.parametrize(
    ("change", "after"),
    [
        ('<scoreDef meter.count="3" meter.unit="4"/>', "3/4"),
        ('<scoreDef><meterSig count="3" unit="4"/></scoreDef>', "3/4"),
        ('<staffDef n="1"><meterSig count="3" unit="4"/></staffDef>', "3/4"),
        ('<scoreDef><meterSig count="1" unit="4" visible="false"/></scoreDef>', "4/4"),
        ('<scoreDef meter.count="1" meter.unit="4" meter.form="invis"/>', "4/4"),
        ('<scoreDef keysig="2s"/>', "4/4"),
    ],
)
def test_a_new_meter_counts_from_its_bar_on_and_only_if_it_is_printed(
    tmp_path: Path, change: str, after: str
) -> None:
    read = passage(tmp_path, bar(1) + change + bar(2) + bar(3))
    assert [one.meter for one in read.bars] == ["4/4", after, after]


def test_a_group_of_meters_is_one_meter(tmp_path: Path) -> None:
    group = '<meterSig count="2" unit="4"/><meterSig count="3" unit="8"/>'
    mixed = f'<scoreDef><meterSigGrp func="mixed">{group}</meterSigGrp></scoreDef>'
    assert [one.meter for one in passage(tmp_path, mixed + bar(1)).bars] == ["2/4+3/8"]


def test_musicxml_says_the_same(tmp_path: Path) -> None:
    def measure(n: int, before: str = "", after: str = "") -> str:
        note = (
            "<note><pitch><step>C</step><octave>5</octave></pitch>"
            "<duration>3</duration><voice>1</voice><type>half</type><dot/></note>"
        )
        return f'<measure number="{n}">{before}{note}{after}</measure>'

    def line(side: str, *inside: str) -> str:
        return f'<barline location="{side}">{"".join(inside)}</barline>'

    def ending(n: int, kind: str) -> str:
        return f'<ending number="{n}" type="{kind}"/>'

    def repeat(way: str) -> str:
        return f'<repeat direction="{way}"/>'

    def time(count: int, unit: int) -> str:
        return (
            f"<attributes><divisions>1</divisions><time><beats>{count}</beats>"
            f"<beat-type>{unit}</beat-type></time></attributes>"
        )

    bars = (
        measure(1, time(3, 4)),
        measure(2, line("left", repeat("forward"))),
        measure(
            3,
            line("left", ending(1, "start")),
            line("right", ending(1, "stop"), repeat("backward")),
        ),
        measure(4, line("left", ending(2, "start")), line("right", ending(2, "discontinue"))),
        measure(5, time(6, 8)),
    )
    (tmp_path / "a.musicxml").write_text(
        '<score-partwise version="4.0"><part-list><score-part id="P1"><part-name>Violin'
        f'</part-name></score-part></part-list><part id="P1">{"".join(bars)}</part>'
        "</score-partwise>"
    )
    read = read_passage(tmp_path, "a.musicxml", Origin("edition.yaml")).value
    assert read is not None
    assert repeats(read) == "1 |: 2 3 :| 4 5"
    assert [one.ending for one in read.bars] == ["", "", "1", "2", ""]
    assert [one.meter for one in read.bars] == ["3/4"] * 4 + ["6/8"]


def test_an_ending_that_never_stops_is_lost_in_the_import_and_told(tmp_path: Path) -> None:
    note = (
        "<note><pitch><step>C</step><octave>5</octave></pitch>"
        "<duration>4</duration><voice>1</voice><type>whole</type></note>"
    )
    head = "<attributes><divisions>1</divisions></attributes>"
    open_ended = '<barline location="left"><ending number="1" type="start"/></barline>'
    (tmp_path / "a.musicxml").write_text(
        '<score-partwise version="4.0"><part-list><score-part id="P1"><part-name>Violin'
        '</part-name></score-part></part-list><part id="P1">'
        f'<measure number="1">{head}{note}</measure>'
        f'<measure number="2">{open_ended}{note}</measure>'
        f'<measure number="3">{note}</measure></part></score-partwise>'
    )
    read = read_passage(tmp_path, "a.musicxml", Origin("edition.yaml"))
    assert read.value is not None
    told = [one.message for one in read.problems if one.code == "signs-lost-in-import"]
    assert told == ["the ending of this bar cannot be converted"]
