"""The music face for the typeset page: Verovio's own Leipzig, given to the HTML once.

Verovio's SVG sets some signs (the note of a metronome mark, a dynamic among words) as characters
of this face in the layout of SMuFL (Standard Music Font Layout 1.4); everything else is outlines.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from functools import cache
from importlib.resources import files

_BOX = re.compile(r'<g c="(\w+)" x="([-\d.]+)" y="([-\d.]+)" w="([-\d.]+)" h="([-\d.]+)"')

MUSIC_FACE = "Leipzig"
"""The CSS family name by which Verovio's SVG asks for the face."""


@cache
def music_font_face() -> str:
    """Return the CSS `@font-face` rule that carries the face itself (WOFF2 as a data URI)."""
    return (files("verovio") / "data" / f"{MUSIC_FACE}.css").read_text(encoding="utf-8").strip()


@cache
def glyph_boxes() -> Mapping[str, tuple[float, float, float, float]]:
    """Return left, bottom, width and height of each glyph by its code, in thousandths of the em."""
    data = files("verovio") / "data" / f"{MUSIC_FACE}.xml"
    return {
        code: (float(x), float(y), float(width), float(height))
        for code, x, y, width, height in _BOX.findall(data.read_text(encoding="utf-8"))
    }
