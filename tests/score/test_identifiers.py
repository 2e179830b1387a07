"""Laws of identifiers and of reading, over generated bars."""

from __future__ import annotations

import re
import tempfile
from dataclasses import replace
from pathlib import Path

from hypothesis import given, settings
from hypothesis import strategies as st
from lxml import etree

from pipeline.score.mei_names import XML_ID
from pipeline.score.model import Event, Marking, Passage
from tests.score.drawn import mei, read

_NAMED = (
    '<slur startid="#p" endid="#q"/><tie startid="#p" endid="#q"/>'
    '<annot plist="#p #q" corresp="#slur-own">both</annot><slur xml:id="slur-own" startid="#p" '
    'tstamp2="0m+2" staff="1"/>'
)


def _read(data: bytes, prefix: str = "") -> Passage:
    with tempfile.TemporaryDirectory() as folder:
        return read(Path(folder), data, prefix)


def _meaning(passage: Passage, prefix: str) -> tuple[list[Event], list[Marking]]:
    """Return events and markings with the prefix taken off every identifier."""

    def off(identifier: str) -> str:
        assert not identifier or identifier.startswith(prefix)
        return identifier.removeprefix(prefix)

    events = [
        replace(
            event,
            xml_id=off(event.xml_id),
            heads=tuple(replace(head, xml_id=off(head.xml_id)) for head in event.heads),
        )
        for event in passage.events
    ]
    markings = [
        replace(m, xml_id=off(m.xml_id), start_id=off(m.start_id), end_id=off(m.end_id))
        for m in passage.markings
    ]
    return events, markings


_PITCH = st.builds(
    "{}{}{}".format,
    st.sampled_from("abcdefg"),
    st.sampled_from(["", "#", "b", "n"]),
    st.integers(3, 6),
)
_TOKEN = st.one_of(
    st.builds("{}/{}".format, _PITCH, st.sampled_from(["2", "4", "8.", "16"])),
    st.builds("{}+{}/{}".format, _PITCH, _PITCH, st.sampled_from(["4", "8"])),
    st.builds("~{}/16".format, _PITCH),
    st.builds("(3:2 {}/8 {}/8 {}/8)".format, _PITCH, _PITCH, _PITCH),
    st.just("r/8"),
)
_VOICE = st.lists(_TOKEN, min_size=1, max_size=5).map(" ".join)
_BAR = st.lists(_VOICE, min_size=1, max_size=2).map(" | ".join)
_SCORE = st.builds(
    lambda bars, key: mei("p=c4/4 q=d4/4", *bars, key=key, extra={0: _NAMED}),
    st.lists(_BAR, min_size=1, max_size=3),
    st.sampled_from(["0", "2s", "3f"]),
)


@settings(max_examples=40, deadline=None)
@given(_SCORE)
def test_reading_twice_gives_the_same_bytes(data: bytes) -> None:
    assert _read(data).mei == _read(data).mei


@settings(max_examples=40, deadline=None)
@given(_SCORE)
def test_reading_what_was_read_changes_nothing(data: bytes) -> None:
    once = _read(data)
    twice = _read(once.mei)
    assert twice.mei == once.mei
    assert twice.events == once.events
    assert twice.markings == once.markings


@settings(max_examples=40, deadline=None)
@given(_SCORE, st.sampled_from(["A-1-", "ossia-", "x"]))
def test_a_prefix_changes_no_musical_meaning(data: bytes, prefix: str) -> None:
    assert _meaning(_read(data, prefix), prefix) == _meaning(_read(data), "")


@settings(max_examples=40, deadline=None)
@given(_SCORE)
def test_every_note_element_is_a_note_of_the_passage_once(data: bytes) -> None:
    passage = _read(data)
    written = [e.get(XML_ID) for e in etree.fromstring(passage.mei).iter("{*}note")]
    read_notes = [head.xml_id for event in passage.events for head in event.heads]
    assert sorted(map(str, written)) == sorted(read_notes)


@settings(max_examples=40, deadline=None)
@given(_SCORE)
def test_events_are_numbered_without_gap_and_identifiers_are_unique(data: bytes) -> None:
    passage = _read(data)
    for bar in passage.bars:
        numbers = [e.number for e in passage.events if e.bar == bar.index and e.number is not None]
        assert numbers == list(range(1, len(numbers) + 1))
    found = [e.get(XML_ID) for e in etree.fromstring(passage.mei).iter("*") if e.get(XML_ID)]
    assert len(found) == len(set(found))


def test_no_reference_is_left_behind_by_a_prefix() -> None:
    text = _read(mei("p=c4/4 q=d4/4", extra={0: _NAMED}), "mov2-").mei.decode()
    assert re.findall(r'"#(?!mov2-)[^"]*"', text) == []
    assert 'plist="#mov2-p #mov2-q" corresp="#mov2-slur-own"' in text


def test_a_reference_to_another_file_or_to_nothing_is_left_as_it_is() -> None:
    annotation = '<annot plist="#p" corresp="other.mei#p #nobody">x</annot>'
    text = _read(mei("p=c4/4", extra={0: annotation}), "mov2-").mei.decode()
    assert 'plist="#mov2-p" corresp="other.mei#p #nobody"' in text


def test_new_identifiers_say_where_an_element_stands() -> None:
    passage = _read(mei("c4/4 d4+e4/4 | r/2", "own=c4/1", extra={1: '<dynam tstamp="1">p</dynam>'}))
    assert [e.xml_id for e in passage.events] == [
        "m1-s1-v1-note1",
        "m1-s1-v2-rest1",
        "m1-s1-v1-chord1",
        "own",
    ]
    assert passage.markings[0].xml_id == "m2-dynam1"


def test_a_new_identifier_never_takes_one_that_the_file_has() -> None:
    data = mei("m1-x=c4/4 d4/4".replace("m1-x", "a"), "e4/4").replace(
        b'xml:id="a"', b'xml:id="m1-s1-v1-note1"'
    )
    assert [e.xml_id for e in _read(data).events] == [
        "m1-s1-v1-note1",
        "m1-s1-v1-note2",
        "m2-s1-v1-note1",
    ]


def test_bars_of_one_number_and_odd_numbers_are_told_apart() -> None:
    passage = _read(mei("c4/4", "d4/4", "e4/4", numbers=("5", "5", "5 ♭")))
    assert [bar.xml_id for bar in passage.bars] == ["m5", "m5.2", "m5u20u266d"]
