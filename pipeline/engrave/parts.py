"""What each staff of an example is, so that the wording can be asked for its label."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from enum import StrEnum

from pipeline.collation.model import Decision


class PartRole(StrEnum):
    """What a staff of an example is, or that the example as a whole is meant."""

    WHOLE = "whole"
    TEXT = "text"
    READING = "reading"
    OSSIA = "ossia"
    TRADITION = "tradition"
    ALTERNATIVE = "alternative"


@dataclass(frozen=True)
class ExamplePart:
    """A staff that needs a label: its role and, for readings and alternatives, which one.

    `index` counts from 0 in `Decision.comparisons` or in the record's alternatives.
    """

    role: PartRole
    index: int = 0


Labels = Callable[[Decision, ExamplePart], str]
"""The wording: a short label for each staff; for the role WHOLE a description of the example for
readers who cannot see it."""
