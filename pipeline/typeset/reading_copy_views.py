"""What the template of the reading copy is given: finished text and markup in each language."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from markupsafe import Markup

from pipeline.typeset.views import RemarkView

InEach = Mapping[str, Markup]
"""A text in each language of the page, by its code."""


@dataclass(frozen=True)
class ReadingRemark:
    """A remark of the commentary with what leads to the music and back.

    `bars` are the printed numbers of its bars, `bar_anchor` the first of them as the page's
    addresses have it, empty where the part has no such bar. `pictures` take the page's faces.
    """

    view: RemarkView
    record: str
    number: str
    where: Markup
    bars: tuple[str, ...]
    layer: str
    layer_name: Markup
    who: Markup
    bar_anchor: str
    to_music: Markup
    pictures: tuple[Markup, ...]
    filed: Markup


@dataclass(frozen=True)
class RemarksOfMovement:
    """A movement's remarks in one language."""

    numeral: str
    title: Markup
    remarks: tuple[ReadingRemark, ...]


@dataclass(frozen=True)
class LanguageView:
    """All that is said in one language; `name` is the language's own name for itself."""

    code: str
    name: str
    document_title: str
    say: Mapping[str, Markup]
    movements: tuple[RemarksOfMovement, ...]


@dataclass(frozen=True)
class LayerChoice:
    """A layer that can be shown and hidden, with a digit as it stands in the music."""

    value: str
    name: InEach
    sample: Markup


@dataclass(frozen=True)
class MusicOfMovement:
    """The lines of a movement, each one SVG or two: the second, hidden, has every alternative."""

    n: int
    numeral: str
    title: InEach
    lines: tuple[tuple[Markup, ...], ...]


@dataclass(frozen=True)
class ReadingCopyView:
    """The whole page; the first language is the one that it opens in."""

    languages: tuple[LanguageView, ...]
    composer: InEach
    title: InEach
    subtitle: InEach
    rights: InEach
    layers: tuple[LayerChoice, ...]
    movements: tuple[MusicOfMovement, ...]
    glyphs: Markup
    file_name: str
