"""What does not fit a record or edition.yaml, told to the editor at the key or value itself.

In: the faults that pydantic finds (https://docs.pydantic.dev/latest/errors/validation_errors/).
Out: problems in the words of the trade; nothing of pydantic's own wording is shown.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from typing import Any

from pydantic import BaseModel

from pipeline.edition.plain_values import Plain
from pipeline.edition.quoting import listed, quoted
from pipeline.edition.records import RECORD_OF_KIND
from pipeline.edition.shape import Step, model_at, nested_models, spoken_name, with_article
from pipeline.edition.strict import UnfitError
from pipeline.edition.suggestions import closest
from pipeline.problems import Problem, error


def tell(
    model: type[BaseModel], written: Plain, faults: Iterable[Mapping[str, Any]]
) -> tuple[Problem, ...]:
    """Return what keeps a written value from being `model`, each slip once.

    Left out is what only follows from another slip: a value that is not there, a key that is
    missing because it is misspelt, a list that is short because its entries are wrong.
    """
    faults = tuple(faults)
    empty = written.empty()
    meant = {_meant(model, _path(fault)) for fault in faults if fault["type"] == "extra_forbidden"}
    return tuple(
        _told(model, written, fault)
        for fault in faults
        if not any(_path(fault)[: len(path)] == path for path in empty)
        and not (fault["type"] == "missing" and _path(fault) in meant)
        and not (fault["type"] == "too_short" and fault["input"])
    )


def _path(fault: Mapping[str, Any]) -> tuple[Step, ...]:
    return tuple(fault["loc"])


def _told(model: type[BaseModel], written: Plain, fault: Mapping[str, Any]) -> Problem:
    path = _path(fault)
    if fault["type"] == "extra_forbidden":
        return _unknown_key(model, written, path)
    if fault["type"] == "missing":
        return _missing_key(model, written, path)
    if path and path[-1] == _KEY_ITSELF:
        return _unfit_key(written, path[:-1], fault)
    return _unfit_value(model, written, path, fault)


def shown(value: object) -> str:
    """Return what was met in words: the text itself, or what it is instead of one."""
    if isinstance(value, dict):
        return "a set of keys"
    if isinstance(value, list | tuple):
        return "a list"
    return quoted(str(value))


def _unknown_key(model: type[BaseModel], written: Plain, path: tuple[Step, ...]) -> Problem:
    key = str(path[-1])
    owner = model_at(model, path[:-1]) or model
    message = f"{quoted(key)} is no key of {with_article(spoken_name(owner))}"
    meant = _meant(model, path)
    if meant is not None:
        remedy = f"Did you mean `{meant[-1]}`?"
    else:
        remedy = _belongs_elsewhere(key, owner) or _keys_of(owner)
    if key == "<<":
        remedy = "Write the keys out; they are not merged from elsewhere."
    return error("unknown-key", written.key_origin(path), message, remedy)


def _meant(model: type[BaseModel], path: tuple[Step, ...]) -> tuple[Step, ...] | None:
    """Return the path that was meant by one that ends in an unknown key."""
    owner = model_at(model, path[:-1]) or model
    key = str(path[-1])
    near = None if _belongs_elsewhere(key, owner) else closest(key, owner.model_fields)
    return None if near is None else (*path[:-1], near)


def _belongs_elsewhere(key: str, owner: type[BaseModel]) -> str | None:
    inside = [name for name, nested in nested_models(owner) if key in nested.model_fields]
    if inside:
        return f"{quoted(key)} belongs under {listed(inside)}."
    kinds = [kind for kind, record in RECORD_OF_KIND.items() if key in record.model_fields]
    if owner in RECORD_OF_KIND.values() and kinds:
        return f"{quoted(key)} belongs to a record of kind {listed(kinds)}."
    return None


def _keys_of(owner: type[BaseModel]) -> str:
    return f"Its keys are {listed([*owner.model_fields], 'and')}."


def _missing_key(model: type[BaseModel], written: Plain, path: tuple[Step, ...]) -> Problem:
    key = str(path[-1])
    owner = model_at(model, path[:-1]) or model
    about = owner.model_fields[key].description if key in owner.model_fields else None
    return error(
        "missing-key",
        written.value_origin(path[:-1]),
        f"{with_article(spoken_name(owner))} needs `{key}`",
        f"Add `{key}`: {about}." if about else f"Add `{key}`.",
    )


def _unfit_key(written: Plain, path: tuple[Step, ...], fault: Mapping[str, Any]) -> Problem:
    origin = written.key_origin(path)
    unfit = fault.get("ctx", {}).get("error")
    if isinstance(unfit, UnfitError):
        return error("wrong-value", origin, str(unfit), unfit.remedy)
    expected, remedy = _expected(fault)
    message = f"the key is {quoted(str(path[-1]))}; {expected} is needed here"
    return error("wrong-value", origin, message, remedy)


def _unfit_value(
    model: type[BaseModel], written: Plain, path: tuple[Step, ...], fault: Mapping[str, Any]
) -> Problem:
    unfit = fault.get("ctx", {}).get("error")
    if isinstance(unfit, UnfitError):
        origin = written.value_origin((*path, *unfit.path))
        return error("wrong-value", origin, str(unfit), unfit.remedy)
    origin = written.value_origin(path)
    what = _called(model, written, path)
    if fault["type"] == "too_short":
        return error("empty-value", origin, f"{what} is empty", "Write at least one entry.")
    if fault["type"] == "string_too_short":
        return error("empty-value", origin, f"{what} is empty", "Write a text.")
    owner = model_at(model, path)
    if fault["type"] in _NO_KEYS and owner is not None:
        expected, remedy = with_article(spoken_name(owner)), _keys_of(owner)
    else:
        expected, remedy = _expected(fault)
    met = shown(fault["input"])
    return error("wrong-value", origin, f"{what} is {met}; {expected} is needed here", remedy)


def _called(model: type[BaseModel], written: Plain, path: tuple[Step, ...]) -> str:
    """Return how a sentence names the value at a path: by its key, or as an entry of a list."""
    name = next((step for step in reversed(path) if isinstance(step, str) and step), None)
    if name is None:
        return with_article(spoken_name(model))
    is_entry = isinstance(path[-1], int) and written.holds(path)
    return f"an entry of {quoted(name)}" if is_entry else quoted(name)


def _expected(fault: Mapping[str, Any]) -> tuple[str, str]:
    """Return what would be right, in words, and what to do."""
    kind, context = str(fault["type"]), fault.get("ctx", {})
    if kind in ("enum", "literal_error"):
        return _one_of(str(context["expected"]), fault["input"])
    words = _EXPECTED.get(kind)
    return words(context) if words else ("something else", "Compare it with one that is right.")


def _one_of(expected: str, met: object) -> tuple[str, str]:
    words = [word.strip("'") for word in expected.replace(" or ", ", ").split(", ")]
    near = closest(str(met), words) if isinstance(met, str) else None
    choice = f"one of {listed(words)}" if len(words) > 2 else listed(words)
    return choice, f"Did you mean `{near}`?" if near else "Choose one of these."


_KEY_ITSELF = "[key]"
_NO_KEYS = frozenset({"model_type", "model_attributes_type", "dict_type", "mapping_type"})

_FIGURES = "Write it in figures, such as 2."
_LIST = "Write its entries as `[one, another]`, or each on a line that begins with `- `."
_KEYS = "Write `key: value` lines below it."

_EXPECTED: Mapping[str, Callable[[Mapping[str, Any]], tuple[str, str]]] = {
    "int_parsing": lambda _: ("a whole number", _FIGURES),
    "int_parsing_size": lambda _: ("a smaller number", _FIGURES),
    "int_type": lambda _: ("a whole number", _FIGURES),
    "int_from_float": lambda _: ("a whole number", _FIGURES),
    "float_parsing": lambda _: ("a number", _FIGURES),
    "float_type": lambda _: ("a number", _FIGURES),
    "finite_number": lambda _: ("a number", _FIGURES),
    "string_type": lambda _: ("a text", "Write it as a text."),
    "dict_type": lambda _: ("a set of keys", _KEYS),
    "mapping_type": lambda _: ("a set of keys", _KEYS),
    "tuple_type": lambda _: ("a list", _LIST),
    "list_type": lambda _: ("a list", _LIST),
    "greater_than_equal": lambda c: (f"{c['ge']} or more", "Correct the number."),
    "greater_than": lambda c: (f"more than {c['gt']:g}", "Correct the number."),
    "less_than_equal": lambda c: (f"{c['le']:g} or less", "Correct the number."),
}
