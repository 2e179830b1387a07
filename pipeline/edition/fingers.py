"""The short notation for fingerings, as a player would say it, one entry a note or chord.

    1            first finger                    open, 0        open string
    3 on D       third finger on the D string    thumb, T       thumb (cello, double bass)
    none, .      no digit here                   [1 on D, 4]    double stop, lowest note first
    touch 3 on A natural harmonic touched by 3   1 touch 4      stopped 1, touched 4

Strings are named by letter (G, D, A, E) or by Roman numeral (I is the highest).
"""

from __future__ import annotations

import re
from typing import Annotated, Any

from pydantic import BeforeValidator, Field, WithJsonSchema

from pipeline.edition.strict import Strict, UnfitError

THUMB = "T"

_FINGER = (
    r"(?:(?P<touch>touch)\s+)?(?P<digit>open|thumb|T|[0-9]{1,3})"
    r"(?:\s+touch\s+(?P<touched>[0-9]{1,3}|thumb|T))?"
    r"(?:\s+on\s+(?P<string>[A-Ga-g]|I{1,3}|IV|VI?))?"
)
_ENTRY = re.compile(rf"^{_FINGER}$")
_NO_FINGER = frozenset({"none", "."})
_REMEDY = (
    "Write a digit, `open`, `thumb`, `none`, `3 on D`, `touch 3 on A`, `1 touch 4` "
    "or `[1 on D, 4]`, entries set apart by commas."
)


class Finger(Strict):
    """What one hand does for one note.

    `digit` is the finger that stops (or, for a natural harmonic, touches): "0" to "4" or "T";
    anything else is kept as written for the check to name. `touched` is the finger that touches
    over a stopped note, `natural` marks a natural harmonic, `string` is empty where none is named.
    """

    digit: str
    string: str = ""
    natural: bool = False
    touched: str = ""


class Fingering(Strict):
    """The fingers of one note or chord, lowest note first; no finger at all means none here."""

    fingers: tuple[Finger, ...] = ()


def read_entry(written: object) -> Fingering:
    """Return one entry read from the short notation. Raises UnfitError where it cannot be read."""
    if isinstance(written, Fingering):
        return written
    if isinstance(written, str) and written.strip().startswith("["):
        written = _bracketed(written.strip())
    if isinstance(written, list | tuple):
        if not written:
            raise UnfitError("a double stop is empty", "Write `none` where no finger is given.")
        return Fingering(fingers=tuple(_finger(one) for one in written))
    if isinstance(written, str) and written.strip() in _NO_FINGER:
        return Fingering()
    return Fingering(fingers=(_finger(written),))


def as_written(entry: Fingering) -> str:
    """Return an entry in the short notation: what `read_entry` reads, an open string as `0`."""
    said = [_said(finger) for finger in entry.fingers]
    if not said:
        return "none"
    return said[0] if len(said) == 1 else f"[{', '.join(said)}]"


def _said(finger: Finger) -> str:
    touch = "touch " if finger.natural else ""
    touched = f" touch {finger.touched}" if finger.touched else ""
    return f"{touch}{finger.digit}{touched}{f' on {finger.string}' if finger.string else ''}"


def entries_of(written: object) -> object:
    """Return the entries of a run, not read yet: a list, or one line of text cut at its commas."""
    return _cut(str(written)) if isinstance(written, str | int) else written


def _cut(line: str) -> list[str]:
    """Cut at the commas that are not inside the brackets of a double stop."""
    entries, depth = [""], 0
    for character in line:
        depth += {"[": 1, "]": -1}.get(character, 0)
        if character == "," and depth == 0:
            entries.append("")
        else:
            entries[-1] += character
    return [entry.strip() for entry in entries]


def _bracketed(entry: str) -> list[str]:
    if not entry.endswith("]"):
        raise UnfitError(f"the bracket of `{entry}` is not closed", _REMEDY)
    return [part.strip() for part in entry[1:-1].split(",")]


def _finger(written: object) -> Finger:
    if isinstance(written, dict | list | tuple):
        raise UnfitError("a finger is written as a word or a digit", _REMEDY)
    text = "" if written is None else str(written).strip()
    found = _ENTRY.match(text)
    if found is None:
        if not text:
            raise UnfitError("an entry between two commas is empty", "Write `none` for no finger.")
        if re.fullmatch(r"(?:[0-9T]\s+)+[0-9T]", text):
            raise UnfitError(f"`{text}` has no commas", "Set the entries apart by commas: 1, 2, 3.")
        raise UnfitError(f"`{text}` is no fingering", _REMEDY)
    digit = {"open": "0", "thumb": THUMB}.get(found["digit"], found["digit"])
    touched = found["touched"] or ""
    return Finger(
        digit=digit,
        string=(found["string"] or "").upper(),
        natural=found["touch"] is not None,
        touched=THUMB if touched == "thumb" else touched,
    )


_FINGER_SCHEMA: dict[str, Any] = {
    "anyOf": [
        {"type": "integer", "minimum": 0},
        {"type": "string", "pattern": "^(" + re.sub(r"\?P<\w+>", "?:", _FINGER) + ")$"},
    ]
}
_ENTRY_SCHEMA: dict[str, Any] = {
    "anyOf": [
        *_FINGER_SCHEMA["anyOf"],
        {"enum": sorted(_NO_FINGER)},
        {"type": "string", "pattern": r"^\[.+\]$"},
        {"type": "array", "items": _FINGER_SCHEMA, "minItems": 1},
    ]
}
_RUN_SCHEMA: dict[str, Any] = {
    "anyOf": [
        {"type": "array", "items": _ENTRY_SCHEMA, "minItems": 1},
        {"type": "string", "minLength": 1, "description": "entries set apart by commas"},
        {"type": "integer", "minimum": 0},
    ]
}

Run = Annotated[
    tuple[Annotated[Fingering, BeforeValidator(read_entry)], ...],
    Field(min_length=1),
    BeforeValidator(entries_of),
    WithJsonSchema(_RUN_SCHEMA),
]
"""One fingering entry a note or chord of a place."""
