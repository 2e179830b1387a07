"""Collects what is wrong with one music file while it is read, each with its line.

Lines are those of the file the editor has. Where the file was converted (MusicXML), elements no
longer have a line there, and the musical place has to do.
"""

from __future__ import annotations

from dataclasses import dataclass, field

from pipeline.problems import Origin, Problem, error, warning
from pipeline.score.mei_names import Element


@dataclass
class Trouble:
    """The problems of one file so far; grows while the file is read and is then read off."""

    file: str
    has_lines: bool = True
    problems: list[Problem] = field(default_factory=list)

    def at(self, element: Element | None) -> Origin:
        """Return where an element stands in the editor's file."""
        line = element.sourceline if element is not None and self.has_lines else None
        return Origin(self.file, line if isinstance(line, int) else 1)

    def error(
        self, code: str, element: Element | None, message: str, remedy: str, place: str = ""
    ) -> None:
        """Add a problem that stops the build."""
        self.problems.append(error(code, self.at(element), message, remedy, place))

    def warn(
        self, code: str, element: Element | None, message: str, remedy: str, place: str = ""
    ) -> None:
        """Add a problem that is only told."""
        self.problems.append(warning(code, self.at(element), message, remedy, place))
