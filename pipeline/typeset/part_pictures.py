"""A line of music for the PDF: glyphs as characters of the music face instead of outlines.

Verovio brings the outline of each glyph along in every SVG. As characters they come from one face
that the document embeds once, cut to what it uses: two thirds of the size.
"""

from __future__ import annotations

import re

from pipeline.engrave.fonts import MUSIC_FACE

_EM = 1000
"""Units of the em in which Verovio writes a glyph's outline."""
_OUTLINES = re.compile(r"<defs>.*?</defs>", re.DOTALL)
_GLYPH = re.compile(
    r'<use xlink:href="#([0-9A-F]{4,5})[^"]*"'
    r' transform="translate\(([-\d.]+), ([-\d.]+)\) scale\(([\d.]+), \4\)"\s*/>'
)


def in_music_face(svg: str) -> str:
    """Return the SVG with its glyphs as text; one with glyphs placed otherwise is left as it is."""
    written = _GLYPH.sub(_character, svg)
    return svg if "<use" in written else _OUTLINES.sub("", written)


def _character(glyph: re.Match[str]) -> str:
    code, x, y, scale = glyph.groups()
    size = f"{float(scale) * _EM:g}"
    return f'<text x="{x}" y="{y}" font-family="{MUSIC_FACE}" font-size="{size}">&#x{code};</text>'
