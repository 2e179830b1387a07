"""Words that somebody wrote, as they are quoted in a message: short, on one line, printable."""

from __future__ import annotations

import re
from collections.abc import Sequence

_SHOWN_LETTERS = 40

# YAML forbids the control characters (YAML 1.2.2, production 1, c-printable), XML too (XML 1.0,
# production 2, Char); the line separators are refused because text editors do not count them.
UNPRINTABLE = re.compile("[\x00-\x08\x0b\x0c\x0e-\x1f\x7f-\x9f\u2028\u2029\ufeff\ufffe\uffff]")
"""Characters that no text of an edition may hold."""


def printable(written: str) -> str:
    """Return a word with every character that cannot be printed spelled out as `\\x..`."""
    safe = written.encode("utf-8", "backslashreplace").decode("utf-8")
    return "".join(c if c.isprintable() else c.encode("unicode_escape").decode() for c in safe)


def quoted(written: str) -> str:
    """Return a word or text between backticks, cut where it is long."""
    start = " ".join(written[: 4 * _SHOWN_LETTERS].split())
    if len(start) > _SHOWN_LETTERS:
        start = f"{start[: _SHOWN_LETTERS - 1].rstrip()}…"
    return f"`{printable(start)}`"


def listed(words: Sequence[str], last: str = "or") -> str:
    """Return words between backticks as a list in prose: `a`, `b` or `c`."""
    marked = [quoted(word) for word in words]
    if len(marked) < 2:
        return "".join(marked)
    return f"{', '.join(marked[:-1])} {last} {marked[-1]}"
