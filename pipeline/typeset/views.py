"""What the templates are given: finished text and markup, nothing to look up, nothing to decide."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from markupsafe import Markup

from pipeline.typeset.agreement import AgreementView
from pipeline.typeset.pictures import PictureView
from pipeline.typeset.places import Key
from pipeline.typeset.relations import RelationsView


@dataclass(frozen=True)
class AlternativeView:
    """One alternative of a fingering or bowing, with what speaks for and against it.

    `figures` are what was computed about it; `detail` is what it does, in words, empty where a
    picture shows it.
    """

    name: Markup
    by: Markup
    printed: Markup
    circumstance: Markup
    figures: tuple[Markup, ...]
    detail: tuple[Markup, ...]
    speaks_for: Markup
    speaks_against: Markup


@dataclass(frozen=True)
class HandRow:
    """A fingering in the table: its name, its figures, and the line that is its in the picture."""

    name: Markup
    cells: tuple[str, ...]
    line: PictureView | None


@dataclass(frozen=True)
class HandView:
    """What the hand does in several fingerings: a picture with its caption, and a table.

    There is no picture where no hand moves. `inferred` says how many notes had to be inferred.
    """

    picture: PictureView | None
    caption: Markup
    headings: tuple[Markup, ...]
    rows: tuple[HandRow, ...]
    inferred: Markup


@dataclass(frozen=True)
class RemarkView:
    """One remark. `statements` are the phrases from the record, `reason` the editor's prose.

    `number` is padded to the width of three figures. `beside` says that the pictures are narrow
    enough to stand beside the prose. Where the record states nothing by itself, the first
    paragraph of the prose is `run_in` behind the kind.
    """

    anchor: str
    number: str
    key: Key
    kind: Markup
    statements: tuple[Markup, ...]
    alternatives: tuple[AlternativeView, ...]
    hand: HandView | None
    pictures: tuple[PictureView, ...]
    beside: bool
    run_in: Markup
    reason: Markup
    evidence: Markup
    filed: Markup


@dataclass(frozen=True)
class MovementView:
    """A movement's remarks under its heading."""

    anchor: str
    numeral: str
    title: Markup
    remarks: tuple[RemarkView, ...]


@dataclass(frozen=True)
class SampleView:
    """An engraved sample of the legend with what it shows."""

    picture: PictureView
    caption: Markup


@dataclass(frozen=True)
class LayerView:
    """A layer as the legend shows it."""

    name: Markup
    about: Markup
    samples: tuple[SampleView, ...]


@dataclass(frozen=True)
class SourceView:
    """A source with its siglum."""

    siglum: str
    title: Markup
    facts: tuple[Markup, ...]
    description: Markup


@dataclass(frozen=True)
class PersonView:
    """A person, house or tradition that the remarks name."""

    name: Markup
    facts: Markup
    about: Markup


@dataclass(frozen=True)
class IndexEntry:
    """Bar and number of a remark, and where it stands."""

    bars: str
    number: int
    anchor: str


@dataclass(frozen=True)
class IndexLine:
    """All remarks of one kind in one movement."""

    kind: Markup
    movement: str
    entries: tuple[IndexEntry, ...]


@dataclass(frozen=True)
class IndexLayer:
    """All decisions of one layer."""

    name: Markup
    lines: tuple[IndexLine, ...]


@dataclass(frozen=True)
class OpenPoint:
    """Something the editor has not settled."""

    where: Markup
    kind: Markup
    state: Markup
    reason: Markup
    filed: Markup


@dataclass(frozen=True)
class TitlePage:
    """What the title page says, top to bottom."""

    composer: Markup
    title: Markup
    subtitle: Markup
    scoring: Markup
    genre: Markup
    editors: Markup
    date: Markup
    rights: Markup
    proof: Markup


@dataclass(frozen=True)
class Chapter:
    """A line of the contents, with the parts below it."""

    anchor: str
    title: Markup
    parts: tuple[Chapter, ...] = ()


@dataclass(frozen=True)
class CommentaryView:
    """The whole commentary. `headings` and `words` are the language's own, by key."""

    language: str
    document_title: str
    author: str
    description: str
    modified: str
    running_title: Markup
    title_page: TitlePage
    headings: Mapping[str, Markup]
    chapters: tuple[Chapter, ...]
    preface: Markup
    reading_lead: Markup
    reading_key: tuple[Markup, ...]
    caution: Markup
    layers: tuple[LayerView, ...]
    sources: tuple[SourceView, ...]
    agreement: AgreementView | None
    stemma: RelationsView | None
    people_heading: Markup
    people: tuple[PersonView, ...]
    method: Markup
    movements: tuple[MovementView, ...]
    index_lead: Markup
    index: tuple[IndexLayer, ...]
    open_lead: Markup
    open_points: tuple[OpenPoint, ...] | None
    nothing_open: Markup
    words: Mapping[str, Markup]
