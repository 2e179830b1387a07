"""Phrases of the commentary for a terminal or a comment line: without their markup."""

from __future__ import annotations

import re

from markupsafe import Markup

NOTHING = "–"
"""What stands where a side has nothing."""

_EMPTY_SIDE = re.compile(r'<span class="nothing">.*?</span></span>', re.DOTALL)


def plain_words(said: Markup | str) -> str:
    """Return the words alone; a side that has nothing is a dash."""
    text = Markup(_EMPTY_SIDE.sub(NOTHING, str(said))).striptags()
    return " ".join(text.replace("\u00a0", " ").split())
