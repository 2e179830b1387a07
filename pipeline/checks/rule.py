"""What a rule is: a code, and a function from the material to the faults it finds.

The function's docstring is the rule's line in the contributor's guide: its first paragraph says
what is found, its second why that matters to a reader of the edition.
"""

from __future__ import annotations

import inspect
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass

from pipeline.checks.material import Material
from pipeline.problems import Origin, Problem, Severity


@dataclass(frozen=True)
class Fault:
    """One thing that a rule found; the rule gives it its code and severity."""

    origin: Origin
    message: str
    remedy: str
    place: str = ""


@dataclass(frozen=True)
class Rule:
    """A code, how bad it is, and the function that looks for it.

    `needs_every_record` is set where a record that could not be read might be the missing answer.
    """

    code: str
    severity: Severity
    look: Callable[[Material], Iterable[Fault]]
    needs_every_record: bool = False

    @property
    def finds(self) -> str:
        """What the rule finds, as the guide prints it."""
        return self._paragraphs[0]

    @property
    def matters(self) -> str:
        """Why that matters to a reader of the edition."""
        return self._paragraphs[1]

    @property
    def _paragraphs(self) -> list[str]:
        text = inspect.getdoc(self.look) or ""
        return [" ".join(paragraph.split()) for paragraph in text.split("\n\n")]

    def problems(self, material: Material) -> Iterator[Problem]:
        """Yield a problem for each fault."""
        for fault in self.look(material):
            yield Problem(
                self.severity, self.code, fault.origin, fault.message, fault.remedy, fault.place
            )
