"""Grips: the ways to take one note or chord, each finger on its string.

In come an event and, where some are written, its fingers; out go all grips that agree with them.
A natural harmonic is touched at a node k/n of the open string (see `harmonics`), a stopped one has
two fingers on one string. Notes that sound together lie on neighbouring strings, the higher note
on the higher string unless strings are named otherwise (common practice, no source).
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import combinations, pairwise, product

from pipeline.edition.fingers import Finger
from pipeline.score.model import Event, NoteHead
from pipeline.strings.frames import OPEN, Hand
from pipeline.strings.harmonics import HARMONIC_SIGN, SOUNDS_ABOVE_OPEN
from pipeline.strings.instruments import FINGERS, Instrument


@dataclass(frozen=True)
class Stop:
    """A finger on a string, or an open string.

    `string` counts from 0, the highest; `semitones` are those of the place above the open string;
    `touched` tells a finger that only touches (harmonics).
    """

    string: int
    semitones: int
    finger: str
    touched: bool = False

    @property
    def open(self) -> bool:
        """Whether no finger is on the string."""
        return self.finger == OPEN


@dataclass(frozen=True)
class Grip:
    """What the hand does for one note or chord: stops from the lowest note to the highest."""

    stops: tuple[Stop, ...]

    @property
    def fingered(self) -> tuple[Stop, ...]:
        """The stops with a finger, without the open strings."""
        return tuple(stop for stop in self.stops if not stop.open)

    @property
    def strings(self) -> frozenset[int]:
        """The strings that sound."""
        return frozenset(stop.string for stop in self.stops)


@dataclass(frozen=True)
class Tone:
    """One thing that sounds: a note, or a stopped note with the note touched above it."""

    head: NoteHead
    touched: NoteHead | None = None
    harmonic: bool = False


@dataclass(frozen=True)
class Digit:
    """What is written for one head: a finger or none, a string (index) or none."""

    finger: str | None = None
    string: int | None = None
    natural: bool = False


FREE = Digit()
"""Nothing is written."""


def tones_of(event: Event) -> tuple[Tone, ...]:
    """Return what sounds in the event, from low to high, stopped harmonics as one tone."""
    heads = sorted(event.heads, key=lambda head: head.pitch.midi)
    circled = HARMONIC_SIGN in event.articulations
    tones: list[Tone] = []
    while heads:
        head = heads.pop(0)
        if head.shape != "diamond" and heads and heads[0].shape == "diamond":
            tones.append(Tone(head, heads.pop(0)))
        else:
            tones.append(Tone(head, harmonic=circled or head.shape == "diamond"))
    return tuple(tones)


def grips_of(
    event: Event, fingers: Sequence[Finger], hand: Hand, only: frozenset[int] | None = None
) -> tuple[Grip, ...]:
    """Return the grips that agree with the fingers written, all grips where none is.

    Fewer fingers than notes belong to some of the notes, in their order. `only` restricts the
    strings. Whether a hand can take the grip is not asked here (see `hand_faults`).
    """
    tones = tones_of(event)
    found: dict[Grip, None] = {}
    for digits in _digits(tones, fingers, hand.instrument):
        for grip in _together(tones, digits, event, hand, only):
            found[grip] = None
    return tuple(found)


def _digits(
    tones: tuple[Tone, ...], fingers: Sequence[Finger], instrument: Instrument
) -> Iterator[tuple[tuple[Digit, Digit], ...]]:
    """Yield each way to give the fingers to the tones: for each what stops and what touches."""
    if not fingers:
        yield tuple((FREE, FREE) for _ in tones)
        return
    heads = [(n, part) for n, tone in enumerate(tones) for part in range(1 + bool(tone.touched))]
    if len(fingers) == len(heads) > len(tones):
        given = [_digit(finger, instrument) for finger in fingers]
        table = dict(zip(heads, given, strict=True))
        yield tuple((table[n, 0], table.get((n, 1), FREE)) for n in range(len(tones)))
        return
    for chosen in combinations(range(len(tones)), min(len(fingers), len(tones))):
        pairs = [(FREE, FREE)] * len(tones)
        for n, finger in zip(chosen, fingers, strict=False):
            digit = _digit(finger, instrument)
            touching = Digit(_known(finger.touched, instrument), digit.string)
            pairs[n] = digit, touching
        yield tuple(pairs)


def _digit(finger: Finger, instrument: Instrument) -> Digit:
    pitch = instrument.string(finger.string) if finger.string else None
    string = instrument.strings.index(pitch) if pitch is not None else None
    return Digit(_known(finger.digit, instrument), string, finger.natural)


def _known(finger: str, instrument: Instrument) -> str | None:
    """Return the finger, or None for one that no such hand has: another rule tells that."""
    return finger if finger == OPEN or finger in instrument.fingers else None


def _together(
    tones: tuple[Tone, ...],
    digits: tuple[tuple[Digit, Digit], ...],
    event: Event,
    hand: Hand,
    only: frozenset[int] | None,
) -> list[Grip]:
    ways = [
        [way for way in _tone_ways(tone, stopping, touching, hand)
         if only is None or way[0].string in only]
        for tone, (stopping, touching) in zip(tones, digits, strict=True)
    ]  # fmt: skip
    if len(ways) == 1:
        return [Grip(way) for way in ways[0]]
    chords = [chord for chord in product(*ways) if _side_by_side(chord)]
    straight = [chord for chord in chords if _in_order(chord)]
    return [Grip(tuple(stop for way in chord for stop in way)) for chord in straight or chords]


def _side_by_side(chord: tuple[tuple[Stop, ...], ...]) -> bool:
    strings = sorted(way[0].string for way in chord)
    return all(upper - lower == 1 for lower, upper in pairwise(strings))


def _in_order(chord: tuple[tuple[Stop, ...], ...]) -> bool:
    return all(low[0].string > high[0].string for low, high in pairwise(chord))


def _tone_ways(
    tone: Tone, stopping: Digit, touching: Digit, hand: Hand
) -> Iterator[tuple[Stop, ...]]:
    instrument = hand.instrument
    named = stopping.string if stopping.string is not None else touching.string
    for string, pitch in enumerate(instrument.strings):
        if named is not None and string != named:
            continue
        for semitones, touched in _semitones(tone, stopping, pitch.midi, instrument):
            for finger in _fingers(semitones, stopping, touched, instrument):
                stop = Stop(string, semitones, finger, touched)
                if tone.touched is None:
                    yield (stop,)
                    continue
                node = tone.touched.pitch.midi - pitch.midi
                for upper in _touching(finger, touching, instrument):
                    yield stop, Stop(string, node, upper, touched=True)


def _semitones(
    tone: Tone, digit: Digit, open_midi: int, instrument: Instrument
) -> Iterator[tuple[int, bool]]:
    """Yield each place on that string where the tone is, and whether it is touched there."""
    written = tone.head.pitch.midi - open_midi
    if tone.harmonic or digit.natural:
        for node, sounds in SOUNDS_ABOVE_OPEN.items():
            if written in ({node} if tone.head.shape == "diamond" else {node, sounds}):
                yield node, True
    elif 0 <= written <= instrument.fingerboard_semitones:
        yield written, False


def _fingers(
    semitones: int, digit: Digit, touched: bool, instrument: Instrument
) -> tuple[str, ...]:
    if digit.finger is not None:
        return (digit.finger,) if (digit.finger == OPEN) == (semitones == 0) else ()
    if semitones == 0:
        return (OPEN,)
    return tuple(f for f in instrument.fingers if f != "T" or touched or semitones > _THUMB_FROM)


_THUMB_FROM = 9
"""The thumb is set on the string above that stop only; below it is behind the neck (practice)."""


def _touching(finger: str, digit: Digit, instrument: Instrument) -> tuple[str, ...]:
    if digit.finger is not None:
        return (digit.finger,)
    if finger == OPEN:
        return instrument.fingers
    return tuple(f for f in instrument.fingers if FINGERS.index(f) > FINGERS.index(finger))
