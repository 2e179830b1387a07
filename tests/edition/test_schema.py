"""The schemas that text editors complete from, judged by an independent validator.

Against: JSON Schema, draft 2020-12, as the `jsonschema` library implements it; files are read as an
editor reads them, by the YAML 1.2 core schema (ruamel.yaml).
"""

from __future__ import annotations

import json
from typing import Any

import jsonschema
import pytest
from ruamel.yaml import YAML

from pipeline.edition.head import EditionHead
from pipeline.edition.record_files import read_record_file
from pipeline.edition.records import RECORD_OF_KIND
from pipeline.edition.schema import head_schema, record_schema
from pipeline.edition.shape import nested_models
from tests.edition.right_records import HEAD, RECORDS, with_line

RECORD = jsonschema.Draft202012Validator(record_schema())
EDITION = jsonschema.Draft202012Validator(head_schema())


def loaded(text: str) -> Any:
    return json.loads(json.dumps(YAML(typ="safe", pure=True).load(text), default=str))


@pytest.mark.parametrize("schema", [record_schema(), head_schema()], ids=["records", "edition"])
def test_each_is_a_valid_schema(schema: dict[str, Any]) -> None:
    jsonschema.Draft202012Validator.check_schema(schema)
    assert schema["$schema"] == "https://json-schema.org/draft/2020-12/schema"


@pytest.mark.parametrize("kind", RECORDS)
def test_records_with_every_field_and_short_notation_are_accepted(kind: str) -> None:
    assert [fault.message for fault in RECORD.iter_errors(loaded(RECORDS[kind]))] == []


def test_a_right_edition_yaml_is_accepted() -> None:
    assert [fault.message for fault in EDITION.iter_errors(loaded(HEAD))] == []


@pytest.mark.parametrize(
    ("kind", "line", "instead"),
    [
        ("remark", "by:", "bye: editor"),
        ("remark", "by:", ""),
        ("remark", "kind:", "kind: remarks"),
        ("remark", "status:", "status: acepted"),
        ("remark", "place:", "place: {movement: 1, bar: 70, beat: 2, note: 1}"),
        ("remark", "place:", "place: {movement: 1, bar: 70, to: {}}"),
        ("ossia", "reason:", "reason:"),
        ("reading", "lemma:", "lemma: A and E1"),
        ("reading", "- {witnesses: [E1]", "- {witnesses: [E1], music: {}}"),
        ("emendation", "readings:", "readings: []"),
        ("fingering", "fingers:", "fingers: [1, 2 of D]"),
        ("fingering", "fingers:", "fingers: []"),
        ("bowing", "signs:", "signs: {1: downwards}"),
        ("bowing", "signs:", "opposite: yes"),
    ],
)
def test_what_the_reader_refuses_is_marked_while_typing(kind: str, line: str, instead: str) -> None:
    assert not RECORD.is_valid(loaded(with_line(RECORDS[kind], line, instead)))


def test_a_proposed_record_may_leave_its_reason_open() -> None:
    open_ = with_line(RECORDS["remark"], "reason:", "reason:")
    assert "status: proposed" in open_
    assert RECORD.is_valid(loaded(open_))
    outcome = read_record_file(open_, "r.yaml")
    assert outcome.problems == ()
    assert outcome.value is not None
    assert outcome.value[0].record.reason == {}


def test_every_key_explains_itself() -> None:
    models = [*RECORD_OF_KIND.values(), EditionHead]
    for model in models:
        models.extend(nested for _, nested in nested_models(model) if nested not in models)
    silent = [
        f"{model.__name__}.{name}"
        for model in models
        for name, field in model.model_fields.items()
        if not field.description
        and name != "kind"
        and model.__name__ not in {"Finger", "Fingering"}
    ]
    assert silent == []
