"""The edge of the small commands at the desk, which answer a question and build nothing.

Everything heavy is imported inside the command that needs it.
"""

from __future__ import annotations

import sys
from enum import StrEnum
from math import isfinite
from pathlib import Path
from typing import Annotated, NoReturn

import typer

from pipeline.cli_answers import (
    EXIT_ERRORS,
    EditionFolder,
    answer,
    end,
    print_problems,
    refuse,
    require_folder,
    there,
)
from pipeline.problems import Outcome


def places(
    edition: EditionFolder,
    movement: Annotated[int, typer.Argument(help="Number of the movement.")],
    bar: Annotated[str, typer.Argument(help="Bar number as printed.")],
) -> None:
    """Print what stands in a bar: staff, beat, note number, pitch, xml:id."""
    from pipeline.desk.bars import bar_lines
    from pipeline.problems import has_errors

    require_folder(edition)
    listing = bar_lines(edition, movement, bar)
    if listing.value is None:
        print_problems(listing.problems, sys.stderr.write)
        raise typer.Exit(EXIT_ERRORS if has_errors(listing.problems) else 0)
    for line in listing.value:
        sys.stdout.write(f"{line}\n")


class Shown(StrEnum):
    """How a collation is given."""

    TEXT = "text"
    JSON = "json"
    HTML = "html"


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
    """Print all that the encoded witnesses have otherwise than the text, and who answers it.

    Ends with 1 where the edition or the file of a witness has errors, as check does.
    """
    from datetime import date

    from pipeline.desk.collation import Wished, collated

    require_folder(edition)
    found = collated(edition, Wished(tuple(witness or ()), only_open))
    if found.value is None:
        answer(Outcome(None, found.problems))
    if draft is not None:
        from pipeline.desk.drafting import draft_into

        told = draft_into(found.value, draft, date.today())
        answer(Outcome(told.value, (*found.problems, *told.problems)))
    if format is Shown.TEXT:
        from pipeline.desk.collation_lines import collation_lines

        answer(Outcome(collation_lines(found.value), found.problems))
    if format is Shown.JSON:
        from pipeline.desk.collation_json import collation_json

        print_problems(found.problems, sys.stderr.write)
        sys.stdout.write(collation_json(found.value))
        end(found.problems)
    from pipeline.desk.collation_html import collation_page

    page = collation_page(found.value)
    problems = (*found.problems, *page.problems)
    print_problems(problems, sys.stderr.write)
    sys.stdout.write(page.value or "")
    end(problems)


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

    if not there(file.is_file):
        refuse(f"{file} is not a file.")
    if out.name == "" or there(out.is_dir):
        refuse(f"{out} is a folder; name the file to write after `--out`.")
    if there(out.exists) and out.samefile(file):
        refuse(f"{out} is the layered file itself; name another file after `--out`.")
    names = [name.strip() for name in (layers or "").split(",") if name.strip()]
    if bool(names) == bool(witness):
        refuse("Name what to take out: either `--layers text,composer` or `--witness A`.")
    if names and movement is not None:
        refuse("`--movement` goes with `--witness`; layers are of the whole file.")
    done = extract_to(file, Wanted(tuple(names), witness, movement), out)
    print_problems(done.problems, sys.stderr.write)
    if done.value is None:
        raise typer.Exit(EXIT_ERRORS)
    sys.stdout.write(f"{done.value}\n")


class Aimed(StrEnum):
    """What a way through a passage of harmonics is to serve."""

    BRILLIANCE = "brilliance"
    SMALLEST_STRETCH = "smallest-stretch"
    FEWEST_MOVES = "fewest-moves"
    NATURAL = "natural-where-possible"


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
        require_folder(Path(what))
        told = passage_lines(Path(what), record, instrument, max_span, aim.replace("-", " "))
    if isinstance(told, str):
        refuse(told)
    answer(told)


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

    require_folder(edition)
    given = (move, travel, stretch, string_change, height)
    if not all(map(isfinite, given)):
        refuse("A weight is a finite number.")
    weights = Weights(*given)
    told = fingering_lines(edition, record, Wishes(weights, open_strings), on, suggest)
    answer(told)


class Listed(StrEnum):
    """How changes are given."""

    TEXT = "text"
    JSON = "json"
    HTML = "html"
    PDF = "pdf"


def changes(
    old: Annotated[
        str,
        typer.Argument(metavar="OLD", help="A folder, a git revision, or a player's own copy."),
    ],
    new: Annotated[str, typer.Argument(metavar="NEW", help="The same, at a later time.")],
    format: Annotated[
        Listed, typer.Option(help="Text for people, JSON for programs, HTML or PDF to be printed.")
    ] = Listed.TEXT,
    language: Annotated[
        str | None, typer.Option(help="Language of the list; the edition's first by default.")
    ] = None,
    out: Annotated[
        Path | None, typer.Option("-o", "--out", metavar="FILE", help="Where to write; for a PDF.")
    ] = None,
) -> None:
    """Print what was added, withdrawn, superseded or changed between two states of an edition."""
    if (format is Listed.PDF) != (out is not None):
        refuse("A PDF is written to a file: `--format pdf --out FILE`; the rest is printed.")
    if there(Path(new).is_file):
        _choices(Path(old), Path(new), format, language)
    from pipeline.desk.changes import changes_between

    found = changes_between(old, new, language)
    if isinstance(found, str):
        refuse(found)
    if found.value is None:
        answer(Outcome(None, found.problems))
    if format is Listed.TEXT:
        from pipeline.desk.changes_lines import changes_lines

        answer(Outcome(changes_lines(found.value), found.problems))
    if out is not None:
        from pipeline.desk.changes_list import changes_to

        written = changes_to(found.value, out)
        answer(Outcome(written.value, (*found.problems, *written.problems)))
    print_problems(found.problems, sys.stderr.write)
    if format is Listed.JSON:
        from pipeline.desk.changes_json import changes_json

        sys.stdout.write(changes_json(found.value))
        return
    from pipeline.desk.changes_list import changes_page

    sys.stdout.write(changes_page(found.value))


def _choices(old: Path, new: Path, format: Listed, language: str | None) -> NoReturn:
    """Print a player's choices by date, and end."""
    from pipeline.desk.choices import choice_lines, choices_json, dated_changes

    if not there(old.exists):
        refuse(f"{old} is neither a player's own copy nor the folder of an edition.")
    if format not in {Listed.TEXT, Listed.JSON}:
        refuse("A player's choices are listed as text or JSON.")
    found = dated_changes(old, new)
    if found.value is None or format is Listed.TEXT:
        lines = None if found.value is None else choice_lines(found.value, language)
        answer(Outcome(lines, found.problems))
    sys.stdout.write(choices_json(found.value))
    raise typer.Exit(0)


COMMANDS = (places, collate, extract, harmonics, fingerings, changes)
"""In the order in which the help lists them."""
