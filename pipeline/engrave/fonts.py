"""The music face for the typeset page: Verovio's own Leipzig, given to the HTML once.

Verovio's SVG sets some signs (the note of a metronome mark, a dynamic among words) as characters
of this face in the layout of SMuFL (Standard Music Font Layout 1.4); everything else is outlines.
"""

from __future__ import annotations

from functools import cache
from importlib.resources import files

MUSIC_FACE = "Leipzig"
"""The CSS family name by which Verovio's SVG asks for the face."""


@cache
def music_font_face() -> str:
    """Return the CSS `@font-face` rule that carries the face itself (WOFF2 as a data URI)."""
    return (files("verovio") / "data" / f"{MUSIC_FACE}.css").read_text(encoding="utf-8").strip()
