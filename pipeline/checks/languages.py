"""Rules about prose: every text is there in every language of the edition."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from pydantic import BaseModel

from pipeline.checks.material import Material
from pipeline.checks.rule import Fault
from pipeline.checks.wording import place_in_words, suggestion
from pipeline.edition.model import Origins, Step
from pipeline.edition.records import Status
from pipeline.edition.strict import MAIN_LANGUAGE, holds_prose, in_language
from pipeline.problems import Origin

Prose = Mapping[str, str]
Path = tuple[Step, ...]


def missing_translation(material: Material) -> Iterator[Fault]:
    """A text that is not there in one of the edition's languages.

    A reader of that language would find a gap where others find a reason.
    """
    languages = material.edition.head.languages
    main = material.edition.head.main_language
    for text, origins, path, place in _all_prose(material):
        if _is_personal_name(path) and MAIN_LANGUAGE in text:
            continue
        missing = [code for code in languages if in_language(text, code, main) is None]
        if missing:
            name = ".".join(str(step) for step in path if isinstance(step, str))
            yield Fault(
                origins.at(*path),
                f"`{name}` is missing in {' and '.join(missing)}",
                f"Write `{path[-1]}` with one text for each language: "
                f"{', '.join(f'`{code}:`' for code in languages)}.",
                place,
            )


def text_in_a_language_of_its_own(material: Material) -> Iterator[Fault]:
    """A text in a language that the edition does not have.

    Nobody would ever read it.
    """
    languages = material.edition.head.languages
    for text, origins, path, place in _all_prose(material):
        for code in text:
            if code != MAIN_LANGUAGE and code not in languages:
                yield Fault(
                    origins.at(*path, code),
                    f"`{code}` is not a language of this edition",
                    suggestion(code, languages, "Languages are"),
                    place,
                )
    for written in material.edition.texts:
        if written.language not in languages:
            yield Fault(
                written.origin,
                f"`{written.language}` is not a language of this edition",
                suggestion(written.language, languages, "Languages are"),
            )


def missing_text(material: Material) -> Iterator[Fault]:
    """A preface or another text that is not there in one of the edition's languages.

    The volume in that language would come out without it.
    """
    languages = material.edition.head.languages
    there: dict[str, dict[str, Origin]] = {}
    for text in material.edition.texts:
        there.setdefault(text.name, {})[text.language] = text.origin
    for name, found in there.items():
        for code in languages:
            if code not in found:
                yield Fault(
                    next(iter(found.values())),
                    f"the text `{name}` is missing in {code}",
                    f"Add `texts/{name}.{code}.md`.",
                )


def _all_prose(material: Material) -> Iterator[tuple[Prose, Origins, Path, str]]:
    head, origins = material.edition.head, material.edition.head_origins
    for text, path in _prose_in(head, ()):
        yield text, origins, path, ""
    for filed in material.edition.records:
        if filed.record.status is Status.SUPERSEDED or filed.record.id in material.owned:
            continue  # a player writes for one reader
        place = place_in_words(filed.record.place)
        for text, path in _prose_in(filed.record, ()):
            yield text, filed.origins, path, place


def _is_personal_name(path: Path) -> bool:
    """Return whether the text is the name of an agent: a person is called the same everywhere."""
    return path[0] == "agents" and path[-1] == "name"


def _prose_in(value: object, path: Path) -> Iterator[tuple[Prose, Path]]:
    """Yield every text per language inside a model, with the path of keys to it."""
    if isinstance(value, BaseModel):
        for name, field in type(value).model_fields.items():
            inner = getattr(value, name)
            if holds_prose(field.annotation):
                if inner:
                    yield inner, (*path, name)
            else:
                yield from _prose_in(inner, (*path, name))
    elif isinstance(value, Mapping):
        for key, inner in value.items():
            yield from _prose_in(inner, (*path, str(key)))
    elif isinstance(value, tuple):
        for index, inner in enumerate(value):
            yield from _prose_in(inner, (*path, index))
