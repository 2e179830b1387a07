"""What is wrong with an edition, told so that a musician can mend it.

Every stage returns its problems beside its result; nothing raises for bad input and nothing prints.
Collecting is a tuple, locating is an `Origin`, wording is the rule's own; this module only sorts
and writes them down.
"""

from __future__ import annotations

import json
import re
from collections.abc import Iterable
from dataclasses import dataclass
from enum import StrEnum
from typing import Generic, TypeVar

T = TypeVar("T")

_NUMBER, _MOST_DIGITS = re.compile(r"[0-9]+"), 9


class Severity(StrEnum):
    """An error stops the build; a warning is printed and the build goes on."""

    ERROR = "error"
    WARNING = "warning"


@dataclass(frozen=True, order=True)
class Origin:
    """Where something was written: file relative to the edition folder, line and column from 1."""

    file: str
    line: int = 1
    col: int = 1

    def __str__(self) -> str:
        return f"{self.file}:{self.line}:{self.col}"


@dataclass(frozen=True)
class Problem:
    """One thing to mend.

    `code` names the rule (lower case words joined by hyphens); `place` is the musical place in
    words ("movement 1, bar 14, violin") or empty; `message` says what was met and what was
    expected; `remedy` says what to do.
    """

    severity: Severity
    code: str
    origin: Origin
    message: str
    remedy: str
    place: str = ""


@dataclass(frozen=True)
class Outcome(Generic[T]):
    """What a reader made of its input: the value, or None where nothing usable was there."""

    value: T | None
    problems: tuple[Problem, ...] = ()


def error(code: str, origin: Origin, message: str, remedy: str, place: str = "") -> Problem:
    """Return a problem that stops the build."""
    return Problem(Severity.ERROR, code, origin, message, remedy, place)


def warning(code: str, origin: Origin, message: str, remedy: str, place: str = "") -> Problem:
    """Return a problem that is told while the build goes on."""
    return Problem(Severity.WARNING, code, origin, message, remedy, place)


def in_reading_order(problems: Iterable[Problem]) -> tuple[Problem, ...]:
    """Return the problems without repetition, by file, line, column, then errors first.

    At one place in a file they stand by their place in the music, bar 9 before bar 10.
    """
    return tuple(sorted(dict.fromkeys(problems), key=_reading_order))


def _reading_order(problem: Problem) -> tuple[object, ...]:
    place, message = (
        _NUMBER.sub(lambda found: found[0].zfill(_MOST_DIGITS), words)
        for words in (problem.place, problem.message)
    )
    return (problem.origin, problem.severity.value, problem.code, place, message)


def has_errors(problems: Iterable[Problem]) -> bool:
    """Return whether any problem stops the build."""
    return any(p.severity is Severity.ERROR for p in problems)


def as_text(problem: Problem) -> str:
    """Return `file:line:col: error CODE: message` with the remedy on an indented second line.

    What cannot be printed is spelled out: a name in a file could else turn the line around.
    """
    place = f"{problem.place}: " if problem.place else ""
    head = f"{problem.origin}: {problem.severity} {problem.code}: {place}{problem.message}"
    text = f"{head}\n    {problem.remedy}" if problem.remedy else head
    return "".join(
        c if c.isprintable() or c == "\n" else c.encode("unicode_escape").decode() for c in text
    )


def as_json(problems: Iterable[Problem]) -> str:
    """Return a JSON array, one object a problem, keys as in `Problem`, the origin spelled out."""
    rows = [
        {
            "severity": p.severity.value,
            "code": p.code,
            "file": p.origin.file,
            "line": p.origin.line,
            "col": p.origin.col,
            "place": p.place,
            "message": p.message,
            "remedy": p.remedy,
        }
        for p in problems
    ]
    return json.dumps(rows, ensure_ascii=False, indent=2) + "\n"
