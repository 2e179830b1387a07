"""What a hand cannot do, or only by stretching: problems of single grips, with the note named.

In come a note, the fingers written for it and the grip they make; out go faults. How far two
fingers reach is data of the instrument (see `instruments.yaml`), from memory and different from
hand to hand: beyond what is ordinary is a warning, beyond the limit no hand is known to reach.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from enum import StrEnum
from itertools import combinations

from pipeline.edition.fingers import Finger
from pipeline.score.model import Event, Pitch
from pipeline.score.pitch_names import helmholtz
from pipeline.strings.frames import OPEN, Hand
from pipeline.strings.grips import Grip, Stop, tones_of
from pipeline.strings.instruments import FINGERS, Instrument, Stretch

CAUTION = (
    "Hands differ: try it slowly and without force, stop at the first strain, and ask a teacher, "
    "or a physician where it hurts."
)
"""What every warning of a stretch ends with."""


_CROSSED = 1
"""By so many semitones a finger may be below a lower one on another string (memory)."""


class FaultKind(StrEnum):
    """What is wrong with a fingering; all but a wide stretch are impossible."""

    NOT_ON_THE_STRING = "not on the string"
    NOT_AN_OPEN_STRING = "not an open string"
    NOT_TOGETHER = "not together"
    TWO_PLACES = "two places"
    BELOW_LOWER_FINGER = "below a lower finger"
    BEYOND_REACH = "beyond reach"
    WIDE_STRETCH = "wide stretch"


@dataclass(frozen=True)
class HandFault:
    """A fault at the note of that index in the run."""

    kind: FaultKind
    index: int
    message: str
    remedy: str


def faults_of_grip(index: int, grip: Grip, hand: Hand) -> tuple[HandFault, ...]:
    """Return what is wrong with a grip that lies on its strings, each fault once."""
    faults = (
        fault
        for one, other in combinations(grip.fingered, 2)
        for fault in _of_pair(index, one, other, hand)
    )
    return tuple(dict.fromkeys(faults))


def feasible(grip: Grip, hand: Hand) -> bool:
    """Return whether a hand can take the grip at all, be it by a wide stretch."""
    faults = faults_of_grip(0, grip, hand)
    return all(fault.kind is FaultKind.WIDE_STRETCH for fault in faults)


def _of_pair(index: int, one: Stop, other: Stop, hand: Hand) -> Iterator[HandFault]:
    lower, higher = sorted((one, other), key=lambda stop: FINGERS.index(stop.finger))
    if lower.finger == higher.finger:
        if lower.semitones != higher.semitones:
            yield HandFault(
                FaultKind.TWO_PLACES,
                index,
                f"finger {lower.finger} would be on two places at once: {_where(lower, hand)} and "
                f"{_where(higher, hand)}",
                "Give one of the two notes to another finger or to another string.",
            )
        return
    behind = lower.semitones - higher.semitones
    if behind > (-1 if lower.string == higher.string else _CROSSED):
        yield HandFault(
            FaultKind.BELOW_LOWER_FINGER,
            index,
            f"finger {higher.finger} ({_where(higher, hand)}) would be below finger "
            f"{lower.finger} ({_where(lower, hand)})",
            "Exchange the two fingers.",
        )
        return
    stretch = hand.instrument.stretch(lower.finger, higher.finger)
    if stretch is not None:
        yield from _of_span(index, lower, higher, stretch, hand)


def _of_span(
    index: int, lower: Stop, higher: Stop, stretch: Stretch, hand: Hand
) -> Iterator[HandFault]:
    span = hand.between(lower.semitones, higher.semitones)
    fingers = f"from finger {lower.finger} to finger {higher.finger}"
    if span > stretch.limit_mm:
        yield HandFault(
            FaultKind.BEYOND_REACH,
            index,
            f"the span {fingers} would be {span:.0f} mm; no hand is known to reach beyond "
            f"{stretch.limit_mm:.0f} mm",
            "Choose other fingers, another string, or leave a note out.",
        )
    elif span > stretch.ordinary_mm:
        yield HandFault(
            FaultKind.WIDE_STRETCH,
            index,
            f"the span {fingers} is {span:.0f} mm; an ordinary hand reaches "
            f"{stretch.ordinary_mm:.0f} mm",
            CAUTION,
        )


def _where(stop: Stop, hand: Hand) -> str:
    """Return `semitone 5 of the A string`."""
    name = hand.instrument.strings[stop.string].step
    return f"semitone {stop.semitones} of the {name} string"


def why_there_is_no_grip(
    index: int, event: Event, fingers: Sequence[Finger], hand: Hand
) -> HandFault:
    """Return why no grip at all agrees with the fingers that are written."""
    instrument = hand.instrument
    tones = tones_of(event)
    lowest = instrument.strings[-1]
    below = [tone.head.pitch for tone in tones if tone.head.pitch.midi < lowest.midi]
    if below:
        return HandFault(
            FaultKind.NOT_ON_THE_STRING,
            index,
            f"{helmholtz(below[0])} is below the lowest string of the {instrument.name}, "
            f"{helmholtz(lowest)}",
            "Correct the note or the instrument of the edited staff.",
        )
    for tone, finger in zip(tones, fingers, strict=False):
        pitch = tone.head.pitch
        if finger.digit == OPEN and not finger.natural:
            on = [_named(finger, instrument)] if finger.string else list(instrument.strings)
            if pitch.midi not in {string.midi for string in on if string is not None}:
                return _no_open_string(index, pitch, finger, instrument)
        named = _named(finger, instrument)
        if named is not None:
            fault = _off_the_string(index, pitch, finger, named, instrument)
            if fault is not None:
                return fault
    notes = _in_words([helmholtz(tone.head.pitch) for tone in tones])
    if len(tones) > 1:
        return HandFault(
            FaultKind.NOT_TOGETHER,
            index,
            f"{notes} do not lie on neighbouring strings with these fingers",
            "Correct the fingers or the strings; notes on one string cannot sound together.",
        )
    harmonic = tones[0].harmonic or any(finger.natural for finger in fingers)
    what = "is no natural harmonic" if harmonic else "cannot be stopped"
    return HandFault(
        FaultKind.NOT_ON_THE_STRING,
        index,
        f"{notes} {what} on any string of the {instrument.name} with this finger",
        "Correct the finger or the note.",
    )


def _named(finger: Finger, instrument: Instrument) -> Pitch | None:
    return instrument.string(finger.string) if finger.string else None


def _no_open_string(index: int, pitch: Pitch, finger: Finger, instrument: Instrument) -> HandFault:
    named = _named(finger, instrument)
    strings = [named] if named is not None else list(reversed(instrument.strings))
    there = _in_words([helmholtz(string) for string in strings])
    verb = "string sounds" if len(strings) == 1 else "strings sound"
    return HandFault(
        FaultKind.NOT_AN_OPEN_STRING,
        index,
        f"{helmholtz(pitch)} is marked as an open string, but the open {verb} {there}",
        "Write the finger that stops it.",
    )


def _in_words(names: Sequence[str]) -> str:
    """Return `g, d′ and a′`."""
    *first, last = names
    return f"{', '.join(first)} and {last}" if first else last


def _off_the_string(
    index: int, pitch: Pitch, finger: Finger, string: Pitch, instrument: Instrument
) -> HandFault | None:
    name = f"the {string.step} string"
    above = pitch.midi - string.midi
    if finger.natural:
        message = f"{helmholtz(pitch)} is no natural harmonic of {name}"
        remedy = "A string sounds its partials 2 to 6; correct the string or the note."
    elif above < 0:
        message = f"{helmholtz(pitch)} is not on {name}: it is below its open {helmholtz(string)}"
        remedy = "Name a lower string, or correct the note."
    elif above > instrument.fingerboard_semitones:
        message = f"{helmholtz(pitch)} is beyond the fingerboard of {name}"
        remedy = "Name a higher string."
    elif above == 0 and finger.digit != OPEN:
        message = f"{helmholtz(pitch)} is {name} itself: no finger stops it there"
        remedy = "Write `open`, or name a lower string."
    else:
        return None
    return HandFault(FaultKind.NOT_ON_THE_STRING, index, message, remedy)
