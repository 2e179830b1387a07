"""Where the hand is, by the name that players have for it: the position, from the first finger.

Facts of violin playing: the first finger a semitone above the open string is half position, on the
next letter first, on the letter after it second, and so on (general violin text; on cello and
double bass the same count by letters is common practice, no source).
"""

from __future__ import annotations

from pipeline.score.model import Pitch
from pipeline.strings.spelling import letters_between

_ORDINALS = (
    "half", "first", "second", "third", "fourth", "fifth", "sixth", "seventh", "eighth", "ninth",
    "tenth", "eleventh", "twelfth", "thirteenth", "fourteenth", "fifteenth", "sixteenth",
)  # fmt: skip


def position_of(open_string: Pitch, first_finger: Pitch) -> int:
    """Return the number of the position, 0 for half position, of a first finger on that string.

    Raises ValueError where the note is not above the open string.
    """
    semitones = first_finger.midi - open_string.midi
    if semitones < 1:
        raise ValueError(f"{first_finger} is not stopped on that string")
    return 0 if semitones == 1 else max(1, letters_between(open_string, first_finger))


def position_name(position: int) -> str:
    """Return the English name: "half", "first", "second"."""
    return _ORDINALS[position] if position < len(_ORDINALS) else f"{position}th"
