"""A player's own copy as it is read: choices and own records, and every slip with its line."""

from __future__ import annotations

import json
from datetime import date
from pathlib import Path
from typing import Any

import jsonschema
import pytest
from hypothesis import given
from hypothesis import strategies as st
from ruamel.yaml import YAML

from pipeline.edition.choices import OwnCopy, Player, joined, read_choices
from pipeline.edition.layer import Layer, layer_of_agent, layers_of
from pipeline.edition.records import FingeringRecord
from pipeline.edition.schema import choices_schema
from pipeline.problems import Outcome
from tests.collation.small_edition import edition_of, line

COPY = """\
player:
  id: rovelin
  name: Ida Rovelin
performance: 2026-12-20
settled_days: 10
choices:
  - of: hand
    takes: [low, "no"]
    date: 2026-11-02
  - of: small-hand
    takes: yes
    date: 2026-11-03
    reason: {en: rings better, de: klingt besser}
records:
  - id: my-hand
    kind: fingering
    place: {movement: 1, bar: 2}
    date: 2026-11-04
    alternatives:
      - {name: own, fingers: "1, 3, 2"}
"""

HAND = """\
- id: hand
  kind: fingering
  place: {movement: 1, bar: 1}
  by: editor
  date: 2026-03-01
  reason: because
  alternatives:
    - {name: low, fingers: "1, 2, 3, 4"}
    - {name: "no", fingers: "2, 3, 4, 4"}
"""


def read(tmp_path: Path, text: str) -> Outcome[OwnCopy]:
    file = tmp_path / "my.yaml"
    file.write_text(text, encoding="utf-8")
    return read_choices(file)


def told(tmp_path: Path, text: str) -> list[str]:
    return [line(p).removeprefix(f"{tmp_path}/") for p in read(tmp_path, text).problems]


def own(tmp_path: Path, text: str = COPY) -> OwnCopy:
    found = read(tmp_path, text)
    assert found.problems == ()
    assert found.value is not None
    return found.value


def test_choices_and_records_are_read_with_their_days(tmp_path: Path) -> None:
    copy = own(tmp_path)
    assert copy.player is not None
    assert (copy.player.id, copy.player.name[""]) == ("rovelin", "Ida Rovelin")
    assert (copy.performance, copy.settled_days) == (date(2026, 12, 20), 10)
    assert [(one.of, one.takes, one.day.day if one.day else 0) for one in copy.taken] == [
        ("hand", ("low", "no"), 2),
        ("small-hand", True, 3),
    ]
    assert [str(one.origin).rpartition("/")[2] for one in copy.taken] == [
        "my.yaml:7:5",
        "my.yaml:10:5",
    ]
    (record,) = (filed.record for filed in copy.records)
    assert isinstance(record, FingeringRecord)
    assert record.by == "rovelin", "left out, it is the player"


def test_a_player_alone_is_a_copy_without_choices(tmp_path: Path) -> None:
    copy = own(tmp_path, "player: {id: rovelin, name: Ida Rovelin}\n")
    assert (copy.taken, copy.records, copy.performance, copy.settled_days) == ((), (), None, 7)


SLIPS = [
    ("", "my.yaml:1:1 error empty-file:"),
    ("- of: hand\n", "my.yaml:1:1 error wrong-value: a player's own copy has keys, not a list"),
    (COPY.replace("player:", "players:"), "my.yaml:1:1 error unknown-key:"),
    (COPY.replace("  id: rovelin\n", ""), "my.yaml:2:3 error missing-key: a player needs `id`"),
    (COPY.replace("choices:", "choses:"), "my.yaml:6:1 error unknown-key: `choses` is no key of a "
     "player's own copy > Did you mean `choices`?"),
    (COPY.replace("2026-12-20", "20.12.2026"), "my.yaml:4:14 error wrong-value: `20.12.2026` is no "
     "date"),
    (COPY.replace("days: 10", "days: soon"), "my.yaml:5:15 error wrong-value:"),
    (COPY.replace('[low, "no"]', "[]"), "my.yaml:8:12 error wrong-value: `takes` is a list without "
     "names > Write the names"),
    (COPY.replace('[low, "no"]', "[low, low]"), "my.yaml:8:12 error wrong-value: an alternative is "
     "named twice"),
    (COPY.replace('[low, "no"]', "{a: low}"), "my.yaml:8:12 error wrong-value: `takes` is a name, "
     "a list of names, `yes` or `no`"),
    (COPY.replace("small-hand", "hand"), "my.yaml:10:5 error chosen-twice: `hand` is chosen in "
     "line 7 already > Keep the choice that holds."),
    (COPY.replace("kind: fingering", "kind: remark\n    reason: a")
     .split("    alternatives")[0],
     "my.yaml:16:5 error not-for-a-player: a player's own copy holds fingerings, bowings and "
     "ossias, no remark"),
    (COPY.replace("kind: fingering", "kind: fingering\n    by: editor"),
     "my.yaml:17:5 error not-for-a-player: `my-hand` is by `editor`, but this is the copy of "
     "`rovelin` > Write `by: rovelin`, or leave `by` out."),
    (COPY.replace("3, 2", "9x"), "my.yaml:20:"),
    (COPY + COPY[COPY.index("  - id: my-hand"):], "my.yaml:21:5 error duplicate-record-id: "
     "`my-hand` is a record in "),
]  # fmt: skip


@pytest.mark.parametrize(("text", "expected"), SLIPS)
def test_a_slip_is_told_where_it_stands(tmp_path: Path, text: str, expected: str) -> None:
    found = told(tmp_path, text)
    assert any(one.startswith(expected) for one in found), found
    assert read(tmp_path, text).value is None


def test_slips_in_choices_and_records_are_told_together(tmp_path: Path) -> None:
    text = COPY.replace("2026-11-02", "2026-13-02").replace("1, 3, 2", "1 3 2")
    assert [one.split(" error")[0] for one in told(tmp_path, text)] == [
        "my.yaml:9:11",
        "my.yaml:20:30",
    ]


def test_joined_the_edition_has_the_player_and_what_was_chosen_is_printed(tmp_path: Path) -> None:
    edition, copy = edition_of(HAND), own(tmp_path)
    outcome = joined(edition, copy)
    assert outcome.problems == ()
    assert outcome.value is not None
    assert [filed.record.id for filed in outcome.value.records] == ["hand", "my-hand"]
    hand = outcome.value.records[0].record
    assert isinstance(hand, FingeringRecord)
    assert hand.printed == ("low", "no")
    player = outcome.value.head.agents["rovelin"]
    assert isinstance(player, Player)
    assert layer_of_agent(player) is Layer.PLAYER
    assert Layer.PLAYER in layers_of(outcome.value.head.agents)


def test_the_edition_itself_stays_as_it_was(tmp_path: Path) -> None:
    edition = edition_of(HAND)
    before = repr(edition.records)
    joined(edition, own(tmp_path))
    assert repr(edition.records) == before
    assert "rovelin" not in edition.head.agents
    assert Layer.PLAYER not in layers_of(edition.head.agents)


def test_ids_of_the_edition_are_not_the_players(tmp_path: Path) -> None:
    taken = COPY.replace("my-hand", "hand").replace("rovelin", "editor")
    outcome = joined(edition_of(HAND), own(tmp_path, taken))
    assert outcome.value is None
    assert [line(p).removeprefix(f"{tmp_path}/") for p in outcome.problems] == [
        "my.yaml:2:3 error player-is-agent: `editor` is an agent of the edition > Give the player "
        "an id of its own; what is marked here is not the edition's.",
        "my.yaml:15:5 error duplicate-record-id: `hand` is a record in records/all.yaml, line 1, "
        "already > Give this record an id of its own.",
    ]


def loaded(text: str) -> Any:
    return json.loads(json.dumps(YAML(typ="safe", pure=True).load(text), default=str))


SCHEMA = jsonschema.Draft202012Validator(choices_schema())


def test_the_schema_is_valid_and_accepts_what_is_read() -> None:
    jsonschema.Draft202012Validator.check_schema(choices_schema())
    assert [fault.message for fault in SCHEMA.iter_errors(loaded(COPY))] == []


@pytest.mark.parametrize(
    ("written", "instead"),
    [
        ("takes: yes", "takes: []"),
        ("    date: 2026-11-04\n", ""),
        ("kind: fingering", "kind: reading"),
        ("  id: rovelin\n", ""),
        ("choices:", "choses:"),
    ],
)
def test_the_schema_refuses_what_is_not_read(tmp_path: Path, written: str, instead: str) -> None:
    text = COPY.replace(written, instead)
    assert list(SCHEMA.iter_errors(loaded(text)))
    assert read(tmp_path, text).value is None


NAMES = st.text(st.characters(categories=["L", "N", "P", "S"], include_characters=" "), min_size=1)


@given(st.lists(NAMES.map(str.strip).filter(bool), min_size=1, unique=True))
def test_names_written_by_a_program_as_json_come_back(
    tmp_path_factory: pytest.TempPathFactory, names: list[str]
) -> None:
    """JSON is YAML (YAML 1.2.2, 1.2): a program may write names as JSON strings in a list."""
    written = json.dumps(names, ensure_ascii=False)
    text = COPY.replace('[low, "no"]', written)
    assert own(tmp_path_factory.mktemp("copy"), text).taken[0].takes == tuple(names)
