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
from pipeline.typeset.marking_phrases import say_marking
from pipeline.typeset.note_phrases import Said, say_notes
from pipeline.typeset.places import Locator
from pipeline.typeset.wording import Wording


def phrases(
    comparison: Comparison, passage: Passage, span: Span, wording: Wording
) -> tuple[Markup, ...]:
    """Return what a version has differently, in the order of the music, nothing twice."""
    locator = Locator(passage, span, wording)
    said: list[Said] = []
    for difference in _digits_together(comparison.differences):
        if difference.text.marking or difference.reading.marking:
            said.append(say_marking(difference, comparison.version, locator))
        else:
            said += say_notes(difference, locator)
    finished = (_finished(one, locator) for one in _drawn_together(said))
    return tuple(dict.fromkeys(finished))


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
