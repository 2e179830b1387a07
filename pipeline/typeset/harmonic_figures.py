"""What harmonics ask of the hand, as the sentence a remark prints: facts in, words out."""

from __future__ import annotations

from collections.abc import Iterator

from markupsafe import Markup

from pipeline.strings.harmonic_facts import HarmonicFacts
from pipeline.strings.harmonic_path import Through
from pipeline.strings.harmonic_ways import Ease
from pipeline.typeset.wording import Wording

_HEARD = 10
"""Cents below the tempered pitch from which a remark speaks of it (a setting; memory)."""


def harmonic_figures(facts: HarmonicFacts, wording: Wording) -> Markup:
    """Return spans, moves of the hand and natural harmonics, of the text and of what is above."""
    say = wording.say
    versions = [(say("ossia.in_text"), facts.text), (say("ossia.in_ossia"), facts.ossia)]
    told = [
        say("ossia.harmonics_of", name=name, facts=Markup(", ").join(_facts(through, wording)))
        for name, through in versions
        if through is not None
    ]
    length = f"{facts.length_mm:.0f}"
    return say("ossia.harmonics", length=length, versions=Markup("; ").join(told))


def _facts(through: Through, wording: Wording) -> Iterator[Markup]:
    say = wording.say
    least, most = round(through.narrowest_mm), round(through.widest_mm)
    if least != most:
        yield say("ossia.spans", least=least, most=most)
    elif most:
        yield say("ossia.span", most=most)
    if any(step.way.ease is Ease.WIDE for step in through.steps):
        yield say("ossia.wide")
    if through.moves:
        yield say("ossia.moves", through.moves, travel=round(through.travel_mm))
    else:
        yield say("ossia.still")
    natural = sum(step.way.natural for step in through.steps)
    if natural == len(through.steps):
        yield say("ossia.all_natural")
    elif natural:
        yield say("ossia.natural", natural, notes=len(through.steps))
    low = [
        -step.way.deviation_cents for step in through.steps if step.way.deviation_cents < -_HEARD
    ]
    if low:
        yield say("ossia.low", len(low), cents=round(max(low)))
