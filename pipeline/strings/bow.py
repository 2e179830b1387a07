"""Strokes of the bow: which notes each takes, and which way it goes.

In come the sounds of a staff, out go its strokes. K. W. Gehrkens, *Essentials in Conducting*
(1919): a slur is one bow, without a slur each tone has a stroke of its own. Common practice, no
source: tied notes are one stroke; dots or lines under a slur do not divide it; a slur over other
slurs is a phrase and no bow; of slurs across one another the later has the notes under both; a bow
sign under a slur divides it; strokes go to and fro. A tremolo counts as one stroke. Linear in the
notes.
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from enum import StrEnum
from fractions import Fraction
from functools import cached_property
from itertools import pairwise

from pipeline.score.model import Event, Passage
from pipeline.strings.sounds import SlurredSounds, Sound, Sounds, sounds_of


class Direction(StrEnum):
    """Which way the bow goes: down is from the nut to the point (Gehrkens 1919)."""

    DOWN = "down"
    UP = "up"

    @property
    def other(self) -> Direction:
        """The other way."""
        return Direction.UP if self is Direction.DOWN else Direction.DOWN


DIRECTION_OF_SIGN: Mapping[str, Direction] = {"dnbow": Direction.DOWN, "upbow": Direction.UP}
"""Bow signs as MEI data.ARTICULATION names them."""


@dataclass(frozen=True)
class Stroke:
    """Sounds taken in one bow.

    `direction` is None where no sign is near enough to tell it; `written` is set where a sign
    stands at its beginning, otherwise it follows from the signs before or after.
    """

    sounds: tuple[Sound, ...]
    direction: Direction | None = None
    written: bool = False

    @property
    def notes(self) -> tuple[Event, ...]:
        """All its notes and chords, grace notes included."""
        return tuple(note for sound in self.sounds for note in sound.notes)

    @property
    def quarters(self) -> Fraction:
        """How long it sounds, in quarter notes, rests within it left out."""
        return sum((sound.quarters for sound in self.sounds), Fraction(0))

    @property
    def free(self) -> bool:
        """Whether a rest, plucked notes or a breath stand before it, so that it may be set anew."""
        return self.sounds[0].free

    @property
    def mirrored(self) -> Stroke:
        """The same notes the other way."""
        return replace(self, direction=self.direction and self.direction.other)


@dataclass(frozen=True)
class Clash:
    """Two signs of which the later cannot hold after the earlier by going to and fro alone.

    `earlier` and `later` are indexes of strokes. `retake` is the stroke before which the bow can be
    taken back (after a rest, or where the player is told so by signs on single notes that follow
    one another); None where it cannot, which is a contradiction.
    """

    earlier: int
    later: int
    retake: int | None


@dataclass(frozen=True)
class BowLine:
    """All that the bow has to do on one staff of a passage.

    `slur_starts` are the sounds at which slurs and ties ask for a new stroke, ascending; `signs`
    the bow signs of the text by the sound they stand at.
    """

    sounds: Sounds
    slur_starts: tuple[int, ...]
    signs: Mapping[int, Direction]

    @cached_property
    def starts(self) -> tuple[int, ...]:
        """The sounds at which a stroke of the text begins: by slurs and ties, or by a sign."""
        return tuple(sorted({*self.slur_starts, *self.signs}))

    @cached_property
    def strokes(self) -> tuple[Stroke, ...]:
        """The strokes of the text from the first note to the last."""
        return strokes_between(self.sounds.all, self.starts, len(self.sounds.all), self.signs)

    def bounds(self, first: int, last: int) -> tuple[int, int]:
        """Return the first sound of the stroke that holds `first`, and the one after `last`'s."""
        after = bisect_right(self.starts, last)
        begin = self.starts[bisect_right(self.starts, first) - 1]
        return begin, self.starts[after] if after < len(self.starts) else len(self.sounds.all)

    def starts_between(self, begin: int, end: int) -> tuple[int, ...]:
        """Return the starts by slurs and ties from `begin` up to `end`."""
        return _between(self.slur_starts, begin, end)

    def signs_between(self, begin: int, end: int) -> tuple[int, ...]:
        """Return the sounds with a bow sign of the text from `begin` up to `end`."""
        return _between(self._signed, begin, end)

    @cached_property
    def _signed(self) -> tuple[int, ...]:
        return tuple(sorted(self.signs))


def bow_line(passage: Passage, staff: int) -> BowLine:
    """Return what slurs, ties, rests and signs of a staff ask of the bow."""
    sounds = sounds_of(passage, staff)
    signs = {}
    for index, sound in enumerate(sounds.all):
        directions = {
            DIRECTION_OF_SIGN[sign]
            for note in sound.notes
            for sign in note.articulations
            if sign in DIRECTION_OF_SIGN
        }
        if len(directions) == 1:  # both signs at once leave the choice to the player
            signs[index] = directions.pop()
    return BowLine(sounds, _slur_starts(sounds), signs)


def strokes_between(
    sounds: Sequence[Sound], starts: Iterable[int], end: int, signs: Mapping[int, Direction]
) -> tuple[Stroke, ...]:
    """Return the strokes that begin at `starts` (ascending) up to the sound `end`.

    Directions are those of the signs; between signs the bow goes to and fro, and before the first
    sign they are counted back. Without any sign none is known.
    """
    edges = [*starts, end]
    strokes: list[Stroke] = []
    last: Direction | None = None
    first_known: int | None = None
    for begin, after in pairwise(edges):
        sign = signs.get(begin)
        last = sign or (last and last.other)
        if last is not None and first_known is None:
            first_known = len(strokes)
        strokes.append(Stroke(tuple(sounds[begin:after]), last, sign is not None))
    for index in reversed(range(first_known or 0)):
        after_it = strokes[index + 1].direction
        strokes[index] = replace(strokes[index], direction=after_it and after_it.other)
    return tuple(strokes)


def mirrored(strokes: Iterable[Stroke]) -> tuple[Stroke, ...]:
    """Return the same strokes, every one the other way."""
    return tuple(stroke.mirrored for stroke in strokes)


def clashes(strokes: Sequence[Stroke], legato: Iterable[int] = ()) -> tuple[Clash, ...]:
    """Return where a sign does not hold after the sign before it.

    `legato` are the indexes of strokes that are one slur with the stroke before: there the bow
    cannot leave the string unless a rest lets it.
    """
    held = frozenset(legato)
    found: list[Clash] = []
    earlier: int | None = None
    last_free = -1
    for index, stroke in enumerate(strokes):
        if stroke.free:
            last_free = index
        if not stroke.written:
            continue
        if earlier is not None:
            going = strokes[earlier].direction
            turned = (index - earlier) % 2 == 1
            if (stroke.direction is not going) is not turned:
                found.append(
                    Clash(earlier, index, _retake(strokes, earlier, index, last_free, held))
                )
        earlier = index
    return tuple(found)


def _between(ascending: tuple[int, ...], begin: int, end: int) -> tuple[int, ...]:
    return ascending[bisect_left(ascending, begin) : bisect_left(ascending, end)]


def _retake(
    strokes: Sequence[Stroke], earlier: int, later: int, last_free: int, held: frozenset[int]
) -> int | None:
    if last_free > earlier:
        return last_free
    single = len(strokes[earlier].sounds) == 1
    return later if later == earlier + 1 and single and later not in held else None


def _slur_starts(sounds: Sounds) -> tuple[int, ...]:
    """Return where strokes begin by slurs and ties alone.

    Each sound belongs to the slur over it that began last; the slurs are sorted by their beginning,
    so that a stack holds those that still lie over the sound. Each is put on it and taken off once.
    """
    starts = []
    waiting = _bows(sounds)
    over: list[tuple[int, int]] = []
    before: tuple[int, int] | None = None
    for index, sound in enumerate(sounds.all):
        while waiting and waiting[-1].first <= index:
            slur = waiting.pop()
            over.append((slur.first, slur.last))
        while over and over[-1][1] < index:
            over.pop()
        held = over[-1] if over else None
        joined = sound.tied or (held is not None and held == before)
        if index == 0 or sound.plucked_before or not joined:
            starts.append(index)
        before = held
    return tuple(starts)


def _bows(sounds: Sounds) -> list[SlurredSounds]:
    """Return the slurs that are bows, the last to begin first: those that hold no other slur.

    A slur over nothing but tied notes tells the bow nothing and makes no phrase of another.
    """
    bows: list[SlurredSounds] = []
    nearest_end = len(sounds.all)
    for slur in reversed(sounds.slurs):
        if all(sound.tied for sound in sounds.all[slur.first + 1 : slur.last + 1]):
            continue
        if slur.last < nearest_end:
            bows.append(slur)
        nearest_end = min(nearest_end, slur.last)
    return bows
