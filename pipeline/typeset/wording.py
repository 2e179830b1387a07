"""The wording of a language: one file a language in `wording/`, every key the same in each.

Adding a language is adding one file. Plural forms follow the Unicode CLDR rules and dates the CLDR
patterns, both by Babel.
"""

from __future__ import annotations

import importlib.resources
import re
import string
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from datetime import date
from functools import cache
from typing import Any

from babel import Locale
from babel.dates import format_date
from babel.lists import format_list
from babel.numbers import format_decimal
from markupsafe import Markup, escape

from pipeline.problems import Origin, Outcome, error
from pipeline.typeset.signs import in_signs_face

_DAY, _MONTH = re.compile(r"\d{4}-\d{2}-\d{2}"), re.compile(r"\d{4}-\d{2}")
_PLURALS = {"zero", "one", "two", "few", "many", "other"}
Template = str | Mapping[str, str]


@dataclass(frozen=True)
class Wording:
    """All texts of a language by dotted key; see `wording/en.yaml` for what each is."""

    code: str
    texts: Mapping[str, Template]

    def say(self, key: str, n: int | None = None, **values: object) -> Markup:
        """Return the text with its names filled in; what is filled in is escaped.

        `n` chooses the plural form and fills `{n}`. Raises KeyError for a key or a name that is
        not there: a gap in the wording must never reach the page.
        """
        template = self.texts[key]
        if not isinstance(template, str):
            template = template[self._form(1 if n is None else n)]
        if n is not None:
            values = {"n": n, **values}
        filled = {
            name: in_signs_face(escape(value)) if isinstance(value, str) else value
            for name, value in values.items()
            if not isinstance(value, Markup)
        }
        filled |= {name: value for name, value in values.items() if isinstance(value, Markup)}
        return in_signs_face(Markup(template)).format(**filled)

    def has(self, key: str) -> bool:
        """Return whether the language has that text."""
        return key in self.texts

    def names(self, section: str) -> dict[str, str]:
        """Return the plain texts of a section by the last part of their key."""
        start = f"{section}."
        return {
            key.removeprefix(start): text
            for key, text in self.texts.items()
            if key.startswith(start) and isinstance(text, str)
        }

    def day(self, day: date) -> str:
        """Return a date as the language writes it."""
        return format_date(day, self.plain("dates.day"), locale=self.locale)

    def date(self, written: str) -> str:
        """Return a date written as ISO 8601 has it (1888-11-02, 1888-11) as the language writes it.

        Anything else, such as `ca. 1905`, is given as it stands.
        """
        try:
            if _DAY.fullmatch(written):
                return self.day(date.fromisoformat(written))
            if _MONTH.fullmatch(written):
                first = date.fromisoformat(f"{written}-01")
                return format_date(first, self.plain("dates.month"), locale=self.locale)
        except ValueError:
            return written
        return written

    def number(self, amount: float, places: int) -> str:
        """Return a number with so many decimal places as the language writes it."""
        return format_decimal(amount, format=f"0.{'0' * places}", locale=self.locale)

    @property
    def locale(self) -> str:
        """The CLDR locale of lists, dates and plurals; the language itself where none is named."""
        return str(self.texts.get("locale", self.code)).replace("-", "_")

    def listed(self, items: Iterable[str | Markup]) -> Markup:
        """Return the items joined as the language joins them: "a, b and c"."""
        parts = [escape(item) for item in items]
        holders = [f"\x00{index}\x00" for index in range(len(parts))]
        joined = str(escape(format_list(holders, locale=self.locale)))
        for holder, part in zip(holders, parts, strict=True):
            joined = joined.replace(holder, part)
        return Markup(joined)

    def quoted(self, text: str | Markup) -> Markup:
        """Return the text in the language's quotation marks."""
        return Markup("{}{}{}").format(self.plain("quotes.open"), text, self.plain("quotes.close"))

    def plain(self, key: str) -> str:
        """Return a text that has no plural forms and nothing to fill in, as it is written."""
        text = self.texts[key]
        if not isinstance(text, str):
            raise KeyError(f"{key} has plural forms")
        return text

    def _form(self, n: int) -> str:
        return str(Locale.parse(self.locale).plural_form(n))


def languages() -> tuple[str, ...]:
    """Return the codes of the languages there is wording for."""
    files = (importlib.resources.files("pipeline.typeset") / "wording").iterdir()
    return tuple(sorted(f.name.removesuffix(".yaml") for f in files if f.name.endswith(".yaml")))


@cache
def wording_of(language: str) -> Wording:
    """Return the wording of a language. Raises KeyError where there is none."""
    from ruamel.yaml import YAML

    if language not in languages():
        raise KeyError(f"no wording for {language}")
    file = importlib.resources.files("pipeline.typeset") / "wording" / f"{language}.yaml"
    loaded = YAML(typ="safe", pure=True).load(file.read_text("utf-8"))
    return Wording(language, dict(_flat(loaded, "")))


def find_wording(language: str, origin: Origin) -> Outcome[Wording]:
    """Return the wording of a language, or the problem that there is none."""
    if language in languages():
        return Outcome(wording_of(language))
    return Outcome(
        None,
        (
            error(
                "no-wording",
                origin,
                f"there is no wording for the language `{language}`",
                f"Choose one of {', '.join(languages())}, or add a wording file.",
            ),
        ),
    )


def placeholders(template: Template) -> frozenset[str]:
    """Return the names that a text expects to be filled in."""
    texts = [template] if isinstance(template, str) else list(template.values())
    return frozenset(
        name for text in texts for _, name, _, _ in string.Formatter().parse(text) if name
    )


def _flat(value: Mapping[str, Any], before: str) -> Iterator[tuple[str, Template]]:
    for key, inner in value.items():
        path = f"{before}{key}"
        if not isinstance(inner, Mapping):
            yield path, str(inner)
        elif inner and set(inner) <= _PLURALS:
            yield path, {str(form): str(text) for form, text in inner.items()}
        else:
            yield from _flat(inner, f"{path}.")
