"""The short notation for fingerings, as a player would say it, one entry a note or chord.

    1            first finger                    open, 0        open string
    3 on D       third finger on the D string    thumb, T       thumb (cello, double bass)
    none, .      no digit here                   [1 on D, 4]    double stop, lowest note first
    touch 3 on A natural harmonic touched by 3   1 touch 4      stopped 1, touched 4

Strings are named by letter (G, D, A, E) or by Roman numeral (I is the highest).
"""

from __future__ import annotations

import re

from pipeline.edition.strict import Strict

THUMB = "T"
_ENTRY = re.compile(
    r"^(?:(?P<touch>touch)\s+)?(?P<digit>open|thumb|T|\d+)"
    r"(?:\s+touch\s+(?P<touched>\d+))?(?:\s+on\s+(?P<string>[A-Ga-g]|I{1,3}|IV|V|VI))?$"
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
    """Return one entry read from the short notation.

    Raises ValueError, worded for the editor, where it cannot be read.
    """
    if isinstance(written, list | tuple):
        return Fingering(fingers=tuple(_finger(one) for one in written))
    if written is None or str(written).strip() in {"none", ".", ""}:
        return Fingering()
    return Fingering(fingers=(_finger(written),))


def read_fingering(written: object) -> object:
    """Return the entries of a run: a list, or one line of text with entries set apart by commas."""
    if isinstance(written, str):
        written = [part.strip() for part in written.split(",")]
    if not isinstance(written, list | tuple):
        return written
    return tuple(one if isinstance(one, Fingering) else read_entry(one) for one in written)


def _finger(written: object) -> Finger:
    found = _ENTRY.match(str(written).strip())
    if found is None:
        raise ValueError(
            f"`{written}` is not a fingering; write a digit, `open`, `thumb`, `none`, "
            "`3 on D`, `touch 3 on A` or `1 touch 4`"
        )
    digit = {"open": "0", "thumb": THUMB}.get(found["digit"], found["digit"])
    return Finger(
        digit=digit,
        string=(found["string"] or "").upper(),
        natural=found["touch"] is not None,
        touched=found["touched"] or "",
    )
