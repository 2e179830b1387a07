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
    view = suggested_view(suggested, models, wording, editors.height_mm if editors else 0.0)
    if editors is not None and view.drawing is not None:
        editors = stemma(dated, words, view.drawing.height_mm)
    drawn: list[tuple[Markup, Svg]] = []
    if editors is not None:
        caption = say("agreement.editors", arrow=arrow) if view.drawing else arrow
        drawn.append((caption, editors))
    if view.drawing is not None:
        drawn.append((say("agreement.suggested"), view.drawing))
    drawings = _drawings(drawn)
    side_by_side = sum(one.width_mm for one in drawings) + _GAP_MM
    return RelationsView(
        heading=say("document.stemma"),
        drawings=drawings,
        beside=len(drawings) > 1 and side_by_side <= _WIDTH_MM,
        sentences=view.sentences,
        caution=view.caution,
    )


def _drawings(drawn: list[tuple[Markup, Svg]]) -> tuple[StemmaDrawing, ...]:
    most = _WIDTH_MM - _INDENT_MM
    return tuple(
        StemmaDrawing(caption, picture(svg, at_most_mm=most), max(svg.width_mm, _LEAST_CAPTION_MM))
        for caption, svg in drawn
    )


def _in_words(models: Mapping[str, tuple[str, ...]], wording: Wording) -> str:
    copies = [
        wording.say("sources.stemma_edge", copy=siglum, model=model).striptags()
        for siglum, from_ in models.items()
        for model in from_
    ]
    return f"{wording.say('document.stemma')}: {'; '.join(copies)}"
