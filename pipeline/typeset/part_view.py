"""What the template of the part is given: finished text, sizes and places in millimetres."""

from __future__ import annotations

from dataclasses import dataclass

from pipeline.typeset.rich_text import RichText


@dataclass(frozen=True)
class TitleView:
    """The head of the first page."""

    title: RichText
    subtitle: RichText
    scoring: RichText
    instrument: RichText
    composer: RichText
    editors: RichText


@dataclass(frozen=True)
class LegendSample:
    """A mark as it looks; `picture` is the name of its file, `alt` describes it."""

    picture: str
    alt: str
    width_mm: float
    caption: RichText


@dataclass(frozen=True)
class LegendLayer:
    """A layer that is shown: its name, whose it is, its marks."""

    name: RichText
    people: RichText
    samples: tuple[LegendSample, ...]


@dataclass(frozen=True)
class LegendView:
    """The foot of the first page: layers, sentences below them, the notice of rights."""

    layers: tuple[LegendLayer, ...]
    sentences: tuple[RichText, ...]
    rights: RichText


@dataclass(frozen=True)
class NoteView:
    """A footnote; `number` is that of the remark."""

    number: str
    text: RichText


@dataclass(frozen=True)
class PageItem:
    """A heading or a line of music, `y_mm` below the upper margin.

    A line has a `picture`, a heading a key in `headings`.
    """

    y_mm: float
    heading: str = ""
    picture: str = ""
    alt: str = ""
    width_mm: float = 0.0


@dataclass(frozen=True)
class PageView:
    """One page. `notes` are keys; `title_mm` and `notes_mm` say where title and notes begin.

    `quick_turn` asks for a sign at its foot that it has to be turned without a rest.
    """

    items: tuple[PageItem, ...]
    notes: tuple[str, ...]
    notes_mm: float
    quick_turn: bool
    title_mm: float = 0.0


@dataclass(frozen=True)
class PaperView:
    """The page after trimming and what is around it, in millimetres."""

    width_mm: float
    height_mm: float
    top_mm: float
    bottom_mm: float
    inside_mm: float
    outside_mm: float
    around_mm: float
    bleed_mm: float


@dataclass(frozen=True)
class PartView:
    """The whole part, worded. `pages` is empty while heights are being measured."""

    language: str
    document_title: str
    author: str
    description: str
    running: RichText
    quick_turn: str
    paper: PaperView
    title: TitleView
    legend: LegendView
    headings: dict[str, RichText]
    notes: dict[str, NoteView]
    pages: tuple[PageView, ...] = ()
