"""Names of notes an interval away: a pitch and an interval in, the note as a player would write it.

Intervals are spelled by letters (a fifth is five letters), as in any theory of music; a name with
a double sharp or flat gives way to the same key of the keyboard with one sign or none.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from pipeline.score.model import SEMITONES_OF_STEP, Pitch

_STEPS = "CDEFGAB"

_LETTERS: Mapping[int, int] = {
    0: 0, 1: 1, 2: 1, 3: 2, 4: 2, 5: 3, 6: 3, 7: 4, 8: 5, 9: 5, 10: 6, 11: 6,
}  # fmt: skip
"""Letters of an interval within the octave by its semitones; six is an augmented fourth."""


def spelled_above(pitch: Pitch, semitones: int) -> Pitch:
    """Return the note that many semitones above (below: negative), spelled as that interval."""
    octaves, within = divmod(abs(semitones), 12)
    letters = 7 * octaves + _LETTERS[within]
    return _simple(_by_letters(pitch, letters if semitones >= 0 else -letters, semitones))


def spelled_pair(sounding: Pitch, below: int, interval: int) -> tuple[Pitch, Pitch]:
    """Return the stopped note that many semitones below what sounds, and the touched note over it.

    Of the names of the stopped note the one is taken that leaves both with one sign at most.
    """
    stopped = spelled_above(sounding, -below)
    for name in (stopped, *_other_names(stopped)):
        touched = _by_letters(name, 7 * (interval // 12) + _LETTERS[interval % 12], interval)
        if abs(touched.alter) <= 1:
            return name, touched
    return stopped, spelled_above(stopped, interval)


def letters_between(lower: Pitch, upper: Pitch) -> int:
    """Return how many letters the upper note is above the lower: 4 for a fifth."""
    return _index(upper) - _index(lower)


def _index(pitch: Pitch) -> int:
    return 7 * pitch.octave + _STEPS.index(pitch.step)


def _by_letters(pitch: Pitch, letters: int, semitones: int) -> Pitch:
    octave, step = divmod(_index(pitch) + letters, 7)
    natural = Pitch(_STEPS[step], 0, octave)
    return Pitch(natural.step, pitch.midi + semitones - natural.midi, octave)


def _simple(pitch: Pitch) -> Pitch:
    return pitch if abs(pitch.alter) <= 1 else next(_other_names(pitch))


def _other_names(pitch: Pitch) -> Iterator[Pitch]:
    """Yield the other names of the same key with one sign at most, naturals first."""
    for alter in (0, 1, -1):
        octave, semitone = divmod(pitch.midi - alter, 12)
        for step, height in SEMITONES_OF_STEP.items():
            name = Pitch(step, alter, octave - 1)
            if height == semitone and name != pitch:
                yield name
