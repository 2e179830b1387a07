"""The faces that the reading copy carries: the music's, that of the signs, and a cut of the text's.

The digits and words of the engraved music keep the face that they were measured in; only the
letters that occur are taken along. What is read beside the music is set in a face of the reader's
own machine.
"""

from __future__ import annotations

import base64
import io
from collections.abc import Iterable, Iterator
from functools import cache

from pipeline.engrave.fonts import music_font_face
from pipeline.typeset.faces import MUSIC_TEXT_FAMILY, TEXT_FACE, faces
from pipeline.typeset.signs_face import FAMILY, signs_face

_ALWAYS = frozenset(map(chr, range(0x20, 0x7F)))
"""What a player may write, and the digits and letters of every language."""


def faces_css(music: Iterable[str]) -> str:
    """Return the rules with the faces inside. `music` is the markup of all that is engraved."""
    characters = "".join(sorted(_ALWAYS.union(*music)))
    return "\n".join(
        [
            music_font_face(),
            _rule(FAMILY, signs_face(), ""),
            *(_rule(MUSIC_TEXT_FAMILY, face, style) for face, style in _text_faces(characters)),
        ]
    )


def _text_faces(characters: str) -> Iterator[tuple[bytes, str]]:
    """Yield the styles of the text face that are installed, cut down to these characters."""
    installed = faces().files
    for face in TEXT_FACE:
        if face.name in installed:
            style = f" font-style: {face.style}; font-weight: 400 800;"
            yield _cut(installed[face.name], characters), f"{style} font-feature-settings: 'lnum';"


@cache
def _cut(face: bytes, characters: str) -> bytes:
    from fontTools.subset import Options, Subsetter
    from fontTools.ttLib import TTFont

    font = TTFont(io.BytesIO(face), recalcTimestamp=False)
    options = Options(layout_features=["lnum", "kern"], hinting=False, name_IDs=[1, 2])
    subsetter = Subsetter(options)
    subsetter.populate(text=characters)
    subsetter.subset(font)
    file = io.BytesIO()
    font.save(file)
    return file.getvalue()


def _rule(family: str, face: bytes, style: str) -> str:
    address = f"data:font/ttf;base64,{base64.b64encode(face).decode()}"
    return (
        f"@font-face {{ font-family: '{family}'; src: url({address}) format('truetype');{style} }}"
    )
