"""Excerpts: the bars asked for, complete in themselves, with nothing hanging over the edge."""

from __future__ import annotations

from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from lxml import etree

from pipeline.engrave.excerpts import Excerpt, cut
from pipeline.engrave.house_style import read_house_style
from pipeline.engrave.pictures import pictures
from pipeline.engrave.systems import StaffLine, System, system_document
from pipeline.problems import Origin
from pipeline.score.model import Passage
from pipeline.score.read import read_passage
from tests.corpus import SMALL, corpus_file
from tests.score.drawn import document, mei, read

SLURRED = mei(
    "a=c5/4 b=d5/4 c=e5/4 d=f5/4_",
    "e=f5/4 f=g5/4 g=a5/4 h=b5/4",
    "i=c6/1",
    extra={
        0: '<slur xml:id="over" startid="#b" endid="#g"/>'
        '<hairpin xml:id="pin" staff="1" form="cres" tstamp="3" tstamp2="1m+3"/>'
        '<dir xml:id="words" staff="1" tstamp="1">dolce</dir>',
        1: '<slur xml:id="out" startid="#h" endid="#i"/>',
    },
).replace(b'xml:id="e"', b'xml:id="e" tie="t"')


def marking(excerpt: Excerpt, name: str, bar: int = 0) -> dict[str, str]:
    """The attributes of the only marking of that name in a bar of the excerpt."""
    found = [m for m in excerpt.bars[bar].markings if etree.QName(m).localname == name]
    assert len(found) == 1
    return {str(k): str(v) for k, v in found[0].attrib.items()}


def names(excerpt: Excerpt) -> list[str]:
    return [etree.QName(m).localname for bar in excerpt.bars for m in bar.markings]


def test_what_begins_before_is_drawn_from_the_left_edge(tmp_path: Path) -> None:
    second = cut(read(tmp_path, SLURRED), (1,), 1, "t-")
    over, pin = marking_starting(second, "slur"), marking(second, "hairpin")
    assert over["tstamp"] == "0"
    assert over["endid"] == "#t-g"
    assert (pin["tstamp"], pin["tstamp2"]) == ("0", "0m+3")


def marking_starting(excerpt: Excerpt, name: str) -> dict[str, str]:
    """The attributes of the marking of that name that comes from before the excerpt."""
    found = [
        {str(k): str(v) for k, v in m.attrib.items()}
        for m in excerpt.bars[0].markings
        if etree.QName(m).localname == name and m.get("startid") is None
    ]
    assert len(found) == 1
    return found[0]


def test_what_ends_after_is_drawn_to_the_right_edge(tmp_path: Path) -> None:
    first = cut(read(tmp_path, SLURRED), (0,), 1, "t-")
    assert marking(first, "slur")["tstamp2"] == "0m+5"
    assert "endid" not in marking(first, "slur")
    assert marking(first, "hairpin")["tstamp2"] == "0m+5"


def test_a_tie_over_the_edge_reaches_the_edge_on_both_sides(tmp_path: Path) -> None:
    passage = read(tmp_path, SLURRED)
    assert marking(cut(passage, (0,), 1, "t-"), "tie")["startid"] == "#t-d"
    assert marking_starting(cut(passage, (1,), 1, "t-"), "tie")["endid"] == "#t-e"


def test_a_slur_of_which_one_note_is_left_becomes_a_short_arc(tmp_path: Path) -> None:
    third = cut(read(tmp_path, SLURRED), (2,), 1, "t-")
    assert names(third) == ["tie"]
    assert marking(third, "tie")["endid"] == "#t-i"


def test_words_stay_in_their_own_bar(tmp_path: Path) -> None:
    passage = read(tmp_path, SLURRED)
    assert "dir" in names(cut(passage, (0,), 1, "t-"))
    assert "dir" not in names(cut(passage, (1, 2), 1, "t-"))


def test_nothing_is_shortened_where_all_bars_are_shown(tmp_path: Path) -> None:
    whole = cut(read(tmp_path, SLURRED), (0, 1, 2), 1, "t-")
    assert marking(whole, "slur")["endid"] == "#t-g"
    assert marking(whole, "hairpin")["tstamp2"] == "1m+3"
    assert "tie" not in names(whole)


def test_the_passage_itself_is_not_changed(tmp_path: Path) -> None:
    passage = read(tmp_path, SLURRED)
    first = system_document(System((StaffLine(cut(passage, (1,), 1, "t-")),)))
    assert system_document(System((StaffLine(cut(passage, (1,), 1, "t-")),))) == first


OPENINGS = document(
    """<scoreDef><staffGrp><staffDef n="1" lines="5">
    <clef shape="G" line="2"/><keySig sig="1f"/><meterSig count="3" unit="4"/></staffDef></staffGrp>
    </scoreDef><section>
    <measure n="1"><staff n="1"><layer n="1"><note pname="c" oct="5" dur="2" dots="1"/>
    <clef shape="F" line="4"/></layer></staff></measure>
    <measure n="2"><staff n="1"><layer n="1"><note pname="c" oct="3" dur="2" dots="1"/></layer>
    </staff></measure>
    <scoreDef keysig="2s" meter.count="2" meter.unit="4"/>
    <measure n="3"><staff n="1"><layer n="1"><note pname="d" oct="3" dur="2"/></layer></staff>
    </measure>
    <measure n="4"><staff n="1"><layer n="1"><note pname="d" oct="3" dur="2"/></layer></staff>
    </measure></section>"""
)


@pytest.mark.parametrize(
    ("bar", "clef", "key", "meter", "meter_is_new"),
    [
        (0, "G2", "1f", "3/4", True),
        (1, "F4", "1f", "3/4", False),
        (2, "F4", "2s", "2/4", True),
        (3, "F4", "2s", "2/4", False),
    ],
)
def test_clef_key_and_meter_are_those_valid_at_the_first_bar(
    tmp_path: Path, bar: int, clef: str, key: str, meter: str, meter_is_new: bool
) -> None:
    opening = cut(read(tmp_path, OPENINGS), (bar,), 1, "t-").opening
    assert opening.clef is not None
    assert opening.key is not None
    assert f"{opening.clef.get('shape')}{opening.clef.get('line')}" == clef
    assert opening.key.get("sig") == key
    assert opening.meter_text == meter
    assert opening.meter_is_new is meter_is_new


def test_only_the_staff_asked_for_is_cut(tmp_path: Path) -> None:
    two = mei(
        ("v=c5/1", "p=c4/1"),
        labels=("Violin", "Piano"),
        extra={0: '<dynam staff="2" tstamp="1">p</dynam><fing startid="#v">1</fing>'},
    )
    passage = read(tmp_path, two)
    assert set(cut(passage, (0,), 1, "t-").by_id()) >= {"v"}
    assert names(cut(passage, (0,), 1, "t-")) == ["fing"]
    assert names(cut(passage, (0,), 2, "t-")) == ["dynam"]


@pytest.fixture(scope="module")
def corpus() -> list[Passage]:
    passages = []
    for name in SMALL:
        file = corpus_file(name)
        read_work = read_passage(file.parent, file.name, Origin("edition.yaml"))
        assert read_work.value is not None
        passages.append(read_work.value)
    return passages


@given(
    work=st.integers(0, len(SMALL) - 1),
    nth_staff=st.integers(0, 3),
    nth_bar=st.integers(0, 200),
    count=st.integers(1, 4),
)
@settings(max_examples=40, deadline=None)
def test_any_bars_of_any_staff_of_real_works_engrave_without_a_fault(
    corpus: list[Passage], work: int, nth_staff: int, nth_bar: int, count: int
) -> None:
    passage = corpus[work]
    staff = passage.staves[nth_staff % len(passage.staves)].n
    first = nth_bar % len(passage.bars)
    last = min(first + count, len(passage.bars)) - 1
    excerpt = cut(passage, tuple(range(first, last + 1)), staff, "t-")
    made, faults = pictures(
        System((StaffLine(excerpt, "Text"),)), read_house_style(), 130, "bars", "serif"
    )
    assert faults == ()
    assert made
    heads = {
        head.xml_id
        for event in passage.events
        if event.staff == staff and first <= event.bar <= last
        for head in event.heads
    }
    assert {f"t-{one}" for one in heads} <= excerpt.must_be_drawn
