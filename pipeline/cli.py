"""The edge: arguments in, lines and exit codes out. Only in the modules `cli…` is anything printed.

Exit code 0: no error; 1: the edition has errors; 2: the call itself is wrong. Everything heavy is
imported inside the command that needs it, so that `apparatus --help` answers at once.
"""

from __future__ import annotations

import gc
import sys
from enum import StrEnum
from pathlib import Path
from typing import Annotated

import typer

from pipeline.cli_answers import (
    EXIT_ERRORS,
    EditionFolder,
    print_problems,
    progress,
    refuse,
    require_folder,
    require_free,
    there,
)
from pipeline.cli_desk import COMMANDS

app = typer.Typer(
    name="apparatus",
    help="Turn records of editorial decisions into a commentary and a layered MEI.",
    no_args_is_help=True,
    add_completion=False,
    pretty_exceptions_enable=False,
    rich_markup_mode=None,
)


class Format(StrEnum):
    """How problems are printed."""

    TEXT = "text"
    JSON = "json"


class Product(StrEnum):
    """What `build --only` may name."""

    COMMENTARY = "commentary"
    EDITION = "edition"
    DECISIONS = "decisions"
    PART = "part"
    READING_COPY = "reading-copy"
    MUSICXML = "musicxml"
    PROBLEMS = "problems"


@app.command()
def check(
    edition: EditionFolder,
    format: Annotated[Format, typer.Option(help="Text for people, JSON for programs.")] = (
        Format.TEXT
    ),
    copy: Annotated[
        Path | None,
        typer.Option("--with", metavar="FILE", help="Check a player's own copy with it."),
    ] = None,
) -> None:
    """Read everything, compute, and print every problem with its place and its remedy."""
    from pipeline.build import problems_of
    from pipeline.problems import as_json, has_errors

    require_folder(edition)
    _require_file(copy)
    problems = problems_of(edition, copy)
    if format is Format.JSON:
        sys.stdout.write(as_json(problems))
    else:
        print_problems(problems, sys.stdout.write)
    raise typer.Exit(EXIT_ERRORS if has_errors(problems) else 0)


@app.command()
def build(
    edition: EditionFolder,
    out: Annotated[
        Path | None, typer.Option(metavar="DIR", help="Where to write; EDITION/build by default.")
    ] = None,
    only: Annotated[
        list[Product] | None, typer.Option(help="Write just this; may be given several times.")
    ] = None,
    language: Annotated[
        str | None, typer.Option(help="Language of the commentary; the edition's first by default.")
    ] = None,
    proof: Annotated[
        bool, typer.Option("--proof", help="Add what is still open to the commentary.")
    ] = False,
    copy: Annotated[
        Path | None,
        typer.Option("--with", metavar="FILE", help="Make the part for a player's own copy."),
    ] = None,
    layers: Annotated[
        str | None, typer.Option(help="Layers of the part, such as text,composer; all by default.")
    ] = None,
    choose: Annotated[
        list[str] | None,
        typer.Option(
            metavar="RECORD=NAME",
            help="What the part shows of a record; may be given several times, `no` leaves it out.",
        ),
    ] = None,
    paper: Annotated[
        str, typer.Option(metavar="SIZE", help="Paper of the part: A4, 9x12in or WxHmm.")
    ] = "A4",
    staff: Annotated[
        float | None, typer.Option(metavar="MM", help="Height of a staff of the part.")
    ] = None,
    crop_marks: Annotated[
        bool, typer.Option("--crop-marks", help="Add marks and bleed to the part for print.")
    ] = False,
) -> None:
    """Check the edition and write its commentary, layered MEI, part and tables of decisions."""
    from pipeline.build import Order, build_edition
    from pipeline.problems import has_errors
    from pipeline.typeset.part_paper import STAFF_MM
    from pipeline.typeset.part_wishes import read_wishes

    require_folder(edition)
    require_free(out, edition)
    _require_copy(copy, only)
    height = STAFF_MM if staff is None else staff
    wishes = read_wishes(layers, choose or (), paper, height, crop_marks)
    if isinstance(wishes, str):
        refuse(wishes)
    if choose and not _only_of_a_copy(only):
        refuse("Choices are for a part alone; write `--only part --choose RECORD=NAME`.")
    order = Order(
        products=frozenset(product.value for product in only or tuple(Product)),
        language=language,
        proof=proof,
        copy=copy,
        part=wishes,
    )
    with progress() as step:
        written = build_edition(edition, out or edition / "build", order, step)
    print_problems(written.problems, sys.stderr.write)
    if has_errors(written.problems) or written.value is None:
        sys.stderr.write("Nothing was written.\n")
        raise typer.Exit(EXIT_ERRORS)
    for path in written.value:
        sys.stdout.write(f"{path}\n")


class Written(StrEnum):
    """What `schema` can describe."""

    RECORDS = "records"
    EDITION = "edition"
    CHOICES = "choices"


@app.command()
def schema(
    what: Annotated[
        Written, typer.Argument(help="A file of records, edition.yaml, or a player's own copy.")
    ],
) -> None:
    """Print a JSON Schema, so that a text editor can complete and check what is typed."""
    import json

    from pipeline.edition.schema import choices_schema, head_schema, record_schema

    schemas = {
        Written.RECORDS: record_schema,
        Written.EDITION: head_schema,
        Written.CHOICES: choices_schema,
    }
    sys.stdout.write(json.dumps(schemas[what](), ensure_ascii=False, indent=2) + "\n")


for command in COMMANDS:
    app.command()(command)


_OF_A_COPY = frozenset({"part", "musicxml"})
"""What can be made for a player's own copy; the rest is the edition's."""


def _require_file(copy: Path | None) -> None:
    if copy is not None and not there(copy.is_file):
        refuse(f"{copy} is not a file; name a player's own copy after `--with`.")


def _require_copy(copy: Path | None, only: list[Product] | None) -> None:
    _require_file(copy)
    if copy is None:
        return
    if not _only_of_a_copy(only):
        refuse("Only a part is made for a player's own copy; write `--with FILE --only part`.")


def _only_of_a_copy(only: list[Product] | None) -> bool:
    return bool(only) and _OF_A_COPY.issuperset(product.value for product in only or ())


def main() -> None:
    """Run the command line."""
    # An edition is read into many small objects that all stay: the collector would look through
    # them again and again, which costs a third of the time at 1,600 records.
    gc.set_threshold(50_000, 20, 100)
    app()
