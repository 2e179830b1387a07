"""The ground of all record models: frozen, no unknown keys, and the scalar types people write."""

from __future__ import annotations

from collections.abc import Mapping
from fractions import Fraction
from typing import Annotated

from pydantic import BaseModel, BeforeValidator, ConfigDict


class Strict(BaseModel):
    """A frozen model that refuses keys it does not know."""

    model_config = ConfigDict(extra="forbid", frozen=True, populate_by_name=True)


MAIN_LANGUAGE = ""
"""Key of prose that was written as plain text: it is in the edition's first language."""


def prose(value: object) -> object:
    """Accept plain text where a text per language may stand."""
    return {MAIN_LANGUAGE: value} if isinstance(value, str) else value


def one_or_many(value: object) -> object:
    """Accept a single value where a list may stand."""
    return value if isinstance(value, list | tuple) else [value]


def bar_number(value: object) -> object:
    """Accept `14` as well as "14a": a bar number is what is printed, not an amount."""
    return str(value) if isinstance(value, int) and not isinstance(value, bool) else value


def exact_fraction(value: object) -> object:
    """Accept 2, 2.5, "2 1/3" and "7/3" as an exact number of beats."""
    if isinstance(value, str):
        whole, _, rest = value.strip().partition(" ")
        try:
            return Fraction(whole) + (Fraction(rest) if rest else 0)
        except (ValueError, ZeroDivisionError) as wrong:
            raise ValueError("a beat is a number such as 2, 2.5 or 2 1/3") from wrong
    if isinstance(value, float):
        return Fraction(value).limit_denominator(960)
    return value


Prose = Annotated[Mapping[str, str], BeforeValidator(prose)]
"""Text by language code; plain text counts as the edition's first language."""


def in_language(text: Mapping[str, str], language: str, main: str) -> str | None:
    """Return the prose in that language, or None where the editor has not written it."""
    if language in text:
        return text[language]
    return text.get(MAIN_LANGUAGE) if language == main else None
