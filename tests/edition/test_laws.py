"""What holds for every record: writing it down and reading it gives it back, with its lines."""

from __future__ import annotations

import io
import json
import random
from typing import Any

import jsonschema
import pytest
from hypothesis import Phase, given, settings
from hypothesis import strategies as st
from ruamel.yaml import YAML

from pipeline.edition.read import read_edition
from pipeline.edition.record_files import read_record_file
from pipeline.edition.records import EditorialRecord
from pipeline.edition.schema import record_schema
from pipeline.problems import as_json
from tests.edition.generated_records import records, written
from tests.edition.right_records import RECORDS, edition_folder

# Explaining a failure traces every line of the YAML library and takes minutes.
LAW = settings(deadline=None, phases=[p for p in Phase if p is not Phase.explain])
SCHEMA = jsonschema.Draft202012Validator(record_schema())


def as_yaml(value: Any, flow: bool | None = None) -> str:
    """Write with an independent library: what it quotes or not is its decision, not ours."""
    writer = YAML(typ="safe", pure=True)
    writer.default_flow_style = flow
    writer.allow_unicode = True
    stream = io.StringIO()
    writer.dump(value, stream)
    return stream.getvalue()


def shuffled(value: Any, by: random.Random) -> Any:
    """Return the value with the keys of every mapping in another order."""
    if isinstance(value, dict):
        keys = list(value)
        by.shuffle(keys)
        return {key: shuffled(value[key], by) for key in keys}
    return [shuffled(one, by) for one in value] if isinstance(value, list) else value


@given(record=records, flow=st.sampled_from([True, False, None]))
@settings(LAW, max_examples=80)
def test_a_record_written_down_and_read_is_the_same(
    record: EditorialRecord, flow: bool | None
) -> None:
    outcome = read_record_file(as_yaml([written(record)], flow), "r.yaml")
    assert outcome.problems == ()
    assert [filed.record for filed in outcome.value or ()] == [record]


@given(record=records, by=st.randoms(use_true_random=False))
@settings(LAW, max_examples=50)
def test_the_order_of_keys_does_not_matter(record: EditorialRecord, by: random.Random) -> None:
    outcome = read_record_file(as_yaml([shuffled(written(record), by)], flow=False), "r.yaml")
    assert [filed.record for filed in outcome.value or ()] == [record]


@given(several=st.lists(records, min_size=1, max_size=3, unique_by=lambda record: record.id))
@settings(LAW, max_examples=50)
def test_origins_are_where_an_independent_parser_sees_the_keys(
    several: list[EditorialRecord],
) -> None:
    text = as_yaml([written(record) for record in several], flow=False)
    seen = YAML(typ="rt", pure=True).load(text)
    outcome = read_record_file(text, "r.yaml")
    assert outcome.value is not None
    for index, filed in enumerate(outcome.value):
        for path, (line, col) in _positions(seen[index], ()):
            origin = filed.origins.at(*path)
            assert (origin.line, origin.col) == (line + 1, col + 1)


def _positions(node: Any, path: tuple[Any, ...]) -> Any:
    if isinstance(node, dict):
        for key, value in node.items():
            yield (*path, str(key)), node.lc.key(key)
            yield from _positions(value, (*path, str(key)))
    elif isinstance(node, list):
        for index, value in enumerate(node):
            yield (*path, index), node.lc.item(index)
            yield from _positions(value, (*path, index))


@given(record=records)
@settings(LAW, max_examples=60)
def test_the_schema_for_text_editors_accepts_every_record(record: EditorialRecord) -> None:
    as_an_editor_sees_it = YAML(typ="safe", pure=True).load(as_yaml([written(record)]))
    plain = json.loads(json.dumps(as_an_editor_sees_it, default=str))
    assert [fault.message for fault in SCHEMA.iter_errors(plain)] == []


@given(text=st.text("-:?[]{}&*!|>'\"%@`#,. \t\n\\abeginkdyx10~", max_size=80))
@settings(LAW, max_examples=60)
def test_no_text_whatever_ends_in_anything_but_problems(text: str) -> None:
    outcome = read_record_file(text, "r.yaml")
    assert outcome.problems
    assert outcome.value == ()


@given(data=st.data(), text=st.sampled_from([*RECORDS.values()]))
@settings(LAW, max_examples=60)
def test_a_slip_of_the_pen_is_read_or_told_with_a_place_inside_the_file(
    data: st.DataObject, text: str
) -> None:
    at = data.draw(st.integers(0, len(text) - 1))
    instead = data.draw(
        st.sampled_from(["", ":", " ", "\n", "'", '"', "[", "}", "-", "x", "1", "#"])
    )
    slipped = text[:at] + instead + text[at + 1 :]
    outcome = read_record_file(slipped, "r.yaml")
    assert outcome.value or outcome.problems
    lines = slipped.split("\n")
    for problem in outcome.problems:
        assert problem.message
        assert problem.remedy
        assert 1 <= problem.origin.line <= len(lines)
        assert 1 <= problem.origin.col <= len(lines[problem.origin.line - 1]) + 1


@given(raw=st.binary(max_size=60))
@settings(LAW, max_examples=60)
def test_no_bytes_whatever_end_in_anything_but_problems(
    raw: bytes, tmp_path_factory: pytest.TempPathFactory
) -> None:
    folder = edition_folder(tmp_path_factory.mktemp("raw") / "edition", {"a.yaml": raw})
    outcome = read_edition(folder)
    assert outcome.value is not None
    assert outcome.value.records == ()
    assert outcome.problems
    assert as_json(outcome.problems)
