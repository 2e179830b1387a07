"""A difference in the language's trade wording: "f♯″ instead of g″", "slur lacking".

What comes in is what the collation computed; what goes out is one finished phrase a thing, like
signs on several notes drawn into one phrase.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from markupsafe import Markup

from pipeline.collation.model import Change, Comparison, Difference, DifferenceKind, Side
from pipeline.score.model import Passage, Span
from pipeline.typeset.bar_phrases import bars_apart
from pipeline.typeset.marking_phrases import fixed, say_marking
from pipeline.typeset.note_phrases import Said, say_notes
from pipeline.typeset.places import Locator
from pipeline.typeset.wording import Wording

_OCTAVE_RUN = 3
"""From so many notes on, notes in another octave are told as a run."""


def phrases(
    comparison: Comparison, passage: Passage, span: Span, wording: Wording
) -> tuple[Markup, ...]:
    """Return what a version has differently, in the order of the music, nothing twice.

    Of bars that one side lacks it is said that they are lacking or added, not what is in them.
    """
    locator = Locator(passage, span, wording)
    said: list[Said] = []
    displaced = _displaced(comparison.differences)
    apart = bars_apart(comparison, span)
    for difference in _digits_together(comparison.differences):
        if apart.holds(difference, comparison.version.beside):
            said += map(fixed, apart.said(locator))
            continue
        run = next((run for run in displaced if difference in run), ())
        if run:
            said += [_octave(run, locator)] if difference is run[0] else []
        elif difference.text.marking or difference.reading.marking:
            said.append(say_marking(difference, comparison.version, locator))
        else:
            said += say_notes(difference, locator)
    finished = (_finished(one, locator) for one in _drawn_together(said))
    return tuple(dict.fromkeys(finished))


def _displaced(differences: Sequence[Difference]) -> list[tuple[Difference, ...]]:
    """Return the runs of notes that stand an octave lower, or higher, than in the text."""
    runs = (
        tuple(d for d in differences if _octaves_from_text(d) == octaves) for octaves in (-1, 1)
    )
    return [run for run in runs if sum(len(d.text.events) for d in run) >= _OCTAVE_RUN]


def _octaves_from_text(difference: Difference) -> int | None:
    """Return by how many octaves all notes of a difference of pitch are displaced, if they are."""
    ours, theirs = difference.text.events, difference.reading.events
    if difference.kind is not DifferenceKind.PITCH or len(ours) != len(theirs):
        return None
    if any(len(o.pitches) != len(t.pitches) for o, t in zip(ours, theirs, strict=True)):
        return None
    pairs = [
        pair
        for one, other in zip(ours, theirs, strict=True)
        for pair in zip(one.pitches, other.pitches, strict=True)
    ]
    if any((ours.step, ours.alter) != (theirs.step, theirs.alter) for ours, theirs in pairs):
        return None
    steps = {theirs.octave - ours.octave for ours, theirs in pairs}
    return steps.pop() if len(steps) == 1 else None


def _octave(run: Sequence[Difference], locator: Locator) -> Said:
    octaves = _octaves_from_text(run[0]) or 0
    where = locator.events([event for one in run for event in one.text.events])
    key = "lower" if octaves < 0 else "higher"
    phrase = (
        locator.wording.say(f"octaves.{key}_there", where=where)
        if where
        else locator.wording.say(f"octaves.{key}")
    )
    return Said(lambda _: phrase)


def _digits_together(differences: Sequence[Difference]) -> list[Difference]:
    """Draw the digits of one chord into one marking, where all are lacking or all are added."""
    found: list[Difference] = []
    for difference in differences:
        before = found[-1] if found else None
        if before is not None and _one_fingering(before, difference):
            found[-1] = replace(
                before,
                text=_both(before.text, difference.text),
                reading=_both(before.reading, difference.reading),
            )
        else:
            found.append(difference)
    return found


def _one_fingering(one: Difference, other: Difference) -> bool:
    return (
        one.kind is other.kind is DifferenceKind.FINGERING
        and one.change is other.change
        and one.change in {Change.MISSING, Change.ADDED}
        and one.start == other.start
    )


def _both(one: Side, other: Side) -> Side:
    if one.marking is None or other.marking is None:
        return one
    content = f"{one.marking.content}/{other.marking.content}"
    return Side(marking=replace(one.marking, content=content))


def _drawn_together(said: Sequence[Said]) -> list[Said]:
    together: dict[tuple[str, ...], Said] = {}
    for number, one in enumerate(said):
        like = one.like or ("", str(number))
        before = together.get(like)
        events = (*before.events, *one.events) if before else one.events
        together[like] = replace(one, events=tuple(dict.fromkeys(events)))
    return list(together.values())


def _finished(said: Said, locator: Locator) -> Markup:
    what = said.phrase(max(1, len(said.events)))
    where = said.where or locator.events(said.events)
    if where is None:
        return what
    on = said.attached and locator.one_bar
    key = "differences.located_on" if on else "differences.located"
    return locator.wording.say(key, what=what, where=where)
