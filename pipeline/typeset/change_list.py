"""The list of changes for a new printing: rows in, HTML and PDF out."""

from __future__ import annotations

import hashlib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from markupsafe import Markup

from pipeline.edition.head import EditionHead, Role
from pipeline.problems import Origin, Outcome
from pipeline.typeset.change_rows import Row
from pipeline.typeset.environment import environment
from pipeline.typeset.faces import faces
from pipeline.typeset.pdf import html_to_pdf
from pipeline.typeset.prose import Prose
from pipeline.typeset.remarks import roman
from pipeline.typeset.wording import Wording


@dataclass(frozen=True)
class Section:
    """A heading with its table; `by_bar` tells that its rows have a place in the music."""

    heading: Markup
    rows: tuple[Row, ...]
    by_bar: bool


@dataclass(frozen=True)
class ChangeListView:
    """All that the template prints."""

    language: str
    document_title: str
    composer: Markup
    title: Markup
    heading: Markup
    lead: Markup
    columns: Mapping[str, Markup]
    sections: tuple[Section, ...]
    notes: tuple[Markup, ...]


def change_list_html(
    head: EditionHead,
    states: tuple[str, str],
    movements: Mapping[int, Sequence[Row]],
    further: Mapping[Markup, Sequence[Row]],
    notes: Sequence[Markup],
    wording: Wording,
) -> str:
    """Return the page: a table a movement, then what stands in none.

    `states` are what the old and the new one are called, `notes` sentences at the end.
    """
    say, prose = wording.say, Prose(wording.code, head.main_language)
    titles = {one.n: prose.inline(one.title) for one in head.movements}
    composer = wording.listed(
        prose.inline(agent.name) for agent in head.agents.values() if agent.role is Role.COMPOSER
    )
    title = prose.inline(head.title)
    old, new = states
    sections = [
        Section(Markup("{}\u2002{}").format(roman(n), titles.get(n, Markup(""))), tuple(rows), True)
        for n, rows in movements.items()
    ]
    sections += [
        Section(heading, tuple(rows), any(row.bars for row in rows))
        for heading, rows in further.items()
        if rows
    ]
    view = ChangeListView(
        language=wording.code,
        document_title=say("changes.document", None, title=title.striptags()).striptags(),
        composer=composer,
        title=title,
        heading=say("changes.title"),
        lead=say("changes.lead" if sections or notes else "changes.none", None, old=old, new=new),
        columns={n: say(f"changes.columns.{n}") for n in ("bar", "what", "was", "now", "record")},
        sections=tuple(sections),
        notes=tuple(notes),
    )
    template = environment().get_template("changes.html.jinja")
    return template.render(view=view, faces_css=Markup(faces().css))


def change_list_pdf(html: str) -> Outcome[bytes]:
    """Return the PDF/UA-1 of the list; problems are what the typesetter complains of."""
    found = faces()
    identifier = hashlib.sha256(html.encode()).digest()[:16]
    made = html_to_pdf(html, found, Origin("changes"), identifier)
    return Outcome(made.value, (*found.problems, *made.problems))
