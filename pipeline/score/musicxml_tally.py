"""Counts what a MusicXML file has in each bar against what its import into MEI has.

An importer that meets something it cannot place drops it without a word. Notes are followed one by
one; signs are counted by kind, bar for bar.
"""

from __future__ import annotations

from collections import Counter
from typing import TYPE_CHECKING

from pipeline.score.mei_names import Element, local, tag
from pipeline.score.trouble import Trouble

if TYPE_CHECKING:
    from pipeline.score.musicxml import Imported

_SIGNS = {
    "slur": "slur",
    "words": "dir",
    "dynamics": "dynam",
    "wedge": "hairpin",
    "fingering": "fing",
    "trill-mark": "trill",
    "turn": "turn",
    "inverted-turn": "turn",
    "mordent": "mordent",
    "inverted-mordent": "mordent",
    "fermata": "fermata",
    "octave-shift": "octave",
    "breath-mark": "breath",
}
_NAMES = {
    "slur": "slurs",
    "dir": "words",
    "dynam": "dynamics",
    "hairpin": "hairpins",
    "fing": "fingerings",
    "trill": "trills",
    "turn": "turns",
    "mordent": "mordents",
    "fermata": "fermatas",
    "octave": "octave signs",
    "breath": "breath marks",
}
_ENDS = frozenset({"stop", "continue"})


def tell_losses(imported: Imported, trouble: Trouble) -> None:
    """Tell every note and every kind of sign that the import has fewer of."""
    _tell_lost_notes(imported, trouble)
    _tell_lost_signs(imported, trouble)


def _tell_lost_notes(imported: Imported, trouble: Trouble) -> None:
    for part in imported.source.iterfind("part"):
        for measure in part.iterfind("measure"):
            notes = [n for n in measure.iterfind("note") if n.find("rest") is None]
            lost = [note for note in notes if note not in imported.mei_of]
            if lost:
                trouble.error(
                    "notes-lost-in-import",
                    lost[0],
                    f"{len(lost)} of {len(notes)} notes of this bar cannot be converted",
                    "look at voices and durations of this bar in the program that made the file",
                    f"bar {measure.get('number', '')}, part {part.get('id', '')}",
                )


def _tell_lost_signs(imported: Imported, trouble: Trouble) -> None:
    measures = list(imported.root.iter(tag("measure")))
    parts = [list(part.iterfind("measure")) for part in imported.source.iterfind("part")]
    for index, measure in enumerate(measures):
        sources = [part[index] for part in parts if index < len(part)]
        written = Counter(kind for source in sources for kind in _signs_written(source))
        found = Counter(local(child) for child in measure)
        # Words may have become a tempo, a rehearsal mark or part of a dynamic.
        found["dir"] += found["tempo"] + found["reh"] + found["harm"] + found["dynam"]
        for kind, count in written.items():
            if found[kind] < count:
                lost = count - found[kind]
                trouble.warn(
                    "signs-lost-in-import",
                    sources[0],
                    f"{lost} of {count} {_NAMES[kind]} of this bar cannot be converted",
                    "compare the bar with the source; write the base text as MEI "
                    "if the sign matters",
                    f"bar {measure.get('n', '')}",
                )


def _signs_written(measure: Element) -> list[str]:
    found = []
    for element in measure.iter("*"):
        kind = _SIGNS.get(str(element.tag))
        if kind is None or element.get("type") in _ENDS:
            continue
        if kind == "fing" and element.get("substitution") == "yes":
            continue
        found.append(kind)
    return found
