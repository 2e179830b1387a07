"""What a note sounds: the written pitch, or that of the harmonic it is written as.

In come events with their head shapes, out go MIDI semitones. Touching a string at k/n of its
length sounds its n-th partial: H. Helmholtz, *On the Sensations of Tone* (any acoustics handbook).
Touched intervals over a stopped note: J. Wolfe, "Strings, standing waves and harmonics" (UNSW);
F. H. Martens, *Violin Mastery* (1919); the major sixth by arithmetic (2/5).
"""

from __future__ import annotations

from collections.abc import Mapping

from pipeline.score.model import Event, NoteHead
from pipeline.strings.instruments import Instrument

SOUNDS_ABOVE_STOPPED: Mapping[int, int] = {3: 31, 4: 28, 5: 24, 7: 19, 9: 28, 12: 12}
"""Semitones from the stopped to the sounding note, by semitones from stopped to touched."""

SOUNDS_ABOVE_OPEN: Mapping[int, int] = {
    3: 31, 4: 28, 5: 24, 7: 19, 9: 28, 12: 12, 16: 28, 19: 19, 24: 24, 28: 28, 31: 31,
}  # fmt: skip
"""The same for an open string, with the nodes beyond its middle; partials 2 to 6."""

HARMONIC_SIGN = "harm"
"""MEI data.ARTICULATION for the circle above a note that is written as it sounds."""


def sounding(event: Event, instrument: Instrument) -> tuple[frozenset[int], ...]:
    """Return for each tone of the event the MIDI semitones it may sound, from low to high.

    A tone has several where a touched note stands alone: which string it is on is then not
    written. It has none where the string has no node of the first six partials at that place.
    """
    heads = sorted(event.heads, key=lambda head: head.pitch.midi)
    tones: list[frozenset[int]] = []
    while heads:
        head = heads.pop(0)
        over = heads[0] if heads else None
        if head.shape != "diamond" and over is not None and over.shape == "diamond":
            tones.append(_stopped(head, heads.pop(0)))
        elif head.shape == "diamond" and HARMONIC_SIGN not in event.articulations:
            tones.append(_natural(head, instrument))
        else:
            tones.append(frozenset({head.pitch.midi}))
    return tuple(tones)


def _stopped(stopped: NoteHead, touched: NoteHead) -> frozenset[int]:
    above = SOUNDS_ABOVE_STOPPED.get(touched.pitch.midi - stopped.pitch.midi)
    return frozenset() if above is None else frozenset({stopped.pitch.midi + above})


def _natural(touched: NoteHead, instrument: Instrument) -> frozenset[int]:
    return frozenset(
        string.midi + SOUNDS_ABOVE_OPEN[touched.pitch.midi - string.midi]
        for string in instrument.strings
        if touched.pitch.midi - string.midi in SOUNDS_ABOVE_OPEN
    )
