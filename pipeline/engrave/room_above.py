"""Whether what was lifted above a slur now stands in the music of the staff above it.

Two drawings in, before and after lifting; out goes the room between staves that would be enough.
Verovio has set the staves as close as its own placing allows, which the lifting then exceeds.
"""

from __future__ import annotations

import re
from collections.abc import Iterator

from pipeline.engrave.boxes import Box, shape_box, words_box
from pipeline.engrave.verovio_svg import Drawing, Glyph

SVG_UNITS_PER_MEI_UNIT = 90
"""An MEI unit is half a staff space."""

_AIR = 60
_LIFTED = frozenset({"fing", "dir", "label", "labelAbbr", "mNum"})
_GLYPH_HALF_HEIGHT = 0.13
"""Half the height of a notehead, and about that of most signs, as a part of the em."""
_GLYPH_WIDTH = 0.32
_STAFF_LINE = re.compile(r"^M[\d.]+ ([\d.]+) L[\d.]+ \1$")
_LINES = 5


def staff_distance_needed(before: Drawing, after: Drawing) -> int | None:
    """Return the distance of staves in MEI units at which nothing lifted meets the staff above.

    None where nothing does. The distance is from the lowest line of a staff to the highest of the
    next one.
    """
    lifted = [
        words_box(new) for old, new in zip(before.words, after.words, strict=True) if new.y < old.y
    ]
    if not lifted:
        return None
    obstacles = list(_obstacles(before))
    missing = max(
        (
            obstacle.bottom - box.top
            for box in lifted
            for obstacle in obstacles
            if box.meets(obstacle) and obstacle.middle < box.middle
        ),
        default=0.0,
    )
    gaps = _gaps(before)
    if missing <= 0 or not gaps:
        return None
    return round((max(gaps) + missing + _AIR) / SVG_UNITS_PER_MEI_UNIT + 0.5)


def _obstacles(drawing: Drawing) -> Iterator[Box]:
    for glyph in drawing.glyphs:
        if not glyph.transform:
            yield _glyph_box(glyph)
    for shape in drawing.shapes:
        if not shape.transform and not shape.classes & {"slur", "barLine", "system-line"}:
            box = shape_box(shape)
            if box is not None:
                yield box
    for words in drawing.words:
        if not words.classes & _LIFTED:
            yield words_box(words)


def _glyph_box(glyph: Glyph) -> Box:
    half = _GLYPH_HALF_HEIGHT * glyph.size
    return Box(glyph.x, glyph.y - half, glyph.x + _GLYPH_WIDTH * glyph.size, glyph.y + half)


def _gaps(drawing: Drawing) -> list[float]:
    """The distances between neighbouring staves."""
    heights = {
        float(line[1])
        for shape in drawing.shapes
        if "staff" in shape.classes
        and not shape.classes & {"layer", "ledgerLines"}
        and (line := _STAFF_LINE.match(dict(shape.attributes).get("d", "")))
    }
    lines = sorted(heights)
    return [lines[index] - lines[index - 1] for index in range(_LINES, len(lines), _LINES)]
