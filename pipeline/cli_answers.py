"""What all commands of the edge share: refusing a call, printing an answer and its problems.

In: outcomes of the stages. Out: lines on the terminal and an exit code. 0: no error; 1: the edition
has errors; 2: the call itself is wrong.
"""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, NoReturn

import typer

if TYPE_CHECKING:
    from pipeline.problems import Outcome, Problem

EXIT_ERRORS = 1
EXIT_CALL = 2

EditionFolder = Annotated[
    Path, typer.Argument(metavar="EDITION", help="The folder that holds edition.yaml.")
]


def require_folder(edition: Path) -> None:
    """Refuse what is no folder."""
    if not there(edition.is_dir):
        refuse(f"{edition} is not a folder; name the folder that holds edition.yaml.")


def require_free(out: Path | None, edition: Path) -> None:
    """Refuse to write where a file stands, or among the files of the edition itself."""
    if out is None:
        return
    if there(out.exists) and not out.is_dir():
        refuse(f"{out} is a file; name a folder after `--out`.")
    meant = out.resolve()
    inside = meant.is_relative_to(edition.resolve())
    if inside and there(meant.is_dir) and any(map(_may_be_input, meant.iterdir())):
        refuse(f"{out} holds files of the edition; name a folder of its own after `--out`.")


def _may_be_input(file: Path) -> bool:
    inputs = {".yaml", ".yml", ".md", ".mei", ".xml", ".musicxml", ".mxl"}
    return file.suffix.lower() in inputs and file.name not in {"edition.mei", "part.musicxml"}


def there(ask: Callable[[], bool]) -> bool:
    """Ask about a path; one that is too long to be a path is not there."""
    try:
        return ask()
    except OSError:
        return False


def refuse(message: str) -> NoReturn:
    """Say what is wrong with the call itself, and end."""
    sys.stderr.write(f"{message}\n")
    raise typer.Exit(EXIT_CALL)


def answer(told: Outcome[tuple[str, ...]]) -> NoReturn:
    """Print the lines of an answer, or why there is none, and end: with 1 if there are errors."""
    print_problems(told.problems, sys.stderr.write)
    for line in told.value or ():
        sys.stdout.write(f"{line}\n")
    end(told.problems, answered=told.value is not None)


def end(problems: tuple[Problem, ...], *, answered: bool = True) -> NoReturn:
    """End with 0 where all was read and answered, with 1 where the edition has errors."""
    from pipeline.problems import has_errors

    raise typer.Exit(0 if answered and not has_errors(problems) else EXIT_ERRORS)


def print_problems(problems: tuple[Problem, ...], write: Callable[[str], object]) -> None:
    """Print problems with their remedies, then how many they are."""
    from pipeline.problems import Severity, as_text

    for problem in problems:
        write(as_text(problem) + "\n")
    errors = sum(problem.severity is Severity.ERROR for problem in problems)
    if problems:
        write(f"{_count(errors, 'error')}, {_count(len(problems) - errors, 'warning')}\n")


def _count(n: int, what: str) -> str:
    return f"{n} {what}" if n == 1 else f"{n} {what}s"


def _print_step(step: str) -> None:
    sys.stderr.write(f"{step}\n")


@contextmanager
def progress() -> Iterator[Callable[[str], None]]:
    """Yield what announces a step: a spinner on a terminal, a plain line elsewhere."""
    if not sys.stderr.isatty():
        yield _print_step
        return
    from rich.console import Console

    with Console(stderr=True).status("Reading") as status:
        yield status.update
