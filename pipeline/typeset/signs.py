"""Music signs in running text: accidentals, note values and rests, dynamics.

No text face at hand has ♯ ♭ ♮ in every style, and a borrowed one never matches. So they are set in
a face of their own (see `signs_face`), cut from the one the examples are engraved in.
"""

from __future__ import annotations

import re

from markupsafe import Markup

_RUN = re.compile(
    "[\u266d-\u266f\U0001d12a\U0001d12b\U0001d13b-\U0001d140\U0001d15d-\U0001d163\U0001d16d]+"
)
_DYNAMIC = re.compile("[pmfrsz]+")


def in_signs_face(text: Markup) -> Markup:
    """Return the markup with every run of music signs set upright in the signs face."""
    return Markup(_RUN.sub(lambda run: f'<span class="sign">{run[0]}</span>', str(text)))


def dynamic(content: str) -> Markup:
    """Return a dynamic in its engraved letters; words such as cresc. in italics."""
    if _DYNAMIC.fullmatch(content):
        return Markup('<span class="dynamic">{}</span>').format(content)
    return Markup("<i>{}</i>").format(content)
