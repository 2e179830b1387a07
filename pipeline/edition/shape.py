"""Which keys may stand where: the record models, asked by the path of a value.

In: a model class and a path of keys and indexes. Out: the model that owns the keys there.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence
from types import UnionType
from typing import Annotated, Any, Union, get_args, get_origin

from pydantic import BaseModel

Step = str | int


def model_at(root: type[BaseModel], path: Sequence[Step]) -> type[BaseModel] | None:
    """Return the model whose keys stand at that path below `root`, or None where none does."""
    found: Any = root
    for step in path:
        found = _within(found, step)
    return _model_in(found)


def nested_models(model: type[BaseModel]) -> Iterator[tuple[str, type[BaseModel]]]:
    """Yield each field of the model that holds keys of its own, with the model of those keys."""
    for name, field in model.model_fields.items():
        nested = _model_in(field.annotation) or _model_in(_within(field.annotation, 0))
        if nested is not None:
            yield name, nested


def spoken_name(model: type[BaseModel]) -> str:
    """Return what the model is called in a sentence: its title, or its class name in words."""
    title = model.model_config.get("title")
    return title or re.sub(r"(?<!^)(?=[A-Z])", " ", model.__name__).lower()


def with_article(words: str) -> str:
    """Return the words with "a" or "an" before them."""
    return f"{'an' if words[:1].lower() in 'aeio' else 'a'} {words}"


def _model_in(annotation: Any) -> type[BaseModel] | None:
    for one in _alternatives(annotation):
        if isinstance(one, type) and issubclass(one, BaseModel):
            return one
    return None


def _within(annotation: Any, step: Step) -> Any:
    for one in _alternatives(annotation):
        if isinstance(one, type) and issubclass(one, BaseModel):
            field = one.model_fields.get(str(step))
            if field is not None:
                return field.annotation
        origin = get_origin(one)
        if origin is tuple and isinstance(step, int):
            return get_args(one)[0]
        if origin is Mapping:
            return get_args(one)[1]
    return None


def _alternatives(annotation: Any) -> tuple[Any, ...]:
    """Return what may stand there, freed of the wrappings Annotated, Union and Optional."""
    if get_origin(annotation) is Annotated:
        return _alternatives(get_args(annotation)[0])
    if get_origin(annotation) in (Union, UnionType):
        return tuple(one for part in get_args(annotation) for one in _alternatives(part))
    return (annotation,)
