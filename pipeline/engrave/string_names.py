"""Where a fingering names a string: `sul G` over a run on one string, a number over single notes.

Common practice, no source: Roman numbers count from the highest string, and a double stop has the
number of its upper string first.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from pipeline.edition.fingers import Fingering
from pipeline.score.model import Event
from pipeline.strings.instruments import ROMAN, Instrument

_RUN = 3
"""From so many notes on, a string is named by words."""
_DOUBLE_STOP = 2


@dataclass(frozen=True)
class StringName:
    """What is printed at a note. `in_words` tells `sul G` from a number."""

    event: Event
    strings: tuple[str, ...]
    text: str
    in_words: bool


def string_names(
    run: Sequence[tuple[Event, Fingering]], instrument: Instrument | None
) -> list[StringName]:
    """Return the names to print, one at each change of string, lowest string first in a record.

    A chord over all strings needs no names. Without an instrument strings keep the letters that the
    record names them by.
    """
    changes: list[int] = []
    held: tuple[str, ...] = ()
    for index, (_, fingering) in enumerate(run):
        named = _named(fingering)
        if named and named != held:
            changes.append(index)
            held = named
    names: list[StringName] = []
    for index, end in zip(changes, [*changes[1:], len(run)], strict=False):
        event, fingering = run[index]
        strings = _named(fingering)
        if len(strings) > _DOUBLE_STOP and (
            instrument is None or len(strings) == len(instrument.strings)
        ):
            continue
        in_words = len(strings) == 1 and end - index >= _RUN
        text = f"sul {strings[0]}" if in_words else _numbers(strings, instrument)
        names.append(StringName(event, strings, text, in_words))
    return names


def _named(fingering: Fingering) -> tuple[str, ...]:
    return tuple(finger.string for finger in fingering.fingers if finger.string)


def _numbers(strings: Iterable[str], instrument: Instrument | None) -> str:
    return "/".join(_number(string, instrument) for string in reversed(tuple(strings)))


def _number(string: str, instrument: Instrument | None) -> str:
    if instrument is None or string in ROMAN:
        return string
    steps = [pitch.step for pitch in instrument.strings]
    return ROMAN[steps.index(string)] if string in steps else string
