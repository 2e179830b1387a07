"""Phrases for differences of notes and of what hangs on notes: pitch, rhythm, ties, signs."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace

from markupsafe import Markup

from pipeline.collation.model import Change, Difference, DifferenceKind
from pipeline.score.model import Event
from pipeline.typeset.places import Locator
from pipeline.typeset.runs import pitches_of_run, rhythm_of_run
from pipeline.typeset.wording import Wording

BOW_SIGNS = frozenset({"dnbow", "upbow"})
ACCIDENTALS = {"s": "♯", "f": "♭", "n": "♮", "x": "𝄪", "ss": "𝄪", "ff": "𝄫"}
"""Printed accidentals by MEI data.ACCIDENTAL.WRITTEN."""


@dataclass(frozen=True)
class Said:
    """One phrase before it is finished.

    `phrase` is given the number of notes it speaks of; `events` are those notes, of the text;
    sayings that are `like` each other are drawn together; `attached` things hang on their notes
    ("on note 3"); `where` names a place that is not given by events.
    """

    phrase: Callable[[int], Markup]
    events: tuple[Event, ...] = ()
    like: tuple[str, ...] | None = None
    attached: bool = False
    where: Markup | None = None


def say_notes(difference: Difference, locator: Locator) -> Iterator[Said]:
    """Yield what there is to say about a difference of events."""
    text, reading = difference.text.events, difference.reading.events
    wording = locator.wording
    match difference.kind:
        case DifferenceKind.NOTES_MISSING:
            yield _notes("differences.lacking", _without(text, reading), wording)
        case DifferenceKind.NOTES_ADDED:
            yield _added(difference, locator)
        case DifferenceKind.RHYTHM:
            struck = ([e.pitches for e in run if e.heads] for run in (text, reading))
            other = next(struck) != next(struck) and not _note_for_note(text, reading)
            theirs, ours = (rhythm_of_run(run, wording, other) for run in (reading, text))
            yield _instead(theirs, ours, text, wording)
        case DifferenceKind.ACCIDENTAL:
            yield from _accidentals(text, reading, wording)
        case DifferenceKind.NOTE_HEAD:
            yield from _head_shapes(text, reading, wording)
        case DifferenceKind.TIE:
            yield _tie(difference.change is Change.MISSING, text, wording)
        case DifferenceKind.ARTICULATION | DifferenceKind.BOW_SIGN:
            bows = difference.kind is DifferenceKind.BOW_SIGN
            yield from _signs(text, reading, bows, wording)
        case _:
            unlike = _where_pitches_differ(reading, text)
            runs = _only_what_differs(*map(_from_notes, unlike))
            theirs, ours = (pitches_of_run(run, wording) for run in runs)
            yield _instead(theirs, ours, unlike[1], wording)


def _note_for_note(text: Sequence[Event], reading: Sequence[Event]) -> bool:
    """Return whether two runs have as many notes and rests, in the same order."""
    return [bool(event.heads) for event in text] == [bool(event.heads) for event in reading]


def _where_pitches_differ(
    reading: Sequence[Event], text: Sequence[Event]
) -> tuple[Sequence[Event], Sequence[Event]]:
    """Return both runs without the notes at their ends that they share, whatever their values."""
    if not _note_for_note(text, reading):
        return reading, text
    unlike = [
        index
        for index, (ours, theirs) in enumerate(zip(text, reading, strict=True))
        if ours.pitches != theirs.pitches
    ]
    differing = slice(unlike[0], unlike[-1] + 1) if unlike else slice(None)
    return reading[differing], text[differing]


def _from_notes(run: Sequence[Event]) -> Sequence[Event]:
    """Return the run without silence at its ends."""
    sounding = [index for index, event in enumerate(run) if event.heads]
    return run[sounding[0] : sounding[-1] + 1] if sounding else run


def _only_what_differs(
    reading: Sequence[Event], text: Sequence[Event]
) -> tuple[Sequence[Event], Sequence[Event]]:
    """Return two single chords of one size without the notes they share; other runs as they are."""
    if len(reading) == len(text) == 1 and len(reading[0].heads) == len(text[0].heads) > 1:
        return _without(reading, text), _without(text, reading)
    return reading, text


def _without(more: Sequence[Event], less: Sequence[Event]) -> tuple[Event, ...]:
    """Return what the one run has beyond the other, each event with only those of its notes."""
    left = Counter(pitch for event in less for pitch in event.pitches)
    beyond = []
    for event in more:
        heads = []
        for head in event.heads:
            if left[head.pitch]:
                left[head.pitch] -= 1
            else:
                heads.append(head)
        if heads:
            beyond.append(replace(event, heads=tuple(heads)))
    return tuple(beyond)


def _added(difference: Difference, locator: Locator) -> Said:
    said = _notes(
        "differences.added",
        _without(difference.reading.events, difference.text.events),
        locator.wording,
    )
    if difference.text.events:
        return replace(said, events=difference.text.events)
    at_start = difference.start == locator.span.start
    where = None if at_start else locator.moment(difference.start)
    return replace(said, events=(), where=where)


def _head_shapes(
    text: Sequence[Event], reading: Sequence[Event], wording: Wording
) -> Iterator[Said]:
    for ours, theirs in zip(text, reading, strict=False):
        pairs = zip(ours.heads, theirs.heads, strict=False)
        for mine, other in dict.fromkeys((a.shape, b.shape) for a, b in pairs):
            if mine != other:
                named = _head_shape(other, wording)
                yield _instead(named, _head_shape(mine, wording), (ours,), wording)


def _head_shape(shape: str, wording: Wording) -> Markup:
    key = f"heads.{shape or 'ordinary'}"
    return wording.say(key if wording.has(key) else "heads.other")


def _instead(reading: Markup, text: Markup, events: Sequence[Event], wording: Wording) -> Said:
    phrase = wording.say("differences.instead", reading=reading, text=text)
    return Said(lambda _: phrase, tuple(events), ("instead", str(phrase)))


def _notes(key: str, events: Sequence[Event], wording: Wording) -> Said:
    count = sum(len(event.heads) for event in events)
    pitches = pitches_of_run(events, wording)
    graces = bool(events) and all(event.grace for event in events)
    named = "differences.graces" if graces else "differences.notes"
    what = wording.say(named, n=count, pitches=pitches)
    phrase = wording.say(key, n=count, what=what)
    return Said(lambda _: phrase, tuple(events))


def _accidentals(
    text: Sequence[Event], reading: Sequence[Event], wording: Wording
) -> Iterator[Said]:
    for ours, theirs in zip(text, reading, strict=False):
        for mine, other in zip(ours.heads, theirs.heads, strict=False):
            if mine.accidental == other.accidental:
                continue
            ours_sign, their_sign = (ACCIDENTALS.get(head.accidental, "") for head in (mine, other))
            phrase = _exchanged(ours_sign, their_sign, wording)
            like = ("accidental", mine.accidental, other.accidental)
            yield Said(_constant(phrase), (ours,), like)


def _exchanged(text: str, reading: str, wording: Wording) -> Markup:
    if text and reading:
        return wording.say("differences.instead", reading=reading, text=text)
    key = "differences.lacking" if text else "differences.with"
    return wording.say(key, n=1, what=text or reading)


def _constant(phrase: Markup) -> Callable[[int], Markup]:
    return lambda _: phrase


def _tie(lacking: bool, text: Sequence[Event], wording: Wording) -> Said:
    key = "differences.lacking" if lacking else "differences.with"

    def phrase(n: int) -> Markup:
        return wording.say(key, n=n, what=wording.say("differences.tie", n=n))

    return Said(phrase, tuple(text[:1]), ("tie", key))


def _signs(
    text: Sequence[Event], reading: Sequence[Event], bows: bool, wording: Wording
) -> Iterator[Said]:
    for ours, theirs in zip(text, reading, strict=False):
        mine = [sign for sign in ours.articulations if (sign in BOW_SIGNS) == bows]
        other = [sign for sign in theirs.articulations if (sign in BOW_SIGNS) == bows]
        lacking = [sign for sign in mine if sign not in other]
        added = [sign for sign in other if sign not in mine]
        while lacking and added:
            yield _sign("instead", lacking.pop(0), added.pop(0), ours, wording)
        for sign in lacking:
            yield _sign("lacking", sign, "", ours, wording)
        for sign in added:
            yield _sign("with", "", sign, ours, wording)


def _sign(key: str, mine: str, other: str, event: Event, wording: Wording) -> Said:
    def name(sign: str, n: int) -> Markup:
        known = wording.has(f"articulations.{sign}")
        return wording.say(f"articulations.{sign if known else 'unknown'}", n=n, name=sign)

    def phrase(n: int) -> Markup:
        if key == "instead":
            return wording.say("differences.instead", reading=name(other, n), text=name(mine, n))
        return wording.say(f"differences.{key}", n=n, what=name(mine or other, n))

    return Said(phrase, (event,), (key, mine, other), attached=True)
