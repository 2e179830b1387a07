"""Note values and rests as signs of the signs face (Unicode, Musical Symbols)."""

from __future__ import annotations

from pipeline.score.model import Event

_NOTES = {
    "1": "\U0001d15d",
    "2": "\U0001d15e",
    "4": "\U0001d15f",
    "8": "\U0001d160",
    "16": "\U0001d161",
    "32": "\U0001d162",
    "64": "\U0001d163",
}
_RESTS = {
    "1": "\U0001d13b",
    "2": "\U0001d13c",
    "4": "\U0001d13d",
    "8": "\U0001d13e",
    "16": "\U0001d13f",
    "32": "\U0001d140",
}
_DOT = "\U0001d16d"


def note_value(event: Event) -> str:
    """Return the sign of an event's written value; a value without a sign as a fraction."""
    plain = event.written.rstrip(".")
    signs = _NOTES if event.heads else _RESTS
    sign = signs.get(plain, f"1/{plain}")
    return sign + _DOT * (len(event.written) - len(plain))
