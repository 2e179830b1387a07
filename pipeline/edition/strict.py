"""The ground of all record models: frozen, no unknown keys, and the scalar types people write.

Values arrive as text, for YAML is not asked what "14", "no" or "2025-03-02" might be; each type
here says what a text means. Numbers and dates are accepted too, for records made by programs.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from datetime import date
from fractions import Fraction
from math import isfinite
from typing import Annotated, Any, get_args, get_origin

from pydantic import AfterValidator, BaseModel, BeforeValidator, ConfigDict, Field, WithJsonSchema

from pipeline.edition.quoting import quoted


class UnfitError(ValueError):
    """A value that does not fit, worded for the editor.

    The text says what was met; `remedy` says what would be right; `path` leads from the value that
    was looked at to the one that is wrong.
    """

    def __init__(self, message: str, remedy: str, path: tuple[str | int, ...] = ()) -> None:
        super().__init__(message)
        self.remedy = remedy
        self.path = path


class Strict(BaseModel):
    """A frozen model that refuses keys it does not know and drops spaces around texts."""

    model_config = ConfigDict(extra="forbid", frozen=True, str_strip_whitespace=True)


MAIN_LANGUAGE = ""
"""Key of prose that was written as plain text: it is in the edition's first language."""


def prose(value: object) -> object:
    """Accept plain text where a text per language may stand."""
    if isinstance(value, str):
        return {MAIN_LANGUAGE: value}
    if isinstance(value, Mapping):
        return value
    raise UnfitError(
        "a text is needed here, or one text per language",
        "Write the text after the key, or `en: …`, `de: …` below it.",
    )


def one_or_many(value: object) -> object:
    """Accept a single value where a list may stand."""
    return value if isinstance(value, list | tuple) else [value]


def bar_number(value: object) -> object:
    """Accept `14` as well as "14a": a bar number is what is printed, not an amount."""
    if isinstance(value, list | tuple | Mapping):
        raise UnfitError(
            "one bar is needed here", "Write the first bar here and the last one under `to`."
        )
    return str(value) if isinstance(value, int) and not isinstance(value, bool) else value


def staff_name(value: object) -> int | str:
    """Return the number of a staff, or its label where it is not a number."""
    if isinstance(value, str) and re.fullmatch(r"\s*[0-9]{1,3}\s*", value):
        value = int(value)
    if isinstance(value, int) and value < 1:
        raise UnfitError(
            f"there is no staff {value}", "Staves count from 1, from the top of the score."
        )
    if not isinstance(value, int | str) or not str(value).strip():
        raise UnfitError(
            "a staff is named by its number or its label", "Write `staff: 2` or its label."
        )
    return value


_BEAT = re.compile(
    r"(?P<whole>[0-9]{1,4}(?:\.[0-9]{1,6})?)(?:\s+(?P<part>[0-9]{1,4}/[0-9]{1,4}))?"
    r"|(?P<only>[0-9]{1,4}/[0-9]{1,4})"
)


def exact_fraction(value: object) -> Fraction:
    """Return 2, 2.5, "2 1/3" or "7/3" as an exact number of beats, counted from 1."""
    beat = _fraction(value)
    if beat is None:
        raise UnfitError(
            f"{quoted(str(value))} is no beat" if isinstance(value, str) else "this is no beat",
            "Write the beat in figures, such as 2, 2.5 or 2 1/3.",
        )
    if beat < 1:
        raise UnfitError(f"there is no beat {value}", "Beats count from 1.")
    return beat


def _fraction(value: object) -> Fraction | None:
    if isinstance(value, Fraction):
        return value
    if isinstance(value, float | int) and not isinstance(value, bool):
        return Fraction(value).limit_denominator(960) if isfinite(value) else None
    found = _BEAT.fullmatch(value.strip()) if isinstance(value, str) else None
    if found is None or (found["part"] and "." in found["whole"]):
        return None
    try:
        return Fraction(found["only"] or found["whole"]) + Fraction(found["part"] or 0)
    except ZeroDivisionError:
        return None


def calendar_day(value: object) -> date:
    """Return a day written as year-month-day (ISO 8601, calendar date, extended format)."""
    if isinstance(value, date):
        return value
    written = value.strip() if isinstance(value, str) else ""
    remedy = "Write the day as year-month-day, such as 2025-03-02."
    if not re.fullmatch(r"[0-9]{4}-[0-9]{2}-[0-9]{2}", written):
        raise UnfitError(f"{quoted(written)} is no date" if written else "this is no date", remedy)
    try:
        return date.fromisoformat(written)
    except ValueError:
        raise UnfitError(f"the calendar has no day {written}", remedy) from None


def yes_or_no(value: object) -> bool:
    """Return whether somebody wrote yes."""
    meant = {"true": True, "yes": True, "false": False, "no": False}.get(str(value).strip().lower())
    if meant is None:
        met = quoted(value) if isinstance(value, str) else "this"
        raise UnfitError(f"{met} is neither yes nor no", "Write `yes` or `no`.")
    return meant


def _one_main_language(text: Mapping[str, str]) -> Mapping[str, str]:
    if MAIN_LANGUAGE in text and len(text) > 1:
        raise UnfitError(
            "one of the texts has no language", "Give each text the code of its language."
        )
    return text


def _matching(pattern: str, what: str, remedy: str) -> AfterValidator:
    """Return a validator for texts of that pattern, which says what else is no ..."""

    def validate(text: str) -> str:
        if re.search(pattern, text) is None or not text.isprintable():
            raise UnfitError(f"{quoted(text) if text else 'this'} is no {what}", remedy)
        return text

    return AfterValidator(validate)


_ID = r"^[A-Za-z][A-Za-z0-9._-]*$"
_SIGLUM = r"^[^\s,;]{1,20}$"
_LANGUAGE = r"^[a-z]{2,3}(-[A-Za-z0-9]{2,8})*$"
_NOTE_VALUE = r"^(1|2|4|8|16)\.?$"

Text = Annotated[str, Field(min_length=1)]
"""A text that says something."""

RecordId = Annotated[
    str,
    _matching(
        _ID,
        "id of a record",
        "An id is a letter, then letters, digits, `.`, `_` or `-`, such as b14-slur.",
    ),
    WithJsonSchema({"type": "string", "pattern": _ID}),
]
"""The id of a record: xml:ids are derived from it."""

AgentId = Annotated[
    str,
    _matching(
        _ID,
        "id of an agent",
        "Use the key of an agent in edition.yaml: a letter, then letters, digits, `.`, `_` or `-`.",
    ),
    WithJsonSchema({"type": "string", "pattern": _ID}),
]
"""The key of an agent in edition.yaml: xml:ids are derived from it."""

Siglum = Annotated[
    str,
    _matching(
        _SIGLUM,
        "siglum",
        "A siglum is a short label without spaces, such as A or E1; several are written [A, E1].",
    ),
    WithJsonSchema({"type": "string", "pattern": _SIGLUM}),
]
"""The label of a witness, as printed in the commentary."""

_WHICH_CODE = "Write the code of the language, such as en, de or pt-BR."
Language = Annotated[
    str,
    _matching(_LANGUAGE, "language code", _WHICH_CODE),
    WithJsonSchema({"type": "string", "pattern": _LANGUAGE}),
]
"""A language code (IETF BCP 47, language with optional script, region or variant)."""

NoteValue = Annotated[
    str,
    _matching(
        _NOTE_VALUE, "note value", "Write 1, 2, 4, 8 or 16, with a dot if it is dotted, such as 4."
    ),
    WithJsonSchema(
        {"anyOf": [{"enum": [1, 2, 4, 8, 16]}, {"type": "string", "pattern": _NOTE_VALUE}]}
    ),
]
"""A note value as in MEI data.DURATION.cmn, with an augmentation dot if dotted."""

YesNo = Annotated[
    bool,
    BeforeValidator(yes_or_no),
    WithJsonSchema({"enum": [True, False, "yes", "no"]}),
]

Day = Annotated[date, BeforeValidator(calendar_day)]

BarNumber = Annotated[
    Text,
    BeforeValidator(bar_number),
    WithJsonSchema({"type": ["string", "integer"]}),
]
"""A bar number as printed."""

StaffName = Annotated[
    int | str,
    BeforeValidator(staff_name),
    WithJsonSchema({"anyOf": [{"type": "integer", "minimum": 1}, {"type": "string"}]}),
]

Beat = Annotated[
    Fraction,
    BeforeValidator(exact_fraction),
    WithJsonSchema(
        {
            "anyOf": [
                {"type": "number", "minimum": 1},
                {"type": "string", "pattern": r"^\d+(\.\d+)?$|^(\d+\s+)?\d+/\d+$"},
            ]
        }
    ),
]
"""A beat, exact, counted from 1."""

_PROSE_SCHEMA: dict[str, Any] = {
    "anyOf": [
        {"type": "string", "minLength": 1},
        {
            "type": "object",
            "propertyNames": {"pattern": _LANGUAGE},
            "additionalProperties": {"type": "string", "minLength": 1},
        },
    ]
}

Prose = Annotated[
    Mapping[Annotated[str, _matching(rf"^$|{_LANGUAGE}", "language code", _WHICH_CODE)], Text],
    AfterValidator(_one_main_language),
    BeforeValidator(prose),
    WithJsonSchema(_PROSE_SCHEMA),
]
"""Text by language code; plain text counts as the edition's first language."""

Reason = Annotated[
    Prose,
    BeforeValidator(lambda value: {} if value is None else value),
    WithJsonSchema({"anyOf": [*_PROSE_SCHEMA["anyOf"], {"type": "null"}]}),
]
"""Prose that may still be empty; the record says when."""


def in_language(text: Mapping[str, str], language: str, main: str) -> str | None:
    """Return the prose in that language, or None where the editor has not written it."""
    if language in text:
        return text[language]
    return text.get(MAIN_LANGUAGE) if language == main else None


def holds_prose(annotation: object) -> bool:
    """Return whether a field is text by language code, whatever the patterns set on both."""
    if get_origin(annotation) is not Mapping:
        return False
    return all(
        part is str or (get_origin(part) is Annotated and get_args(part)[0] is str)
        for part in get_args(annotation)
    )
