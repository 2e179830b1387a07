"""Counts what a MusicXML file has in each bar against what its import into MEI has.

An importer that meets something it cannot place drops it without a word. Notes are followed one by
one; signs are counted by kind, bar for bar.
"""

from __future__ import annotations

import re
from collections import Counter
from fractions import Fraction
from typing import TYPE_CHECKING

from pipeline.score.bar_lines import repeats_of
from pipeline.score.durations import dots_of, quarters_of, ratio_of
from pipeline.score.mei_names import Element, amount, local, tag
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
_PITCH_PARTS = {
    "step": re.compile("[A-G]"),
    "octave": re.compile("[0-9]"),
    "alter": re.compile(r"[+-]?[0-3](\.[0-9]+)?|"),
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
_TYPES = {
    "long": "long",
    "breve": "breve",
    "whole": "1",
    "half": "2",
    "quarter": "4",
    "eighth": "8",
    "16th": "16",
    "32nd": "32",
    "64th": "64",
    "128th": "128",
    "256th": "256",
}
_ENDS = frozenset({"stop", "continue"})


def tell_losses(imported: Imported, trouble: Trouble) -> None:
    """Tell every note and every kind of sign that the import has fewer of."""
    _tell_lost_notes(imported, trouble)
    _tell_unreadable_pitches(imported, trouble)
    _tell_lost_signs(imported, trouble)
    _tell_lost_bar_lines(imported, trouble)
    _tell_changed_durations(imported, trouble)


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
                    "Look at voices and durations of this bar in the program that made the file.",
                    f"bar {measure.get('number', '')}, part {part.get('id', '')}",
                )


def _tell_unreadable_pitches(imported: Imported, trouble: Trouble) -> None:
    """Tell pitches that the importer would guess at (MusicXML 4.0: step, octave, semitones)."""
    for note in imported.mei_of:
        wrong = next(
            (part for part in note.iterfind("pitch/*") if not _fits(str(part.tag), part.text)), None
        )
        if wrong is not None:
            trouble.error(
                "unreadable-pitch",
                wrong,
                f'the {wrong.tag} of this note is "{wrong.text or ""}"',
                "Write a step from A to G, an octave from 0 to 9, and semitones from -3 to 3.",
            )


def _fits(part: str, written: str | None) -> bool:
    pattern = _PITCH_PARTS.get(part)
    return pattern is None or pattern.fullmatch((written or "").strip()) is not None


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
                    "Compare the bar with the source; write the base text as MEI "
                    "if the sign matters.",
                    f"bar {measure.get('n', '')}",
                )


def _tell_lost_bar_lines(imported: Imported, trouble: Trouble) -> None:
    """Tell repeat signs and endings that the import has not, as where an ending never stops."""
    measures = list(imported.root.iter(tag("measure")))
    repeats = repeats_of(measures)
    part = imported.source.find("part")
    written = [] if part is None else list(part.iterfind("measure"))
    for source, measure, (start, end) in zip(written, measures, repeats, strict=False):
        ways = {one.get("direction") for one in source.iterfind("barline/repeat")}
        endings = {one.get("type") for one in source.iterfind("barline/ending")}
        around = any(local(one) == "ending" for one in measure.iterancestors())
        lost = [
            name
            for name, is_lost in (
                (
                    "repeat sign",
                    ("forward" in ways and not start) or ("backward" in ways and not end),
                ),
                ("ending", "start" in endings and not around),
            )
            if is_lost
        ]
        for name in lost:
            trouble.warn(
                "signs-lost-in-import",
                source,
                f"the {name} of this bar cannot be converted",
                "See that it begins and ends in the file, or write the music as MEI.",
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


def _tell_changed_durations(imported: Imported, trouble: Trouble) -> None:
    """Tell what lasts otherwise than the file says; a file may also contradict itself."""
    for part in imported.source.iterfind("part"):
        divisions = Fraction(1)
        for measure in part.iterfind("measure"):
            place = f"bar {measure.get('number', '')}, part {part.get('id', '')}"
            changed: list[Element] = []
            for child in measure:
                if child.tag == "attributes":
                    divisions = _amount(child.findtext("divisions")) or divisions
                elif child.tag == "note" and child.find("chord") is None:
                    lasts = _amount(child.findtext("duration"))
                    read = _notated_quarters(imported.mei_of.get(child))
                    if lasts is None or read is None or lasts / divisions == read:
                        continue
                    if _written_quarters(child) == read:
                        _tell_contradiction(child, trouble, place)
                    else:
                        changed.append(child)
            if changed:
                trouble.error(
                    "durations-changed-in-import",
                    changed[0],
                    f"{len(changed)} notes or rests of this bar come out longer or shorter than "
                    "the file says, beginning here",
                    "Look at the tuplets and note values of this bar in the program that made the "
                    "file, or write the music as MEI.",
                    place,
                )


def _tell_contradiction(note: Element, trouble: Trouble, place: str) -> None:
    trouble.warn(
        "duration-contradicts-note-value",
        note,
        "the file gives this note a duration that does not fit its note value; "
        "the note value is read",
        "Compare the bar with the source.",
        place,
    )


def _written_quarters(note: Element) -> Fraction | None:
    """Return how long a MusicXML note lasts by its `type`, dots and `time-modification`."""
    quarters = quarters_of(_TYPES.get(note.findtext("type") or "", ""), len(note.findall("dot")))
    if quarters is None:
        return None
    actual = _amount(note.findtext("time-modification/actual-notes"))
    normal = _amount(note.findtext("time-modification/normal-notes"))
    return quarters * normal / actual if actual and normal else quarters


def _notated_quarters(element: Element | None) -> Fraction | None:
    """Return how long an imported note or rest lasts by its note value and what encloses it."""
    if element is None or "grace" in element.attrib:
        return None
    bearer = element
    around = list(element.iterancestors())
    if around and local(around[0]) == "chord":
        bearer = around[0]
    quarters = quarters_of(bearer.get("dur", ""), dots_of(bearer))
    if quarters is None:
        return None
    for enclosing in around:
        name = local(enclosing)
        ratio = ratio_of(enclosing) if name == "tuplet" else None
        if ratio is not None:
            quarters *= Fraction(ratio[1], ratio[0])
        elif name == "fTrem":
            quarters /= 2
        elif name == "layer":
            break
    return quarters


def _amount(written: str | None) -> Fraction | None:
    return amount((written or "").strip())
