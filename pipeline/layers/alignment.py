"""Which events of a version stand against which events of the text, in one voice of one bar.

In come the events of both sides in the order of the file; out go blocks, in order, that cover all
events of both: the shortest runs that begin and end together. Where both sides fill the same time,
time decides; where one lacks or has more time, what agrees from the front and from the back is set
apart and one block is left in the middle. Linear in the events.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction

from pipeline.score.model import Event

Events = tuple[Event, ...]


@dataclass(frozen=True)
class Block:
    """Half-open index ranges into the events of the text and of the version."""

    text_from: int
    text_to: int
    version_from: int
    version_to: int


def align(text: Events, version: Events) -> tuple[Block, ...]:
    """Return the blocks; every block holds at least one event of the text, if the text has any."""
    if not text or not version:
        return (Block(0, len(text), 0, len(version)),)
    units_text, units_version = _units(text), _units(version)
    if _length(text) == _length(version):
        blocks = _by_time(text, version, units_text, units_version)
    else:
        blocks = _by_agreement(text, version, units_text, units_version)
    return tuple(_without_lone_insertions(blocks))


def _units(events: Events) -> list[tuple[int, int]]:
    """Group grace notes with the measured event that follows, trailing ones with the one before."""
    units: list[tuple[int, int]] = []
    start = 0
    for index, event in enumerate(events):
        if not event.grace:
            units.append((start, index + 1))
            start = index + 1
    if start < len(events):
        if units:
            units[-1] = (units[-1][0], len(events))
        else:
            units.append((start, len(events)))
    return units


def _length(events: Events) -> Fraction:
    return max(e.onset + e.duration for e in events)


def _time(events: Events, unit: tuple[int, int]) -> tuple[Fraction, Fraction]:
    inside = events[unit[0] : unit[1]]
    return min(e.onset for e in inside), max(e.onset + e.duration for e in inside)


def _by_time(
    text: Events,
    version: Events,
    units_text: Sequence[tuple[int, int]],
    units_version: Sequence[tuple[int, int]],
) -> list[Block]:
    blocks: list[Block] = []
    i = j = 0
    from_i = from_j = 0
    while i < len(units_text) or j < len(units_version):
        end_text = _time(text, units_text[i - 1])[1] if i > from_i else Fraction(-1)
        end_version = _time(version, units_version[j - 1])[1] if j > from_j else Fraction(-1)
        take_text = i < len(units_text) and (end_text <= end_version or j == len(units_version))
        if take_text:
            i += 1
        else:
            j += 1
        reach_text = _time(text, units_text[i - 1])[1] if i > from_i else Fraction(-1)
        reach_version = _time(version, units_version[j - 1])[1] if j > from_j else Fraction(-1)
        if reach_text == reach_version:
            blocks.append(_block(units_text[from_i:i], units_version[from_j:j]))
            from_i, from_j = i, j
    if from_i < i or from_j < j:
        blocks.append(_rest(text, version, blocks))
    return blocks


def _by_agreement(
    text: Events,
    version: Events,
    units_text: Sequence[tuple[int, int]],
    units_version: Sequence[tuple[int, int]],
) -> list[Block]:
    key_text = [_content(text, u) for u in units_text]
    key_version = [_content(version, u) for u in units_version]
    shorter = min(len(key_text), len(key_version))
    front = 0
    while front < shorter and key_text[front] == key_version[front]:
        front += 1
    back = 0
    while back < shorter - front and key_text[-1 - back] == key_version[-1 - back]:
        back += 1
    blocks = [_block([u], [v]) for u, v in zip(units_text[:front], units_version, strict=False)]
    middle_text = units_text[front : len(units_text) - back]
    middle_version = units_version[front : len(units_version) - back]
    if middle_text or middle_version:
        before = blocks[-1] if blocks else Block(0, 0, 0, 0)
        blocks.append(
            Block(
                before.text_to,
                middle_text[-1][1] if middle_text else before.text_to,
                before.version_to,
                middle_version[-1][1] if middle_version else before.version_to,
            )
        )
    if back:
        tails = zip(units_text[-back:], units_version[-back:], strict=True)
        blocks += [_block([u], [v]) for u, v in tails]
    return blocks


def _content(events: Events, unit: tuple[int, int]) -> tuple[object, ...]:
    return tuple((e.duration, e.grace, e.pitches) for e in events[unit[0] : unit[1]])


def _block(text: Sequence[tuple[int, int]], version: Sequence[tuple[int, int]]) -> Block:
    return Block(text[0][0], text[-1][1], version[0][0], version[-1][1])


def _rest(text: Events, version: Events, blocks: Sequence[Block]) -> Block:
    """Return the block of what is left on either side."""
    before = blocks[-1] if blocks else Block(0, 0, 0, 0)
    return Block(before.text_to, len(text), before.version_to, len(version))


def _without_lone_insertions(blocks: Sequence[Block]) -> list[Block]:
    """Join a block without an event of the text to the block after it, the last to the one before.

    A reading must stand against something of the text, else it has no place in the layer.
    """
    joined: list[Block] = []
    waiting: Block | None = None
    for block in blocks:
        if waiting is not None:
            block = Block(waiting.text_from, block.text_to, waiting.version_from, block.version_to)
            waiting = None
        if block.text_from == block.text_to:
            waiting = block
        else:
            joined.append(block)
    if waiting is not None:
        if joined:
            last = joined.pop()
            waiting = Block(last.text_from, waiting.text_to, last.version_from, waiting.version_to)
        joined.append(waiting)
    return joined
