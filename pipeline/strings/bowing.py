"""A bowing of a record carried out: the strokes that it makes of the text, and where it is amiss.

In come what the text asks of the bow, the notes of the place and an alternative; out go strokes,
the bow signs that follow from it, and troubles. A slur divided into k strokes turns what follows
k - 1 times (arithmetic). Bow signs of the text within the place give way to the alternative's own.
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from enum import StrEnum
from functools import cached_property

from pipeline.edition.records import Bowing, BowingAlternative
from pipeline.score.model import Event
from pipeline.strings.bow import BowLine, Clash, Direction, Stroke, clashes, strokes_between


class Amiss(StrEnum):
    """In what way an alternative cannot be carried out as it is written."""

    PLUCKED = "a sign stands at a plucked note"
    WITHIN_ONE_SOUND = "the bow changes within one sound"
    WITHIN_A_STROKE = "a sign stands within a stroke"
    AGAINST_THE_DIVISION = "signs do not match the division of a slur"
    WITHOUT_RETAKE = "two signs do not hold without a retake"
    AGAINST_THE_TEXT_BEFORE = "a sign of the text just before does not agree"
    AGAINST_THE_TEXT_AFTER = "a sign of the text just after does not agree"


@dataclass(frozen=True)
class Trouble:
    """One thing amiss, about notes of the place counted from 1.

    `note` is the one at fault; `other` is the note of the earlier sign, the note after the change
    of bow, or the first note of a stroke, 0 where the stroke begins before the place. `sign` and
    `other_sign` are the directions asked for there.
    """

    amiss: Amiss
    note: int
    other: int
    sign: Direction | None = None
    other_sign: Direction | None = None


@dataclass(frozen=True)
class Bowed:
    """An alternative carried out.

    `alternative` is the one in effect: divisions and signs of an opposite one are filled in.
    `strokes` hold every note of the place that is bowed, and the notes outside it that are taken in
    the same bow. `signs` are the bow signs by note of the place, from 1: those written, and those
    that follow from them where a slur is divided. `retakes` are the strokes before which the bow
    is taken back; `was` counts the strokes of the text over the same notes.
    """

    alternative: BowingAlternative
    strokes: tuple[Stroke, ...]
    signs: Mapping[int, Direction]
    was: int
    retakes: tuple[int, ...] = ()
    troubles: tuple[Trouble, ...] = ()

    @property
    def turns(self) -> int:
        """How often what follows is turned round against the text as it is printed."""
        return len(self.strokes) - self.was


def in_effect(record: Bowing) -> tuple[BowingAlternative, ...]:
    """Return the alternatives of a record, the opposite ones with what they mirror filled in."""
    model = record.mirrored_model
    return tuple(
        one if model is None or not one.opposite else opposite_of(model, one)
        for one in record.alternatives
    )


def opposite_of(model: BowingAlternative, one: BowingAlternative) -> BowingAlternative:
    """Return `one` with the divisions of the model and its signs the other way."""
    signs = {note: Direction(sign).other.value for note, sign in model.signs.items()}
    update = {"divide_after": model.divide_after, "join": model.join, "signs": signs}
    return one.model_copy(update=update)


def bowed(line: BowLine, notes: Sequence[Event], alternative: BowingAlternative) -> Bowed:
    """Carry out an alternative (in effect) on the notes of its place.

    Numbers beyond the notes are passed over: they have a rule of their own. Linear in the notes of
    the strokes that the place touches.
    """
    at = [line.sounds.of_note.get(note.xml_id) for note in notes]
    plucked = tuple(_signs_at_plucked_notes(alternative, at))
    if not any(index is not None for index in at):
        return Bowed(alternative, (), {}, 0, troubles=plucked)
    plan = _planned(line, at, alternative)
    signs = plan.signs(alternative)
    strokes = strokes_between(
        line.sounds.all, plan.starts, plan.end, {**_known_besides(line, plan, signs), **signs}
    )
    found = clashes(strokes, plan.divided)
    troubles = [
        *plucked,
        *_within_one_sound(alternative, at),
        *_signs_within_strokes(alternative, plan),
        *_contradictions(found, strokes, alternative, plan),
        *_against_the_text(line, strokes, plan),
    ]
    return Bowed(
        alternative,
        strokes,
        _printed(alternative, strokes, plan) if signs else _written(alternative, len(at)),
        bisect_left(line.starts, plan.end) - bisect_left(line.starts, plan.starts[0]),
        tuple(clash.retake for clash in found if clash.retake is not None),
        tuple(sorted(troubles, key=lambda trouble: trouble.note)),
    )


@dataclass(frozen=True)
class _Plan:
    """Where the strokes begin, up to the sound `end`.

    `at` has the sound of each note of the place, None if plucked; `by_slurs` are the starts that
    the text asks for, `around` its signs in the same strokes but outside the place.
    """

    at: Sequence[int | None]
    starts: tuple[int, ...]
    end: int
    by_slurs: Collection[int]
    around: Mapping[int, Direction]

    @cached_property
    def begins(self) -> frozenset[int]:
        """The sounds that begin a stroke."""
        return frozenset(self.starts)

    @cached_property
    def divided(self) -> frozenset[int]:
        """The strokes that are one slur of the text with the stroke before."""
        return frozenset(n for n, start in enumerate(self.starts) if start not in self.by_slurs)

    def signs(self, alternative: BowingAlternative) -> dict[int, Direction]:
        """Return the signs at which a stroke begins, by sound; of two at one sound the first."""
        return {
            index: Direction(sign)
            for n, sign in sorted(alternative.signs.items(), reverse=True)
            if (index := self.sound(n)) in self.begins and index is not None
        }

    def sound(self, note: int) -> int | None:
        """Return the sound of a note of the place, from 1; None where it is not there."""
        return self.at[note - 1] if 0 < note <= len(self.at) else None

    def stroke(self, sound: int) -> int:
        """Return the stroke that holds a sound."""
        return bisect_right(self.starts, sound) - 1


def _planned(line: BowLine, at: Sequence[int | None], alternative: BowingAlternative) -> _Plan:
    """Return where strokes begin by the text, the divisions of the alternative, or its joining."""
    here = [index for index in at if index is not None]
    first, last = min(here), max(here)
    begin, end = line.bounds(first, last)
    around = {
        index: line.signs[index]
        for index in line.signs_between(begin, end)
        if not first <= index <= last
    }
    by_slurs = {begin, *line.starts_between(begin, end), *around}
    starts = by_slurs | set(_divisions(alternative, at).values())
    if alternative.join:
        starts -= set(range(first + 1, last + 1))
    return _Plan(at, tuple(sorted(starts)), end, by_slurs, around)


def _divisions(alternative: BowingAlternative, at: Sequence[int | None]) -> dict[int, int]:
    """Return the sound that begins a stroke after each note where the bow changes."""
    return {
        n: index
        for n in alternative.divide_after
        if 0 < n < len(at) and (index := at[n]) is not None and index != at[n - 1]
    }


def _known_besides(
    line: BowLine, plan: _Plan, signs: Mapping[int, Direction]
) -> Mapping[int, Direction]:
    """Return the signs of the text that hold: those around, and where the alternative has none the
    one that its first stroke begins with."""
    begin = plan.starts[0]
    if signs or begin not in line.signs:
        return plan.around
    return {**plan.around, begin: line.signs[begin]}


def _printed(
    alternative: BowingAlternative, strokes: Sequence[Stroke], plan: _Plan
) -> dict[int, Direction]:
    """Return the signs that are written, and those that follow where a slur is divided."""
    follow = {
        n + 1: direction
        for n, index in _divisions(alternative, plan.at).items()
        if index in plan.begins and (direction := strokes[plan.stroke(index)].direction)
    }
    return dict(sorted({**follow, **_written(alternative, len(plan.at))}.items()))


def _written(alternative: BowingAlternative, count: int) -> dict[int, Direction]:
    return {n: Direction(sign) for n, sign in alternative.signs.items() if 0 < n <= count}


def _signs_at_plucked_notes(
    alternative: BowingAlternative, at: Sequence[int | None]
) -> Iterator[Trouble]:
    for n, sign in alternative.signs.items():
        if 0 < n <= len(at) and at[n - 1] is None:
            yield Trouble(Amiss.PLUCKED, n, n, Direction(sign))


def _within_one_sound(
    alternative: BowingAlternative, at: Sequence[int | None]
) -> Iterator[Trouble]:
    for n in alternative.divide_after:
        if 0 < n < len(at) and at[n] is not None and at[n] == at[n - 1]:
            yield Trouble(Amiss.WITHIN_ONE_SOUND, n, n + 1)


def _signs_within_strokes(alternative: BowingAlternative, plan: _Plan) -> Iterator[Trouble]:
    """Yield signs that no stroke begins with, and a contrary sign where one begins."""
    said: dict[int, Direction] = {}
    for n, written in sorted(alternative.signs.items()):
        sound, sign = plan.sound(n), Direction(written)
        if sound is None or (sound in plan.begins and said.setdefault(sound, sign) is sign):
            continue
        begin = plan.starts[plan.stroke(sound)]
        inside = (m for m, at in enumerate(plan.at, 1) if at == begin)
        yield Trouble(Amiss.WITHIN_A_STROKE, n, next(inside, 0), sign)


def _contradictions(
    found: Iterable[Clash],
    strokes: Sequence[Stroke],
    alternative: BowingAlternative,
    plan: _Plan,
) -> Iterator[Trouble]:
    at_sound = {plan.sound(n): n for n in sorted(alternative.signs, reverse=True)}
    for clash in found:
        earlier = at_sound.get(plan.starts[clash.earlier])
        later = at_sound.get(plan.starts[clash.later])
        if clash.retake is None and earlier is not None and later is not None:
            one_slur = all(n in plan.divided for n in range(clash.earlier + 1, clash.later + 1))
            amiss = Amiss.AGAINST_THE_DIVISION if one_slur else Amiss.WITHOUT_RETAKE
            signs = strokes[clash.later].direction, strokes[clash.earlier].direction
            yield Trouble(amiss, later, earlier, *signs)


def _against_the_text(line: BowLine, strokes: Sequence[Stroke], plan: _Plan) -> Iterator[Trouble]:
    """Compare with signs of the text on the strokes next to the place, where no rest is between."""
    sounds, begin, end = line.sounds.all, plan.starts[0], plan.end
    before = bisect_left(line.starts, begin) - 1
    if before >= 0 and not sounds[begin].free and begin - line.starts[before] > 1:
        sign = line.signs.get(line.starts[before])
        if sign is not None and strokes[0].written and strokes[0].direction is sign:
            yield Trouble(Amiss.AGAINST_THE_TEXT_BEFORE, 1, 1, sign, sign)
    if end < len(sounds) and not sounds[end].free and len(strokes[-1].sounds) > 1:
        sign = line.signs.get(end)
        if sign is not None and strokes[-1].direction is sign:
            last = len(plan.at)
            yield Trouble(Amiss.AGAINST_THE_TEXT_AFTER, last, last, sign, sign)
