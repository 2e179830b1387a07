"""In what and how a witness can differ, as an editor names it; how `throughout` names it.

    fingering            every difference of fingering
    fingering missing    only what the witness lacks of it
    slur divided         only slurs of the text that are several in the witness

The words are the trade's; a kind that none of them fits is `other`.
"""

from __future__ import annotations

import re
from enum import StrEnum
from typing import Annotated

from pydantic import AfterValidator, WithJsonSchema

from pipeline.edition.quoting import listed, quoted
from pipeline.edition.strict import UnfitError
from pipeline.edition.suggestions import closest


class DifferenceKind(StrEnum):
    """How an editor would group what differs."""

    PITCH = "pitch"
    ACCIDENTAL = "accidental"
    RHYTHM = "rhythm"
    NOTES_ADDED = "notes added"
    NOTES_MISSING = "notes missing"
    TIE = "tie"
    ARTICULATION = "articulation"
    BOW_SIGN = "bow sign"
    SLUR = "slur"
    DYNAMIC = "dynamic"
    HAIRPIN = "hairpin"
    TEMPO = "tempo"
    WORDS = "words"
    FINGERING = "fingering"
    ORNAMENT = "ornament"
    OCTAVE_SIGN = "octave sign"
    NOTE_HEAD = "note head"
    METER = "meter"
    REPEAT = "repeat sign"
    ENDING = "ending"
    OTHER = "other"


class Change(StrEnum):
    """In what way the version differs; the kind says in what."""

    OTHERWISE = "otherwise"
    MISSING = "missing"
    ADDED = "added"
    STARTS_ELSEWHERE = "starts elsewhere"
    ENDS_ELSEWHERE = "ends elsewhere"
    MOVED = "moved"
    DIVIDED = "divided"
    JOINED = "joined"


KINDS = tuple(kind.value for kind in DifferenceKind)
"""The kinds as they are written, in the order in which differences of one moment are told."""

_WRITTEN = rf"^({'|'.join(KINDS)})(?: ({'|'.join(Change)}))?$"


def kind_and_change(written: str) -> tuple[DifferenceKind, Change | None]:
    """Return what an entry of `throughout` means; no change means every one.

    Raises UnfitError where it names no kind.
    """
    found = re.match(_WRITTEN, written)
    if found is None:
        raise UnfitError(f"{quoted(written)} is no kind of difference", _remedy(written))
    return DifferenceKind(found[1]), Change(found[2]) if found[2] else None


def _remedy(written: str) -> str:
    changed = [f"{kind} {change}" for kind in KINDS for change in Change]
    near = closest(written, [*KINDS, *changed])
    if near is not None:
        return f"Did you mean `{near}`?"
    return (
        f"Kinds are {listed(KINDS, 'and')}; a change may follow, as in `fingering missing`: "
        f"{listed([*Change])}."
    )


def _readable(written: str) -> str:
    kind_and_change(written)
    return written


KindAndChange = Annotated[
    str,
    AfterValidator(_readable),
    WithJsonSchema({"anyOf": [{"enum": list(KINDS)}, {"type": "string", "pattern": _WRITTEN}]}),
]
"""A kind of difference, with or without one change: `fingering`, `fingering missing`."""
