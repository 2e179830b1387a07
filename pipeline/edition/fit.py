"""Plain values into a record model, or all the problems that keep them from being one."""

from __future__ import annotations

from typing import TypeVar

from pydantic import BaseModel, ValidationError

from pipeline.edition.plain_values import Plain
from pipeline.edition.wording import tell
from pipeline.problems import Outcome

M = TypeVar("M", bound=BaseModel)


def fit(model: type[M], written: Plain) -> Outcome[M]:
    """Return the written values as `model`; the value is None where anything is wrong with them.

    A key without a value was told when it was read, so what follows from it is not told again.
    """
    try:
        fitted = model.model_validate(written.value)
    except ValidationError as faults:
        told = tell(model, written, faults.errors(include_url=False))
        return Outcome(None, (*written.problems(), *told))
    problems = written.problems()
    return Outcome(None if problems else fitted, problems)
