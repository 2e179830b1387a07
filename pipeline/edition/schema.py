"""JSON Schemas of record files, edition.yaml and a player's own copy, for text editors.

In: the record models. Out: schemas (JSON Schema, draft 2020-12) that accept what the reader
accepts, the short notations included; what a schema cannot say is left to the reader.
"""

from __future__ import annotations

from typing import Any

from pydantic import TypeAdapter
from pydantic.json_schema import GenerateJsonSchema, JsonSchemaValue
from pydantic_core import core_schema

from pipeline.edition.choices import Choices
from pipeline.edition.head import EditionHead
from pipeline.edition.records import Record

DIALECT = "https://json-schema.org/draft/2020-12/schema"


class _AsWritten(GenerateJsonSchema):
    """Schemas of what an editor types, which text editors read by the YAML 1.2 core schema.

    A year or a page number is then a number, where the reader takes it as the text it is. Nothing
    may be left empty but the reason of a proposed record, so `null` is offered nowhere else.
    """

    def str_schema(self, schema: core_schema.StringSchema) -> JsonSchemaValue:
        written = super().str_schema(schema)
        if "pattern" not in written:
            written["type"] = ["string", "number"]
        return written

    def nullable_schema(self, schema: core_schema.NullableSchema) -> JsonSchemaValue:
        return self.generate_inner(schema["schema"])

    def default_schema(self, schema: core_schema.WithDefaultSchema) -> JsonSchemaValue:
        written = super().default_schema(schema)
        if not isinstance(written.get("default"), str) or not written["default"]:
            written.pop("default", None)  # an empty list or text is nothing to propose
        return written

    def field_title_should_be_set(self, schema: object) -> bool:
        """Tell that a key is its own title."""
        return False

    def function_before_schema(
        self, schema: core_schema.BeforeValidatorFunctionSchema
    ) -> JsonSchemaValue:
        """Tell that a single value may stand where a list may."""
        written = super().function_before_schema(schema)
        if written.get("type") == "array":
            return {"anyOf": [written["items"], written]}
        return written


def record_schema() -> dict[str, Any]:
    """Return the schema of a file of records: a list of them."""
    schema = TypeAdapter(list[Record]).json_schema(schema_generator=_AsWritten)
    return {"$schema": DIALECT, "title": "Records of editorial decisions", **schema}


def head_schema() -> dict[str, Any]:
    """Return the schema of edition.yaml."""
    schema = EditionHead.model_json_schema(schema_generator=_AsWritten)
    return {"$schema": DIALECT, **schema, "title": "edition.yaml"}


def choices_schema() -> dict[str, Any]:
    """Return the schema of a player's own copy, whose records may lack `by` and `reason`."""
    schema = Choices.model_json_schema(schema_generator=_AsWritten)
    for described in schema["$defs"].values():
        if "kind" in described.get("properties", {}) and "place" in described["properties"]:
            described["required"] = [
                key for key in described["required"] if key not in {"by", "reason"}
            ]
    return {"$schema": DIALECT, **schema, "title": "A player's own copy"}
