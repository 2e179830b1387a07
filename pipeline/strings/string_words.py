"""Which string words above the staff ask for: directions in, the string of each note out.

`sul G` or a Roman number (I the highest) holds until another string is named, as where this project
prints them itself; common practice, no source.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping

from pipeline.score.model import Event, Marking, MarkingKind, Pitch
from pipeline.strings.instruments import Instrument

_SUL = re.compile(r"\bsul\s+(?P<string>[A-Ga-g]|[IV]{1,3})\b")
_NUMBER = re.compile(r"[IV]{1,3}")


def strings_named(
    events: Iterable[Event], markings: Iterable[Marking], instrument: Instrument
) -> Mapping[str, Pitch]:
    """Return the open string of each event over which one is named, by the event's xml:id."""
    named = sorted(
        (m for m in markings if m.kind is MarkingKind.WORDS and _string(m.content, instrument)),
        key=lambda m: m.start,
    )
    found: dict[str, Pitch] = {}
    for event in events:
        before = [words for words in named if words.start <= event.start]
        string = _string(before[-1].content, instrument) if before else None
        if string is not None:
            found[event.xml_id] = string
    return found


def _string(words: str, instrument: Instrument) -> Pitch | None:
    named = _NUMBER.fullmatch(words.strip())
    if named is not None:
        return instrument.string(named[0])
    named = _SUL.search(words)
    return None if named is None else instrument.string(named["string"])
