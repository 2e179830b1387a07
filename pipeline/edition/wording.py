"""What does not fit a record or edition.yaml, told to the editor at the key or value itself.

In: the faults that pydantic finds (https://docs.pydantic.dev/latest/errors/validation_errors/).
Out: problems in the words of the trade; nothing of pydantic's own wording is shown.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any

from pydantic import BaseModel

from pipeline.edition.records import RECORD_OF_KIND
from pipeline.edition.shape import Step, model_at, nested_models, spoken_name, with_article
from pipeline.edition.strict import PATTERN_MEANS, UnfitError
from pipeline.edition.suggestions import closest, listed
from pipeline.edition.yaml_positions import Plain
from pipeline.problems import Origin, Problem, error

_SHOWN_LETTERS = 40


def told(model: type[BaseModel], written: Plain, fault: Mapping[str, Any]) -> Problem:
    """Return one fault of a value that was to become `model` as a problem."""
    path: tuple[Step, ...] = tuple(fault["loc"])
    if fault["type"] == "extra_forbidden":
        return _unknown_key(model, written, path)
    if fault["type"] == "missing":
        return _missing_key(model, written, path)
    return _unfit_value(model, written, path, fault)


def shown(value: object) -> str:
    """Return a written value in backticks, cut where it is long."""
    if isinstance(value, dict):
        return "a set of keys"
    if isinstance(value, list | tuple):
        return "a list"
    text = " ".join(str(value).split()) if value is not None else ""
    return f"`{text[: _SHOWN_LETTERS - 1]}…`" if len(text) > _SHOWN_LETTERS else f"`{text}`"


def _unknown_key(model: type[BaseModel], written: Plain, path: tuple[Step, ...]) -> Problem:
    key = str(path[-1])
    owner = model_at(model, path[:-1]) or model
    message = f"`{key}` is no key of {with_article(spoken_name(owner))}"
    near = closest(key, owner.model_fields)
    if near is not None:
        remedy = f"Did you mean `{near}`?"
    else:
        remedy = (
            _belongs_elsewhere(key, owner)
            or f"Keys here are {listed([*owner.model_fields], 'and')}."
        )
    return error("unknown-key", _nearest(written.keys, path), message, remedy)


def _belongs_elsewhere(key: str, owner: type[BaseModel]) -> str | None:
    inside = [name for name, nested in nested_models(owner) if key in nested.model_fields]
    if inside:
        return f"`{key}` belongs under {listed(inside)}."
    kinds = [kind for kind, record in RECORD_OF_KIND.items() if key in record.model_fields]
    if owner in RECORD_OF_KIND.values() and kinds:
        return f"`{key}` belongs to a record of kind {listed(kinds)}."
    return None


def _missing_key(model: type[BaseModel], written: Plain, path: tuple[Step, ...]) -> Problem:
    key = str(path[-1])
    owner = model_at(model, path[:-1]) or model
    about = owner.model_fields[key].description if key in owner.model_fields else None
    return error(
        "missing-key",
        _nearest(written.values, path[:-1]),
        f"{with_article(spoken_name(owner))} needs `{key}`",
        f"Add `{key}`: {about}." if about else f"Add `{key}`.",
    )


def _unfit_value(
    model: type[BaseModel], written: Plain, path: tuple[Step, ...], fault: Mapping[str, Any]
) -> Problem:
    origin = _nearest(written.values, path)
    context: Mapping[str, Any] = fault.get("ctx", {})
    if isinstance(context.get("error"), UnfitError):
        unfit: UnfitError = context["error"]
        if unfit.path:
            origin = _nearest(written.values, (*path, *unfit.path))
        return error("wrong-value", origin, str(unfit), unfit.remedy)
    name = next((step for step in reversed(path) if isinstance(step, str) and step), "")
    what = f"`{name}`" if name and name != "[key]" else with_article(spoken_name(model))
    met, kind = fault["input"], str(fault["type"])
    if kind == "too_short":
        return error("empty-value", origin, f"{what} is empty", "Give it an entry at least.")
    owner = model_at(model, path)
    expected, remedy = _expected(kind, context, met, owner)
    return error(
        "wrong-value", origin, f"{what} is {shown(met)}; {expected} is needed here", remedy
    )


def _expected(
    kind: str, context: Mapping[str, Any], met: object, owner: type[BaseModel] | None
) -> tuple[str, str]:
    """Return what would be right, in words, and what to do."""
    if kind in ("enum", "literal_error"):
        return _one_of(str(context["expected"]), met)
    if kind == "string_pattern_mismatch":
        return PATTERN_MEANS.get(str(context["pattern"]), ("another text", "Correct it."))
    if kind == "model_type" and owner is not None:
        keys = listed([*owner.model_fields], "and")
        return with_article(spoken_name(owner)), f"Write its keys below it: {keys}."
    words = _EXPECTED.get(kind)
    return (
        words(context) if words else ("something else", "Compare it with a record that is right.")
    )


def _one_of(expected: str, met: object) -> tuple[str, str]:
    words = [word.strip("'") for word in expected.replace(" or ", ", ").split(", ")]
    near = closest(str(met), words) if isinstance(met, str) else None
    return f"one of {listed(words)}", f"Did you mean `{near}`?" if near else "Choose one of these."


_WHOLE = "Write it in figures, such as 2."
_TEXT = "Write it as a text."

_EXPECTED: Mapping[str, Callable[[Mapping[str, Any]], tuple[str, str]]] = {
    "int_parsing": lambda _: ("a whole number", _WHOLE),
    "int_parsing_size": lambda _: ("a smaller number", _WHOLE),
    "int_type": lambda _: ("a whole number", _WHOLE),
    "int_from_float": lambda _: ("a whole number", _WHOLE),
    "float_parsing": lambda _: ("a number", "Write it in figures, such as 72."),
    "float_type": lambda _: ("a number", "Write it in figures, such as 72."),
    "finite_number": lambda _: ("a number", "Write it in figures, such as 72."),
    "is_instance_of": lambda _: ("a number", "Write it in figures, such as 2.5 or 2 1/3."),
    "string_type": lambda _: ("a text", _TEXT),
    "dict_type": lambda _: ("a set of keys", "Write `key: value` lines below it."),
    "mapping_type": lambda _: ("a set of keys", "Write `key: value` lines below it."),
    "tuple_type": lambda _: ("a list", "Write its entries as `[one, another]`."),
    "list_type": lambda _: ("a list", "Write its entries as `[one, another]`."),
    "greater_than_equal": lambda c: (f"{c['ge']} or more", "Correct the number."),
    "greater_than": lambda c: (f"more than {c['gt']:g}", "Correct the number."),
    "less_than_equal": lambda c: (f"{c['le']:g} or less", "Correct the number."),
}


def _nearest(positions: Mapping[tuple[Step, ...], Origin], path: tuple[Step, ...]) -> Origin:
    """Return where the path stands, or the nearest value around it that was written."""
    for length in range(len(path), 0, -1):
        if path[:length] in positions:
            return positions[path[:length]]
    return positions[()]
