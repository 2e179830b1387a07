"""What the template of a collation's page is given: finished text and markup."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from markupsafe import Markup

from pipeline.typeset.agreement import AgreementView


@dataclass(frozen=True)
class OverviewRow:
    """How much of a witness was compared in one movement.

    Where nothing could be compared, `cells` are empty and `besides` says why.
    """

    siglum: Markup
    movement: str
    cells: tuple[str, ...]
    besides: tuple[Markup, ...]


@dataclass(frozen=True)
class CountRow:
    """How often something occurs: in each witness, and in all."""

    name: Markup
    cells: tuple[int, ...]


@dataclass(frozen=True)
class CountTable:
    """Counts by kind (rows) and witness (columns)."""

    caption: Markup
    heads: tuple[str, ...]
    rows: tuple[CountRow, ...]


@dataclass(frozen=True)
class RowView:
    """One departure. `kind` and `witnesses_by_index` are what the page's filter goes by.

    `state` is "open", "proposed" or "answered", `state_word` the language's word for it; `records`
    are the ids of the records that speak of it.
    """

    place: Markup
    kind: str
    kind_name: Markup
    text: Markup
    witnesses: Markup
    witnesses_by_index: str
    reading: Markup
    state: str
    state_word: Markup
    records: tuple[str, ...]


@dataclass(frozen=True)
class PlaceView:
    """The departures of one bar of a staff, and its music."""

    anchor: str
    name: Markup
    rows: tuple[RowView, ...]
    music: tuple[Markup, ...]
    music_name: Markup


@dataclass(frozen=True)
class CollatedMovementView:
    """A movement's departures in reading order."""

    anchor: str
    title: Markup
    caption: Markup
    places: tuple[PlaceView, ...]


@dataclass(frozen=True)
class FilterView:
    """What the page's filter offers: values with their names."""

    witnesses: tuple[tuple[str, str], ...]
    kinds: tuple[tuple[str, Markup], ...]
    states: tuple[tuple[str, Markup], ...]


@dataclass(frozen=True)
class CollationView:
    """The whole page. `say` are the language's fixed words by the last parts of their key."""

    language: str
    document_title: str
    title: Markup
    subtitle: Markup
    composer: Markup
    contents: str
    say: Mapping[str, Markup]
    overview: tuple[OverviewRow, ...]
    kinds: CountTable
    set_aside: CountTable
    agreement: AgreementView | None
    filter: FilterView
    movements: tuple[CollatedMovementView, ...]
    count: int
