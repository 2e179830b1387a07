"""Engraved pictures for the page: given a title, which becomes the PDF's alternate text."""

from __future__ import annotations

import re

from markupsafe import Markup, escape

from pipeline.engrave.svg_for_print import Svg
from pipeline.typeset.views import PictureView

_OPENING = re.compile(r"<svg\b[^>]*>")


def picture(svg: Svg) -> PictureView:
    """Return the picture with its description as the first thing inside it."""
    opening = _OPENING.search(svg.markup)
    if opening is None:
        raise ValueError("an engraved picture that is not an SVG")
    title = f"<title>{escape(svg.text)}</title>"
    markup = svg.markup[opening.start() : opening.end()] + title + svg.markup[opening.end() :]
    return PictureView(Markup(markup), svg.width_mm, svg.height_mm)
