"""The edge: arguments in, lines and exit codes out. Only here is anything printed.

Exit code 0: no error; 1: the edition has errors; 2: the call itself is wrong. Everything heavy is
imported inside the command that needs it, so that `apparatus --help` answers at once.
"""

from __future__ import annotations

import gc
import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from enum import StrEnum
from math import isfinite
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, NoReturn

import typer

if TYPE_CHECKING:
    from pipeline.problems import Outcome, Problem

EXIT_ERRORS = 1
EXIT_CALL = 2

app = typer.Typer(
    name="apparatus",
    help="Turn records of editorial decisions into a commentary and a layered MEI.",
    no_args_is_help=True,
    add_completion=False,
    pretty_exceptions_enable=False,
    rich_markup_mode=None,
)

EditionFolder = Annotated[
    Path, typer.Argument(metavar="EDITION", help="The folder that holds edition.yaml.")
]


class Format(StrEnum):
    """How problems are printed."""

    TEXT = "text"
    JSON = "json"


class Product(StrEnum):
    """What `build --only` may name."""

    COMMENTARY = "commentary"
    EDITION = "edition"
    DECISIONS = "decisions"
    PROBLEMS = "problems"


@app.command()
def check(
    edition: EditionFolder,
    format: Annotated[Format, typer.Option(help="Text for people, JSON for programs.")] = (
        Format.TEXT
    ),
) -> None:
    """Read everything, compute, and print every problem with its place and its remedy."""
    from pipeline.build import examine
    from pipeline.problems import as_json, has_errors

    _require_folder(edition)
    problems = examine(edition).problems
    if format is Format.JSON:
        sys.stdout.write(as_json(problems))
    else:
        _print_problems(problems, sys.stdout.write)
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
) -> None:
    """Check the edition and write its commentary, layered MEI and tables of decisions."""
    from pipeline.build import Order, build_edition
    from pipeline.problems import has_errors

    _require_folder(edition)
    _require_free(out, edition)
    order = Order(
        products=frozenset(product.value for product in only or tuple(Product)),
        language=language,
        proof=proof,
    )
    with _progress() as step:
        written = build_edition(edition, out or edition / "build", order, step)
    _print_problems(written.problems, sys.stderr.write)
    if has_errors(written.problems) or written.value is None:
        sys.stderr.write("Nothing was written.\n")
        raise typer.Exit(EXIT_ERRORS)
    for path in written.value:
        sys.stdout.write(f"{path}\n")


@app.command()
def places(
    edition: EditionFolder,
    movement: Annotated[int, typer.Argument(help="Number of the movement.")],
    bar: Annotated[str, typer.Argument(help="Bar number as printed.")],
) -> None:
    """Print what stands in a bar: staff, beat, note number, pitch, xml:id."""
    from pipeline.desk.bars import bar_lines
    from pipeline.problems import has_errors

    _require_folder(edition)
    listing = bar_lines(edition, movement, bar)
    if listing.value is None:
        _print_problems(listing.problems, sys.stderr.write)
        raise typer.Exit(EXIT_ERRORS if has_errors(listing.problems) else 0)
    for line in listing.value:
        sys.stdout.write(f"{line}\n")


class Shown(StrEnum):
    """How a collation is given."""

    TEXT = "text"
    JSON = "json"
    HTML = "html"


@app.command()
def collate(
    edition: EditionFolder,
    witness: Annotated[
        list[str] | None,
        typer.Option(metavar="SIGLUM", help="Only this witness; may be given several times."),
    ] = None,
    format: Annotated[
        Shown, typer.Option(help="Text for people, JSON for programs, HTML with the music.")
    ] = Shown.TEXT,
    only_open: Annotated[
        bool, typer.Option("--open", help="Only differences that no record answers.")
    ] = False,
    draft: Annotated[
        Path | None,
        typer.Option(metavar="FILE", help="Append a record for each open one, in records/."),
    ] = None,
) -> None:
    """Print all that the encoded witnesses have otherwise than the text, and who answers it."""
    from datetime import date

    from pipeline.desk.collation import Wished, collated
    from pipeline.problems import Outcome

    _require_folder(edition)
    found = collated(edition, Wished(tuple(witness or ()), only_open))
    if found.value is None:
        _answer(Outcome(None, found.problems))
    if draft is not None:
        from pipeline.desk.drafting import draft_into

        told = draft_into(found.value, draft, date.today())
        _answer(Outcome(told.value, (*found.problems, *told.problems)))
    if format is Shown.TEXT:
        from pipeline.desk.collation_lines import collation_lines

        _answer(Outcome(collation_lines(found.value), found.problems))
    if format is Shown.JSON:
        from pipeline.desk.collation_json import collation_json

        _print_problems(found.problems, sys.stderr.write)
        sys.stdout.write(collation_json(found.value))
        return
    from pipeline.desk.collation_html import collation_page

    page = collation_page(found.value)
    _print_problems((*found.problems, *page.problems), sys.stderr.write)
    sys.stdout.write(page.value or "")


class Written(StrEnum):
    """What `schema` can describe."""

    RECORDS = "records"
    EDITION = "edition"


@app.command()
def schema(
    what: Annotated[Written, typer.Argument(help="A file of records, or edition.yaml.")],
) -> None:
    """Print a JSON Schema, so that a text editor can complete and check what is typed."""
    import json

    from pipeline.edition.schema import head_schema, record_schema

    described = record_schema() if what is Written.RECORDS else head_schema()
    sys.stdout.write(json.dumps(described, ensure_ascii=False, indent=2) + "\n")


@app.command()
def extract(
    file: Annotated[Path, typer.Argument(metavar="EDITION.MEI", help="A layered MEI file.")],
    out: Annotated[Path, typer.Option("-o", "--out", metavar="FILE", help="Where to write.")],
    layers: Annotated[str | None, typer.Option(help="Layers, such as text,composer.")] = None,
    witness: Annotated[
        str | None, typer.Option(metavar="SIGLUM", help="The witness to give back instead.")
    ] = None,
    movement: Annotated[
        int | None, typer.Option(metavar="N", help="Only this movement of the witness.")
    ] = None,
) -> None:
    """Take layers out of a layered MEI file, the text always with them, or give a witness back."""
    from pipeline.desk.extraction import Wanted, extract_to

    if not _there(file.is_file):
        _refuse(f"{file} is not a file.")
    if out.name == "" or _there(out.is_dir):
        _refuse(f"{out} is a folder; name the file to write after `--out`.")
    names = [name.strip() for name in (layers or "").split(",") if name.strip()]
    if bool(names) == bool(witness):
        _refuse("Name what to take out: either `--layers text,composer` or `--witness A`.")
    if names and movement is not None:
        _refuse("`--movement` goes with `--witness`; layers are of the whole file.")
    done = extract_to(file, Wanted(tuple(names), witness, movement), out)
    _print_problems(done.problems, sys.stderr.write)
    if done.value is None:
        raise typer.Exit(EXIT_ERRORS)
    sys.stdout.write(f"{done.value}\n")


class Aimed(StrEnum):
    """What a way through a passage of harmonics is to serve."""

    BRILLIANCE = "brilliance"
    SMALLEST_STRETCH = "smallest-stretch"
    FEWEST_MOVES = "fewest-moves"
    NATURAL = "natural-where-possible"


@app.command()
def harmonics(
    what: Annotated[
        str,
        typer.Argument(
            metavar="PITCH|EDITION",
            help="What is to sound, such as A5, C#6 or Bb4; or the folder of an edition.",
        ),
    ],
    record: Annotated[
        str | None, typer.Argument(metavar="RECORD", help="Id of a record of that edition.")
    ] = None,
    instrument: Annotated[
        str | None, typer.Option(help="violin by default; with an edition, its edited staff's.")
    ] = None,
    max_span: Annotated[
        float | None, typer.Option(metavar="MM", min=0, help="Leave wider stretches out.")
    ] = None,
    aim: Annotated[
        Aimed, typer.Option(help="What the way through a passage is to serve.")
    ] = Aimed.SMALLEST_STRETCH,
) -> None:
    """Print every way to sound a pitch, or each note of a record's passage, as a harmonic."""
    from pipeline.desk.harmonics import passage_lines, pitch_lines

    if record is None:
        told = pitch_lines(what, instrument or "violin", max_span)
    else:
        _require_folder(Path(what))
        told = passage_lines(Path(what), record, instrument, max_span, aim.replace("-", " "))
    if isinstance(told, str):
        _refuse(told)
    _answer(told)


@app.command()
def fingerings(
    edition: EditionFolder,
    record: Annotated[str, typer.Argument(metavar="RECORD", help="Id of a record.")],
    suggest: Annotated[
        int, typer.Option(metavar="N", min=0, max=50, help="Propose so many fingerings.")
    ] = 0,
    move: Annotated[float, typer.Option(min=0, help="What a move of the hand weighs.")] = 30.0,
    travel: Annotated[float, typer.Option(min=0, help="What each mm of travel weighs.")] = 0.5,
    stretch: Annotated[float, typer.Option(min=0, help="What each mm of stretch weighs.")] = 1.0,
    string_change: Annotated[
        float, typer.Option(min=0, help="What a change of string weighs.")
    ] = 6.0,
    height: Annotated[
        float, typer.Option(min=0, help="What each mm away from the first position weighs.")
    ] = 0.2,
    open_strings: Annotated[bool, typer.Option(help="Whether open strings may sound.")] = True,
    on: Annotated[
        str | None, typer.Option(metavar="STRING", help="Stay on this string, such as G.")
    ] = None,
) -> None:
    """Print what the hand does in the fingerings of a record, and propose others."""
    from pipeline.desk.fingerings import fingering_lines
    from pipeline.strings.fingering_ranking import Wishes
    from pipeline.strings.fingering_search import Weights

    _require_folder(edition)
    given = (move, travel, stretch, string_change, height)
    if not all(map(isfinite, given)):
        _refuse("A weight is a finite number.")
    weights = Weights(*given)
    told = fingering_lines(edition, record, Wishes(weights, open_strings), on, suggest)
    _answer(told)


def main() -> None:
    """Run the command line."""
    # An edition is read into many small objects that all stay: the collector would look through
    # them again and again, which costs a third of the time at 1,600 records.
    gc.set_threshold(50_000, 20, 100)
    app()


def _require_folder(edition: Path) -> None:
    if not _there(edition.is_dir):
        _refuse(f"{edition} is not a folder; name the folder that holds edition.yaml.")


def _require_free(out: Path | None, edition: Path) -> None:
    """Refuse to write where a file stands, or among the files of the edition itself."""
    if out is None:
        return
    if _there(out.exists) and not out.is_dir():
        _refuse(f"{out} is a file; name a folder after `--out`.")
    meant = out.resolve()
    inside = meant.is_relative_to(edition.resolve())
    if inside and _there(meant.is_dir) and any(map(_may_be_input, meant.iterdir())):
        _refuse(f"{out} holds files of the edition; name a folder of its own after `--out`.")


def _may_be_input(file: Path) -> bool:
    inputs = {".yaml", ".yml", ".md", ".mei", ".xml", ".musicxml", ".mxl"}
    return file.suffix.lower() in inputs and file.name != "edition.mei"


def _there(ask: Callable[[], bool]) -> bool:
    """Ask about a path; one that is too long to be a path is not there."""
    try:
        return ask()
    except OSError:
        return False


def _refuse(message: str) -> NoReturn:
    sys.stderr.write(f"{message}\n")
    raise typer.Exit(EXIT_CALL)


def _answer(told: Outcome[tuple[str, ...]]) -> NoReturn:
    """Print the lines of an answer, or why there is none, and end."""
    _print_problems(told.problems, sys.stderr.write)
    for line in told.value or ():
        sys.stdout.write(f"{line}\n")
    raise typer.Exit(EXIT_ERRORS if told.value is None else 0)


def _print_problems(problems: tuple[Problem, ...], write: Callable[[str], object]) -> None:
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
def _progress() -> Iterator[Callable[[str], None]]:
    """Yield what announces a step: a spinner on a terminal, a plain line elsewhere."""
    if not sys.stderr.isatty():
        yield _print_step
        return
    from rich.console import Console

    with Console(stderr=True).status("Reading") as status:
        yield status.update
