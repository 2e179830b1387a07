"""The option `--draft` of `collate`: records for what is open, into a file of the edition."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date
from pathlib import Path

from pipeline.checks.wording import counted, place_in_words
from pipeline.collation.collated import Departure
from pipeline.desk.collation import Collated
from pipeline.desk.columns import columns
from pipeline.desk.draft_file import append_drafts, draft_name
from pipeline.desk.draft_text import DraftText
from pipeline.desk.drafts import Draft, draft
from pipeline.edition.head import Role
from pipeline.edition.read import HEAD_FILE
from pipeline.problems import Origin, Outcome, Problem, error, warning


def draft_into(collated: Collated, given: Path, day: date) -> Outcome[tuple[str, ...]]:
    """Append a record for every open departure; return the lines that say what was written."""
    material = collated.material
    name = draft_name(material.edition.folder, given)
    if name.value is None:
        return Outcome(None, name.problems)
    editor = next(
        (id_ for id_, one in material.edition.head.agents.items() if one.role is Role.EDITOR), None
    )
    if editor is None:
        return Outcome(None, (_nobody_to_decide(collated),))
    if not material.edition.complete or len(material.decisions) < len(material.edition.records):
        return Outcome(None, (_not_all_read(given),))
    drafts = draft(collated.departures, material)
    problems = tuple(_without_place(one, collated) for one in drafts.without_place)
    if not drafts.made:
        return Outcome(("Nothing was written: no difference is left without a record.",), problems)
    text = DraftText(material, editor, day)
    records = tuple(text.record(one) for one in drafts.made)
    written = append_drafts(material.edition.folder, name.value, records)
    if written.value is None:
        return Outcome(None, (*problems, *written.problems))
    return Outcome(tuple(_lines(written.value, drafts.made)), problems)


def _lines(file: Path, made: tuple[Draft, ...]) -> Iterator[str]:
    differences = sum(len(one.subject.departures) for one in made)
    yield str(file)
    yield f"{counted(len(made), 'record')} for {counted(differences, 'difference')}"
    rows = [(one.id, place_in_words(one.standing.place)) for one in made]
    yield from columns(("record", "place"), rows)


def _nobody_to_decide(collated: Collated) -> Problem:
    return error(
        "no-editor",
        collated.material.edition.head_origins.at("agents"),
        "no agent has the role `editor`, so nobody would be responsible for the records",
        f"Name the editor among the `agents` of {HEAD_FILE}.",
    )


def _not_all_read(given: Path) -> Problem:
    return error(
        "records-not-read",
        Origin(str(given)),
        "some records could not be read or placed; what they answer would be drafted again",
        "Mend them first; `apparatus check` tells what is wrong. Nothing was written.",
    )


def _without_place(departure: Departure, collated: Collated) -> Problem:
    siglum = departure.witnesses[0]
    movement = departure.movement
    return warning(
        "difference-without-place",
        collated.material.edition.head_origins.at("witnesses", siglum, "encodings", movement),
        f"a difference of {', '.join(departure.witnesses)} in movement {movement} has no place "
        "that a record could name: its bars have no printed numbers of their own",
        "Number the bars of the base text, then draft again.",
    )
