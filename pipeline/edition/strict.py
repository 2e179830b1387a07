"""The ground of all record models: frozen, no unknown keys, and the scalar types people write.

Values arrive as text, for YAML is not asked what "14", "no" or "2025-03-02" might be; each type
here says what a text means. Numbers and dates are accepted too, for records made by programs.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from datetime import date
from fractions import Fraction
from typing import Annotated, Any

from pydantic import AfterValidator, BaseModel, BeforeValidator, ConfigDict, Field, WithJsonSchema


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

_NAME = r"^[A-Za-z][A-Za-z0-9._-]*$"
_SIGLUM = r"^[^\s,;]+$"
_LANGUAGE = r"^[a-z]{2,3}(-[A-Za-z0-9]{2,8})*$"
_PROSE_LANGUAGE = rf"^$|{_LANGUAGE}"
_NOTE_VALUE = r"^(1|2|4|8|16)\.?$"

PATTERN_MEANS: Mapping[str, tuple[str, str]] = {
    _NAME: (
        "a name of letters, digits, `.`, `_` and `-` that begins with a letter",
        "Write a short name such as `b14-slur`; it never changes once it is used.",
    ),
    _SIGLUM: ("a siglum", "A siglum is a short label without spaces, such as A, E1 or [D]."),
    _LANGUAGE: ("a language code", "Write the code of the language, such as en, de or pt-BR."),
    _PROSE_LANGUAGE: (
        "a language code",
        "Write the code of the language, such as en, de or pt-BR.",
    ),
    _NOTE_VALUE: ("a note value", "Write 1, 2, 4, 8 or 16, with a dot if it is dotted, such as 4."),
}
"""What each pattern stands for, and what to do where a text does not match it."""


def prose(value: object) -> object:
    """Accept plain text where a text per language may stand."""
    return {MAIN_LANGUAGE: value} if isinstance(value, str) else value


def one_or_many(value: object) -> object:
    """Accept a single value where a list may stand."""
    return value if isinstance(value, list | tuple) else [value]


def bar_number(value: object) -> object:
    """Accept `14` as well as "14a": a bar number is what is printed, not an amount."""
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
    """Return 2, 2.5, "2 1/3" or "7/3" as an exact number of beats."""
    if isinstance(value, Fraction):
        return value
    if isinstance(value, float | int) and not isinstance(value, bool):
        return Fraction(value).limit_denominator(960)
    found = _BEAT.fullmatch(value.strip()) if isinstance(value, str) else None
    try:
        if found is not None and not (found["part"] and "." in found["whole"]):
            return Fraction(found["only"] or found["whole"]) + Fraction(found["part"] or 0)
    except ZeroDivisionError:
        pass
    met = f"`{value}`" if isinstance(value, str) else "this"
    raise UnfitError(f"{met} is no beat", "Write the beat in figures, such as 2, 2.5 or 2 1/3.")


def calendar_day(value: object) -> date:
    """Return a day written as year-month-day (ISO 8601, calendar date, extended format)."""
    if isinstance(value, date):
        return value
    written = value.strip() if isinstance(value, str) else ""
    remedy = "Write the day as year-month-day, such as 2025-03-02."
    if not re.fullmatch(r"[0-9]{4}-[0-9]{2}-[0-9]{2}", written):
        raise UnfitError(f"`{written}` is no date" if written else "this is no date", remedy)
    try:
        return date.fromisoformat(written)
    except ValueError:
        raise UnfitError(f"the calendar has no day {written}", remedy) from None


def yes_or_no(value: object) -> bool:
    """Return whether somebody wrote yes."""
    meant = {"true": True, "yes": True, "false": False, "no": False}.get(str(value).strip().lower())
    if meant is None:
        raise UnfitError("this is neither yes nor no", "Write `true` or `false`.")
    return meant


def _one_main_language(text: Mapping[str, str]) -> Mapping[str, str]:
    if MAIN_LANGUAGE in text and len(text) > 1:
        raise UnfitError(
            "one of the texts has no language", "Give each text the code of its language."
        )
    return text


Text = Annotated[str, Field(min_length=1)]
"""A text that says something."""

Name = Annotated[str, Field(pattern=_NAME)]
"""The id of a record or agent: xml:ids are derived from it."""

Siglum = Annotated[str, Field(pattern=_SIGLUM)]
"""The label of a witness, as printed in the commentary."""

Language = Annotated[str, Field(pattern=_LANGUAGE)]
"""A language code (IETF BCP 47, language with optional script, region or variant)."""

NoteValue = Annotated[
    str,
    Field(pattern=_NOTE_VALUE),
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
    Field(ge=1),
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
            "minProperties": 1,
        },
    ]
}

Prose = Annotated[
    Mapping[Annotated[str, Field(pattern=_PROSE_LANGUAGE)], Text],
    Field(min_length=1),
    AfterValidator(_one_main_language),
    BeforeValidator(prose),
    WithJsonSchema(_PROSE_SCHEMA),
]
"""Text by language code; plain text counts as the edition's first language."""


def in_language(text: Mapping[str, str], language: str, main: str) -> str | None:
    """Return the prose in that language, or None where the editor has not written it."""
    if language in text:
        return text[language]
    return text.get(MAIN_LANGUAGE) if language == main else None
