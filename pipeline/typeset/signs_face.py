"""The face of the music signs in running text, cut from the music face of the examples.

The music face comes with the engraver (SMuFL 1.4 code points). A few of its glyphs are scaled to
the height of text figures and given their Unicode code points, so that a reader can search and
copy them; the letters of dynamics keep their letters.
"""

from __future__ import annotations

import base64
import importlib.resources
import io
import re
from functools import cache
from typing import Any

FAMILY = "Apparatus Signs"
UNITS_PER_EM = 1000

_SMUFL: dict[str, int] = {
    "\u266d": 0xE260,  # accidentalFlat
    "\u266e": 0xE261,  # accidentalNatural
    "\u266f": 0xE262,  # accidentalSharp
    "\U0001d12a": 0xE263,  # accidentalDoubleSharp
    "\U0001d12b": 0xE264,  # accidentalDoubleFlat
    "\U0001d15d": 0xECA2,  # metNoteWhole
    "\U0001d15e": 0xECA3,  # metNoteHalfUp
    "\U0001d15f": 0xECA5,  # metNoteQuarterUp
    "\U0001d160": 0xECA7,  # metNote8thUp
    "\U0001d161": 0xECA9,  # metNote16thUp
    "\U0001d162": 0xECAB,  # metNote32ndUp
    "\U0001d163": 0xECAD,  # metNote64thUp
    "\U0001d16d": 0xECB7,  # metAugmentationDot
    "\U0001d13b": 0xE4E3,  # restWhole
    "\U0001d13c": 0xE4E4,  # restHalf
    "\U0001d13d": 0xE4E5,  # restQuarter
    "\U0001d13e": 0xE4E6,  # rest8th
    "\U0001d13f": 0xE4E7,  # rest16th
    "\U0001d140": 0xE4E8,  # rest32nd
    "p": 0xE520,  # dynamicPiano
    "m": 0xE521,  # dynamicMezzo
    "f": 0xE522,  # dynamicForte
    "r": 0xE523,  # dynamicRinforzando
    "s": 0xE524,  # dynamicSforzando
    "z": 0xE525,  # dynamicZ
}

_HEIGHT: dict[str, tuple[int, int]] = {
    **dict.fromkeys("\u266d", (-20, 720)),
    **dict.fromkeys("\u266e\u266f", (-110, 690)),
    **dict.fromkeys("\U0001d12a", (60, 400)),
    **dict.fromkeys("\U0001d12b", (-20, 720)),
    **dict.fromkeys("\U0001d15d", (0, 240)),
    **dict.fromkeys("\U0001d15e\U0001d15f\U0001d160\U0001d161\U0001d162\U0001d163", (-40, 730)),
    **dict.fromkeys("\U0001d16d", (0, 110)),
    **dict.fromkeys("\U0001d13b\U0001d13c", (240, 360)),
    **dict.fromkeys("\U0001d13d\U0001d13e\U0001d13f\U0001d140", (-40, 640)),
}
"""Where each sign stands against the base line, in thousandths of the type size: lowest, highest.
The signs are tuned to a face whose capitals are about 650 high; nothing else about it matters."""

_DYNAMIC_SCALE = 1.4
"""Dynamics keep their proportions to each other: thousandths of the type size a SMuFL unit."""

_SIDE_BEARING = 45
_FIXED_TIME = 3_786_912_000
"""Seconds since 1904 as a font counts them: no clock may reach the bytes of a page."""


@cache
def signs_face() -> bytes:
    """Return the face as TrueType. Raises LookupError where the music face has changed its form."""
    from fontTools.fontBuilder import FontBuilder
    from fontTools.pens.boundsPen import BoundsPen
    from fontTools.pens.transformPen import TransformPen
    from fontTools.pens.ttGlyphPen import TTGlyphPen

    music = _music()
    glyphs, names = music.getGlyphSet(), music.getBestCmap()
    order, outlines, metrics, characters = [".notdef"], {}, {}, {}
    outlines[".notdef"] = TTGlyphPen(None).glyph()
    metrics[".notdef"] = (500, 0)
    for sign, smufl in sorted(_SMUFL.items()):
        if smufl not in names:
            raise LookupError(f"the music face has no glyph U+{smufl:04X}")
        bounds = BoundsPen(glyphs)
        glyphs[names[smufl]].draw(bounds)
        left, bottom, right, top = bounds.bounds
        if sign in _HEIGHT:
            low, high = _HEIGHT[sign]
            scale, bearing = (high - low) / (top - bottom), _SIDE_BEARING
        else:
            low, scale, bearing = _DYNAMIC_SCALE * bottom, _DYNAMIC_SCALE, 0
        pen = TTGlyphPen(None)
        shift = (bearing - scale * left, low - scale * bottom)
        glyphs[names[smufl]].draw(TransformPen(pen, (scale, 0, 0, scale, *shift)))
        name = f"u{ord(sign):04X}"
        order.append(name)
        outlines[name] = pen.glyph()
        metrics[name] = (round(scale * (right - left)) + 2 * bearing, bearing)
        characters[ord(sign)] = name
    return _face(FontBuilder(UNITS_PER_EM, isTTF=True), order, outlines, metrics, characters)


def _face(builder, order, outlines, metrics, characters) -> bytes:  # type: ignore[no-untyped-def]
    # fontTools is not typed here; the dates are fixed so that the same signs are the same bytes
    builder.setupGlyphOrder(order)
    builder.setupCharacterMap(characters)
    builder.setupGlyf(outlines)
    builder.setupHorizontalMetrics(metrics)
    builder.setupHorizontalHeader(ascent=800, descent=-200)
    names = {"familyName": FAMILY, "styleName": "Regular", "fullName": FAMILY}
    builder.setupNameTable(names | {"psName": f"{FAMILY.replace(' ', '')}-Regular"})
    builder.setupOS2(sTypoAscender=800, sTypoDescender=-200, usWinAscent=800, usWinDescent=200)
    builder.setupPost()
    builder.updateHead(created=_FIXED_TIME, modified=_FIXED_TIME)
    builder.font.recalcTimestamp = False
    file = io.BytesIO()
    builder.save(file)
    return file.getvalue()


@cache
def music_face() -> bytes:
    """Return the whole music face as TrueType, as the engraver's pictures ask for it."""
    music = _music()
    music.flavor = None
    file = io.BytesIO()
    music.save(file)
    return file.getvalue()


@cache
def _music() -> Any:
    from fontTools.ttLib import TTFont

    css = (importlib.resources.files("verovio") / "data" / "Leipzig.css").read_text("utf-8")
    found = re.search(r"base64,([A-Za-z0-9+/=]+)", css)
    if found is None:
        raise LookupError("the engraver's music face is not where it was")
    return TTFont(io.BytesIO(base64.b64decode(found[1])), recalcTimestamp=False)
