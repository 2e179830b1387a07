"""The notes of a passage as they sound, each once: events in, sounding pitches out.

A tied note sounds once. Where two tones sound together, or where a touched note stands alone and
several strings have a node there, no single pitch can be sought, and the note says why.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from pipeline.score.model import Event, Pitch
from pipeline.score.pitch_names import helmholtz
from pipeline.strings.harmonic_ways import Way, ways
from pipeline.strings.harmonics import WrittenTone, tone_sounds, written_tones
from pipeline.strings.instruments import Instrument
from pipeline.strings.nodes import TOUCHED_OVER_OPEN, TOUCHED_OVER_STOPPED
from pipeline.strings.spelling import spelled_above


@dataclass(frozen=True)
class SoundingNote:
    """What one note of a passage sounds.

    `events` are the note and those tied to it. `pitch` is None where `unclear` says why.
    """

    events: tuple[Event, ...]
    tones: tuple[WrittenTone, ...]
    pitch: Pitch | None
    unclear: str = ""

    @property
    def event(self) -> Event:
        """The note or chord at which it begins."""
        return self.events[0]


def sounding_notes(events: Iterable[Event], instrument: Instrument) -> tuple[SoundingNote, ...]:
    """Return the notes of one staff in the order of time, rests left out, grace notes kept."""
    found: list[SoundingNote] = []
    held: dict[int, int] = {}
    for event in sorted((e for e in events if e.heads), key=lambda e: (e.bar, e.onset)):
        at = held.get(event.voice)
        if at is not None and all(head.tie in {"m", "t"} for head in event.heads):
            earlier = found[at]
            found[at] = SoundingNote(
                (*earlier.events, event), earlier.tones, earlier.pitch, earlier.unclear
            )
            continue
        tones = written_tones(event)
        pitch, unclear = _one_pitch(tones, instrument)
        held[event.voice] = len(found)
        found.append(SoundingNote((event,), tones, pitch, unclear))
    return tuple(found)


def ways_as_written(tone: WrittenTone, instrument: Instrument) -> tuple[Way, ...]:
    """Return the ways to sound a harmonic that are written just so: only the string may be open.

    Empty for an ordinary note and for a harmonic that does not exist.
    """
    if not tone.is_harmonic:
        return ()
    return tuple(
        way
        for pitch in _pitches(tone, instrument)
        for way in ways(pitch, instrument)
        if _is_written(way, tone)
    )


def _is_written(way: Way, tone: WrittenTone) -> bool:
    if tone.touched is None:
        return way.natural
    if way.touched.midi != tone.touched.pitch.midi:
        return False
    if tone.stopped is None:
        return way.natural
    # The open string itself may be written where the stopped note stands.
    return (way.stopped or way.string).midi == tone.stopped.pitch.midi


def _one_pitch(tones: tuple[WrittenTone, ...], instrument: Instrument) -> tuple[Pitch | None, str]:
    if len(tones) > 1:
        return None, f"{len(tones)} tones sound together here"
    pitches = _pitches(tones[0], instrument)
    if len(pitches) == 1:
        return pitches[0], ""
    if not pitches:
        return None, "what is written here is no harmonic"
    names = " or ".join(helmholtz(pitch) for pitch in pitches)
    return None, f"the touched note does not say its string; it sounds {names}"


def _pitches(tone: WrittenTone, instrument: Instrument) -> tuple[Pitch, ...]:
    """Return the pitches that the tone may sound, by name, from low to high."""
    if tone.touched is None:
        return (tone.lowest.pitch,)
    touched = tone.touched.pitch
    if tone.stopped is not None:
        node = TOUCHED_OVER_STOPPED.get(touched.midi - tone.stopped.pitch.midi)
        above = () if node is None else (spelled_above(tone.stopped.pitch, node.sounds_above),)
        return tuple(above)
    found: dict[int, Pitch] = {}
    for string in instrument.strings:
        over = TOUCHED_OVER_OPEN.get(touched.midi - string.midi)
        if over is not None:
            pitch = spelled_above(string, over.sounds_above)
            found.setdefault(pitch.midi, pitch)
    assert found.keys() == tone_sounds(tone, instrument)
    return tuple(found[midi] for midi in sorted(found))
