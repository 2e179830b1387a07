"""Pictures for the page, as images with a description: what the PDF gives as alternate text.

A picture inside the HTML as elements would be styled element by element; as an image it is drawn
as it is, in a third of the time.
"""

from __future__ import annotations

import base64
import math
from dataclasses import dataclass

from markupsafe import Markup

from pipeline.engrave.svg_for_print import Svg

PICTURE_ADDRESS = "data:image/svg+xml;base64,"


@dataclass(frozen=True)
class PictureView:
    """A picture as an image element, and its size."""

    markup: Markup
    width_mm: float
    height_mm: float


def picture(svg: Svg, description: str = "", at_most_mm: float = math.inf) -> PictureView:
    """Return a drawing as an image of its own size, or made smaller to the width it may have.

    `description` is used where the drawing's own is not worded for the reader.
    """
    scale = min(1.0, at_most_mm / svg.width_mm)
    width, height = svg.width_mm * scale, svg.height_mm * scale
    address = PICTURE_ADDRESS + base64.b64encode(svg.markup.encode()).decode()
    markup = Markup('<img src="{}" alt="{}" style="width:{:.2f}mm;height:{:.2f}mm">').format(
        Markup(address), description or svg.text, width, height
    )
    return PictureView(markup, width, height)
