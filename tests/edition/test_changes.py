"""What became of each record between two states, and the laws of the comparison."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pipeline.edition.changes import (
    FieldChange,
    RecordChange,
    Turn,
    changed_head,
    changed_records,
    changed_texts,
)
from pipeline.edition.model import Edition, FiledRecord, Origins, Text
from pipeline.edition.records import EditorialRecord
from pipeline.edition.strict import MAIN_LANGUAGE
from pipeline.problems import Origin
from tests.collation.small_edition import HEAD, edition_of
from tests.edition.generated_records import records

MIRRORED = {
    **{turn: turn for turn in Turn},
    Turn.ADDED: Turn.WITHDRAWN,
    Turn.WITHDRAWN: Turn.ADDED,
    Turn.SUPERSEDED: Turn.REINSTATED,
    Turn.REINSTATED: Turn.SUPERSEDED,
}
"""What each is called when the two states are exchanged."""

HAND = """\
- id: hand
  kind: fingering
  place: {movement: 1, bar: 1}
  by: editor
  date: 2026-03-01
  reason: The hand is there already.
  alternatives:
    - {name: low, fingers: "1, 2, 3, 4"}
    - {name: high, fingers: "2, 3, 4, 4"}
"""
SLUR = """\
- id: slur
  kind: reading
  place: {movement: 1, bar: 2}
  by: editor
  date: 2026-03-01
  lemma: A
  readings:
    - {witnesses: [E], says: no slur}
    - {witnesses: [S], says: a slur of two notes}
  reason: The system ends here.
"""


def turned(old: str, new: str) -> dict[str, Turn]:
    return {c.record.id: c.turn for c in changed_records(edition_of(old), edition_of(new))}


def fields(old: str, new: str) -> list[tuple[str, object, object]]:
    (change,) = changed_records(edition_of(old), edition_of(new))
    return [("/".join(f.path), f.before, f.after) for f in change.fields]


def with_status(record: str, *lines: str) -> str:
    return record + "".join(f"  {one}\n" for one in lines)


PROPOSED = with_status(HAND, "status: proposed")
SUPERSEDED = with_status(HAND, "status: superseded", "superseded_by: slur")


@pytest.mark.parametrize(
    ("old", "new", "turn"),
    [
        ("", HAND, Turn.ADDED),
        (PROPOSED, HAND, Turn.ADDED),
        (HAND, "", Turn.WITHDRAWN),
        (HAND, PROPOSED, Turn.WITHDRAWN),
        (HAND, SUPERSEDED, Turn.SUPERSEDED),
        (SUPERSEDED, HAND, Turn.REINSTATED),
        (HAND, HAND.replace("bar: 1", "bar: 2"), Turn.MOVED),
        (HAND, HAND.replace("1, 2, 3, 4", "1, 2, 3, 3"), Turn.CHANGED),
        (HAND, HAND.replace("name: high", "name: higher"), Turn.CHANGED),
        (HAND, HAND.replace("2026-03-01", "2026-03-02"), Turn.CHANGED),
        (HAND, HAND.replace("already", "already anyway"), Turn.REWORDED),
        (
            HAND,
            HAND.replace("already", "already anyway").replace("2026-03-01", "2026-03-02"),
            Turn.REWORDED,
        ),
        (HAND, HAND.replace("low,", "low, label: first position,"), Turn.REWORDED),
        ("", PROPOSED, Turn.NOT_IN_FORCE),
        (PROPOSED, PROPOSED.replace("already", "there"), Turn.NOT_IN_FORCE),
        (PROPOSED, SUPERSEDED, Turn.NOT_IN_FORCE),
    ],
)
def test_what_became_of_a_record(old: str, new: str, turn: Turn) -> None:
    assert turned(old, new) == {"hand": turn}


def test_what_is_only_written_otherwise_is_no_change() -> None:
    other = HAND.replace('"1, 2, 3, 4"', "[1, 2, 3, 4]").replace(
        "reason: The", "reason:\n    en: The"
    )
    assert turned(HAND, other) == {}
    assert turned(HAND, HAND + SLUR.replace("slur\n", "slur\n", 1)) == {"slur": Turn.ADDED}


def test_an_alternative_is_known_by_its_name_and_a_reading_by_its_witnesses() -> None:
    low = '    - {name: low, fingers: "1, 2, 3, 4"}\n'
    high = '    - {name: high, fingers: "2, 3, 4, 4"}\n'
    (order,) = fields(HAND, HAND.replace(low + high, high + low))
    assert order == ("alternatives/order", ("low", "high"), ("high", "low"))
    ((path, before, after),) = fields(HAND, HAND.replace(low, ""))
    assert path == "alternatives/low"
    assert (getattr(before, "name", None), after) == ("low", None)
    assert fields(SLUR, SLUR.replace("no slur", "a dash")) == [
        ("readings/E/says/en", "no slur", "a dash")
    ]


def test_a_place_and_a_fingering_are_told_as_a_whole() -> None:
    ((path, before, after),) = fields(HAND, HAND.replace("bar: 1", "bar: 1, note: 2"))
    assert path == "place"
    assert [getattr(one, "note", 0) for one in (before, after)] == [None, 2]
    ((path, before, after),) = fields(HAND, HAND.replace("1, 2, 3, 4", "1, 2, 3, 3"))
    assert path == "alternatives/low/fingers"
    assert isinstance(before, tuple)
    assert isinstance(after, tuple)
    assert (len(before), before[:3] == after[:3], before[3] == after[3]) == (4, True, False)


def test_a_record_written_but_not_readable_in_one_state_is_neither_new_nor_gone() -> None:
    old, new = edition_of(HAND), edition_of(HAND + SLUR)
    hidden: tuple[frozenset[str], frozenset[str]] = (frozenset({"slur"}), frozenset())
    (change,) = changed_records(old, new, not_read=hidden)
    assert (change.record.id, change.turn) == ("slur", Turn.NOT_READ)
    (change,) = changed_records(new, old, not_read=(hidden[1], hidden[0]))
    assert (change.record.id, change.turn) == ("slur", Turn.NOT_READ)


def test_a_music_file_with_other_notes_changes_the_records_that_name_it() -> None:
    ossia = HAND.split("  alternatives")[0].replace("kind: fingering", "kind: ossia")
    ossia += "  music: {file: music/x.mei}\n"
    old, new = edition_of(ossia), edition_of(ossia)
    (change,) = changed_records(old, new, frozenset({"music/x.mei"}))
    assert change.turn is Turn.CHANGED
    assert [one.path for one in change.fields] == [("music", "notes")]
    assert changed_records(old, new, frozenset({"music/y.mei"})) == ()


def test_edition_yaml_is_compared_key_by_key() -> None:
    other = HEAD.replace("name: Ilse Brand", "name: Ilse Brandt").replace(
        "  L: {kind: copy, title: Lost copy, copied_from: A}\n", ""
    )
    other = other.replace("copied_from: E", "copied_from: [E, A]")
    found = {
        "/".join(f.path): (f.before, f.after)
        for f in changed_head(edition_of("", HEAD), edition_of("", other))
    }
    assert list(found) == ["agents/editor/name/en", "witnesses/S/copied_from", "witnesses/L"]
    assert found["agents/editor/name/en"] == ("Ilse Brand", "Ilse Brandt")
    assert found["witnesses/S/copied_from"] == (("E",), ("E", "A"))
    assert found["witnesses/L"][1] is None


def text(name: str, markdown: str) -> Text:
    return Text(name, "en", markdown, Origin(f"texts/{name}.en.md"))


def test_texts_are_compared_by_paragraph() -> None:
    old = replace(edition_of(""), texts=(text("preface", "One.\n\nTwo\nlines.\n\nThree."),))
    new = replace(
        edition_of(""), texts=(text("method", "New."), text("preface", "One.\n\nTwo.\n\nThree."))
    )
    found = [(c.name, c.turn, c.passages) for c in changed_texts(old, new)]
    assert found == [
        ("method", Turn.ADDED, (((), ("New.",)),)),
        ("preface", Turn.REWORDED, ((("Two lines.",), ("Two.",)),)),
    ]


def filed(record: EditorialRecord) -> FiledRecord:
    return FiledRecord(record, Origins({(): Origin("records/all.yaml")}))  # type: ignore[arg-type]


@st.composite
def states(draw: st.DrawFn) -> tuple[Edition, Edition]:
    """Two editions that share some records, some of them with fields of another."""
    made = draw(st.lists(records, max_size=4, unique_by=lambda r: r.id))
    both: list[list[EditorialRecord]] = [[], []]
    for record in made:
        where = draw(st.sampled_from(["both", "old", "new", "otherwise"]))
        if where in {"both", "old", "otherwise"}:
            both[0].append(record)
        if where in {"both", "new"}:
            both[1].append(record)
        if where == "otherwise":
            other = draw(records)
            keys = draw(st.sets(st.sampled_from(["place", "by", "date", "status", "reason"])))
            given = {key: getattr(other, key) for key in keys}
            both[1].append(record.model_copy(update=given))
    paragraphs = st.lists(st.sampled_from(["One.", "Two.", "Three.", "Four."]), max_size=5)
    written = [
        draw(st.one_of(st.none(), paragraphs.map(lambda p: text("preface", "\n\n".join(p)))))
        for _ in range(2)
    ]
    empty = edition_of("")
    old, new = (
        replace(empty, records=tuple(map(filed, some)), texts=(one,) if one else ())
        for some, one in zip(both, written, strict=True)
    )
    return old, new


def exchanged(fields: tuple[FieldChange, ...]) -> set[Any]:
    return {(f.path, repr(f.after), repr(f.before), f.prose) for f in fields}


def told(change: RecordChange) -> tuple[str, Turn, set[Any]]:
    same = {(f.path, repr(f.before), repr(f.after), f.prose) for f in change.fields}
    return change.record.id, change.turn, same


@given(states())
def test_a_state_compared_with_itself_has_no_change(pair: tuple[Edition, Edition]) -> None:
    for one in pair:
        assert changed_records(one, one) == ()
        assert changed_head(one, one) == ()
        assert changed_texts(one, one) == ()


@given(states())
def test_the_other_way_round_everything_is_mirrored(pair: tuple[Edition, Edition]) -> None:
    old, new = pair
    forth, back = changed_records(old, new), changed_records(new, old)
    assert [told(c) for c in forth] == [
        (c.record.id, MIRRORED[c.turn], exchanged(c.fields)) for c in back
    ]
    assert [
        (c.name, MIRRORED[c.turn], tuple((b, a) for a, b in c.passages))
        for c in changed_texts(new, old)
    ] == [(c.name, c.turn, c.passages) for c in changed_texts(old, new)]


def in_first_language(value: Any) -> Any:
    """Return a dumped record with plain text under the code of the edition's language, en."""
    if isinstance(value, dict):
        if set(value) == {MAIN_LANGUAGE}:
            return {"en": value[MAIN_LANGUAGE]}
        return {key: in_first_language(inner) for key, inner in value.items()}
    return [in_first_language(one) for one in value] if isinstance(value, tuple) else value


@given(records, records)
def test_every_difference_of_two_records_of_one_id_is_told(
    one: EditorialRecord, other: EditorialRecord
) -> None:
    same = other.model_copy(update={"id": one.id})
    empty = edition_of("")
    old, new = (replace(empty, records=(filed(record),)) for record in (one, same))
    differ = in_first_language(one.model_dump()) != in_first_language(same.model_dump())
    assert bool(changed_records(old, new)) == differ
