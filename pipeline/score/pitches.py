"""Notes of one bar as written in, each with the pitch it sounds at out.

In this order: what the file says about sound (`accid.ges`), the printed accidental, the note it is
tied from, an accidental earlier in the bar on the same line or space of the same staff, the key
signature (common practice, no source; MEI Guidelines 5.1, chapter 4.2.5). A file that states sound
where it differs from the key, as most exporters do, is thereby read as it means.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from fractions import Fraction

from pipeline.score.model import NoteHead, Pitch
from pipeline.score.signatures import ALTERATIONS, Key
from pipeline.score.trouble import Trouble
from pipeline.score.voices import WrittenNote

_Line = tuple[int, str, int]
"""A line or space of a staff: staff, step, octave as written."""

_QUARTER_TONES = frozenset({"su", "sd", "fu", "fd", "nu", "nd", "1qf", "3qf", "1qs", "3qs", "kf"})


@dataclass
class Accidentals:
    """Which alteration holds on each line of each staff; ties are remembered across the barline."""

    trouble: Trouble
    tied: dict[_Line, int] = field(default_factory=dict)
    in_bar: dict[_Line, int] = field(default_factory=dict)

    def barline(self) -> None:
        """Forget the accidentals of the bar that ends."""
        self.in_bar.clear()

    def head(self, note: WrittenNote, tie: str, key: Key, octaves: int, place: str) -> NoteHead:
        """Return the note as it sounds. Notes of a bar must come in the order of their onsets."""
        line = (note.staff, note.step, note.octave)
        alter = self._alteration(note, tie, line, key, place)
        if note.printed:
            self.in_bar[line] = alter
        if tie in {"i", "m"}:
            self.tied[line] = alter
        elif tie == "t":
            self.tied.pop(line, None)
        octave = note.sounding_octave
        pitch = Pitch(note.step, alter, note.octave + octaves if octave is None else octave)
        return NoteHead(note.xml_id, pitch, note.printed, note.shape, tie)

    def _alteration(self, note: WrittenNote, tie: str, line: _Line, key: Key, place: str) -> int:
        for written in (note.implied, note.printed):
            if written in ALTERATIONS:
                return ALTERATIONS[written]
            if written:
                self._unheard(note, written, place)
        if tie in {"m", "t"} and line in self.tied:
            return self.tied[line]
        if line in self.in_bar:
            return self.in_bar[line]
        return key.alterations.get(note.step, 0)

    def _unheard(self, note: WrittenNote, written: str, place: str) -> None:
        if written in _QUARTER_TONES:
            self.trouble.warn(
                "quarter-tone",
                note.element,
                f'the accidental "{written}" is not a whole number of semitones; '
                "pitches are reckoned without it",
                "The sign itself is kept; check by ear what depends on this pitch.",
                place,
            )
        else:
            self.trouble.error(
                "unknown-accidental",
                note.element,
                f'"{written}" is not an accidental of MEI',
                "Write s, f, n, x, ss, ff or another value of MEI data.ACCIDENTAL.",
                place,
            )


def key_at(changes: list[tuple[Fraction, Key]], start: Key, onset: Fraction) -> Key:
    """Return the key in force at an onset of a bar that began with `start`."""
    key = start
    for moment, changed in changes:
        if moment <= onset:
            key = changed
    return key


def tie_of(written: str, xml_id: str, starts: Mapping[str, str], ends: frozenset[str]) -> str:
    """Return i, m, t or "" from the attribute and the `tie` elements that name the note."""
    opens = written in {"i", "m"} or xml_id in starts
    closes = written in {"m", "t"} or xml_id in ends
    return {(True, True): "m", (True, False): "i", (False, True): "t"}.get((opens, closes), "")
