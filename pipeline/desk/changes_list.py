"""The changes between two states as a typeset list: a page of HTML, or a PDF in a file."""

from __future__ import annotations

from pathlib import Path

from pipeline.desk.changes import Changes
from pipeline.problems import Outcome
from pipeline.writing import write_all


def changes_page(changes: Changes) -> str:
    """Return the list as HTML."""
    from pipeline.typeset.change_list import change_list_html

    return change_list_html(
        changes.new.edition.head,
        (changes.old.name, changes.new.name),
        changes.movements,
        changes.further,
        changes.written_otherwise,
        changes.wording,
    )


def changes_to(changes: Changes, out: Path) -> Outcome[tuple[str, ...]]:
    """Typeset the list into a PDF; return the path written, or why it was not."""
    from pipeline.typeset.change_list import change_list_pdf

    pdf = change_list_pdf(changes_page(changes))
    if pdf.value is None:
        return Outcome(None, pdf.problems)
    written = write_all(out.parent, {out.name: pdf.value})
    paths = None if written.value is None else tuple(map(str, written.value))
    return Outcome(paths, (*pdf.problems, *written.problems))
