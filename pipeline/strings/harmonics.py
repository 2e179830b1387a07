"""What a note sounds: the written pitch, or that of the harmonic it is written as.

In come events with their head shapes, out go MIDI semitones. The tables and their sources are in
`pipeline.strings.nodes`.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from pipeline.score.model import Event, NoteHead, Pitch
from pipeline.strings.instruments import Instrument
from pipeline.strings.nodes import TOUCHED_OVER_OPEN, TOUCHED_OVER_STOPPED

SOUNDS_ABOVE_STOPPED: Mapping[int, int] = {
    interval: node.sounds_above for interval, node in TOUCHED_OVER_STOPPED.items()
}
"""Semitones from the stopped to the sounding note, by semitones from stopped to touched."""

SOUNDS_ABOVE_OPEN: Mapping[int, int] = {
    interval: node.sounds_above for interval, node in TOUCHED_OVER_OPEN.items()
}
"""The same for an open string; partials 2 to 8, the nodes beyond its middle included."""

HARMONIC_SIGN = "harm"
"""MEI data.ARTICULATION for the circle above a note that is written as it sounds."""


@dataclass(frozen=True)
class WrittenTone:
    """One tone as it is written: an ordinary note, or a harmonic by its stopped and touched notes.

    A natural harmonic has no stopped note; one with the circle above it, `circled`, has neither:
    its `sounds` is the note that is written.
    """

    sounds: NoteHead | None = None
    stopped: NoteHead | None = None
    touched: NoteHead | None = None
    circled: bool = False

    @property
    def is_harmonic(self) -> bool:
        """Whether a string is touched for it."""
        return self.circled or self.touched is not None

    @property
    def lowest(self) -> NoteHead:
        """The note by which the tone is found in a chord: its lowest."""
        found = self.sounds or self.stopped or self.touched
        assert found is not None
        return found


def written_tones(event: Event) -> tuple[WrittenTone, ...]:
    """Return the tones of a note or chord, from the lowest; stopped with touched note is one."""
    return tuple(_tones(event))


def _tones(event: Event) -> Iterator[WrittenTone]:
    circled = HARMONIC_SIGN in event.articulations
    heads = sorted(event.heads, key=lambda head: head.pitch.midi)
    while heads:
        head = heads.pop(0)
        over = heads[0] if heads else None
        if head.shape != "diamond" and over is not None and over.shape == "diamond":
            yield WrittenTone(stopped=head, touched=heads.pop(0))
        elif head.shape == "diamond" and not circled:
            yield WrittenTone(touched=head)
        else:
            yield WrittenTone(sounds=head, circled=circled)


def sounding(
    event: Event, instrument: Instrument, string: Pitch | None = None
) -> tuple[frozenset[int], ...]:
    """Return for each tone of the event the MIDI semitones it may sound, from low to high.

    A tone has several where a touched note stands alone and no `string` is named for it. It has
    none where no string has a node of the first eight partials at that place.
    """
    return tuple(tone_sounds(tone, instrument, string) for tone in written_tones(event))


def tone_sounds(
    tone: WrittenTone, instrument: Instrument, string: Pitch | None = None
) -> frozenset[int]:
    """Return the MIDI semitones that one written tone may sound (see `sounding`)."""
    if tone.touched is None:
        return frozenset({tone.lowest.pitch.midi})
    touched = tone.touched.pitch.midi
    if tone.stopped is not None:
        below = tone.stopped.pitch.midi
        above = SOUNDS_ABOVE_STOPPED.get(touched - below)
        return frozenset() if above is None else frozenset({below + above})
    if string is not None and touched - string.midi in SOUNDS_ABOVE_OPEN:
        return frozenset({string.midi + SOUNDS_ABOVE_OPEN[touched - string.midi]})
    return frozenset(
        one.midi + SOUNDS_ABOVE_OPEN[touched - one.midi]
        for one in instrument.strings
        if touched - one.midi in SOUNDS_ABOVE_OPEN
    )
