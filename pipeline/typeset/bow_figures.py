"""What a bowing comes to, in words: "2 strokes of 2.7 s; ends with a down bow"."""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction

from markupsafe import Markup

from pipeline.collation.model import BowingPlayed
from pipeline.typeset.wording import Wording


def bow_figures(played: BowingPlayed, wording: Wording) -> tuple[Markup, ...]:
    """Return the number of strokes, how long they last, and which way the last one goes."""
    return tuple(_said(played, wording))


def _said(played: BowingPlayed, wording: Wording) -> Iterator[Markup]:
    facts, n = played.facts, played.facts.strokes
    if n == 0:
        return
    if facts.longest is None or facts.shortest is None:
        yield wording.say("bowing.strokes", n=n)
    else:
        shortest, longest = _seconds(facts.shortest, wording), _seconds(facts.longest, wording)
        if shortest == longest:
            yield wording.say("bowing.strokes_of", n=n, seconds=longest)
        else:
            yield wording.say("bowing.strokes_between", n=n, shortest=shortest, longest=longest)
    if facts.ends is not None:
        yield wording.say(f"bowing.{'goes' if n == 1 else 'ends'}.{facts.ends.value}")
    if played.bowed.retakes:
        yield wording.say("bowing.retaken", n=len(played.bowed.retakes))


def _seconds(seconds: Fraction, wording: Wording) -> str:
    """Return seconds to a tenth; below one second to a hundredth."""
    return wording.number(float(seconds), places=1 if seconds >= 1 else 2)
