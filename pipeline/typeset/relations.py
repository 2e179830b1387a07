"""The relation of the sources: the editor's stemma, and beside it what shared errors suggest.

In come the sources as the edition gives them and the suggestion, if there is one; out go drawings
of one height with captions that tell them apart, and sentences.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from markupsafe import Markup

from pipeline.collation.shared_errors import SuggestedStemma
from pipeline.edition.head import Witness
from pipeline.engrave.svg_for_print import Svg
from pipeline.typeset.agreement_stemma import suggested_view
from pipeline.typeset.pictures import PictureView, picture
from pipeline.typeset.stemma import stemma
from pipeline.typeset.wording import Wording

_WIDTH_MM = 133.0
_GAP_MM = 7.0
_INDENT_MM = 14.0
_LEAST_CAPTION_MM = 56.0
"""A caption is set no narrower than this, however narrow its drawing."""


@dataclass(frozen=True)
class StemmaDrawing:
    """A drawing, its caption, and the width that both have where drawings stand side by side."""

    caption: Markup
    picture: PictureView
    width_mm: float


@dataclass(frozen=True)
class RelationsView:
    """The drawings, beside each other or one below the other, and what is said of them."""

    heading: Markup
    drawings: tuple[StemmaDrawing, ...]
    beside: bool
    sentences: tuple[Markup, ...]
    caution: Markup


def relations_view(
    witnesses: Mapping[str, Witness], suggested: SuggestedStemma | None, wording: Wording
) -> RelationsView | None:
    """Return the relation of the sources, None where neither edition nor errors say anything."""
    say = wording.say
    dated = {
        siglum: witness.model_copy(update={"date": wording.date(witness.date)})
        for siglum, witness in witnesses.items()
    }
    models = {siglum: witness.copied_from for siglum, witness in witnesses.items()}
    words = _in_words(models, wording)
    editors = stemma(dated, words)
    arrow = say("sources.stemma_caption")
    if suggested is None:
        if editors is None:
            return None
        return RelationsView(
            say("document.stemma"), _drawings([(arrow, editors)]), False, (), Markup("")
        )
    view = suggested_view(suggested, models, wording)
    beside = editors is not None and view.drawing is not None and _fit([editors, view.drawing])
    if editors is not None and view.drawing is not None and beside:
        view = suggested_view(suggested, models, wording, editors.height_mm)
        editors = stemma(dated, words, view.drawing.height_mm if view.drawing else 0.0)
    drawn: list[tuple[Markup, Svg]] = []
    if editors is not None:
        caption = say("agreement.editors", arrow=arrow) if view.drawing else arrow
        drawn.append((caption, editors))
    if view.drawing is not None:
        drawn.append((say("agreement.suggested"), view.drawing))
    return RelationsView(
        heading=say("document.stemma"),
        drawings=_drawings(drawn),
        beside=beside,
        sentences=view.sentences,
        caution=view.caution,
    )


def _drawings(drawn: list[tuple[Markup, Svg]]) -> tuple[StemmaDrawing, ...]:
    most = _WIDTH_MM - _INDENT_MM
    return tuple(
        StemmaDrawing(caption, picture(svg, at_most_mm=most), _column_mm(svg))
        for caption, svg in drawn
    )


def _fit(drawn: list[Svg]) -> bool:
    """Return whether drawings with their captions stand beside each other in the text column."""
    return sum(map(_column_mm, drawn)) + _GAP_MM * (len(drawn) - 1) <= _WIDTH_MM


def _column_mm(svg: Svg) -> float:
    return max(svg.width_mm, _LEAST_CAPTION_MM)


def _in_words(models: Mapping[str, tuple[str, ...]], wording: Wording) -> str:
    copies = [
        wording.say("sources.stemma_edge", copy=siglum, model=model).striptags()
        for siglum, from_ in models.items()
        for model in from_
    ]
    return f"{wording.say('document.stemma')}: {'; '.join(copies)}"
