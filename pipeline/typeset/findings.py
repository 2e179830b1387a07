"""What witnesses have, so arranged that what several have in common is said once.

In comes what each has, phrase by phrase; out go findings: "A, S: f♯″ instead of g″", then "S
besides: crotchet instead of quaver". No phrase is lost, none is said twice of one witness.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from markupsafe import Markup

Source = tuple[str, str | None]
"""A witness by its siglum, and the agent of a later addition in it."""


@dataclass(frozen=True)
class Finding:
    """What some sources have in common; `besides` where something was said of each before."""

    sources: tuple[Source, ...]
    phrases: tuple[Markup, ...]
    besides: bool


def findings(said: Iterable[tuple[Source, tuple[Markup, ...]]]) -> list[Finding]:
    """Return the findings: in the order of the sources, what most have in common first."""
    sources_of: dict[Markup, dict[Source, None]] = {}
    order: dict[Source, int] = {}
    for source, phrases in said:
        order.setdefault(source, len(order))
        for phrase in phrases:
            sources_of.setdefault(phrase, {})[source] = None
    together: dict[tuple[Source, ...], list[Markup]] = {}
    for phrase, sources in sources_of.items():
        together.setdefault(tuple(sorted(sources, key=order.__getitem__)), []).append(phrase)
    found: list[Finding] = []
    spoken_of: set[Source] = set()
    for shared in sorted(together, key=lambda some: (order[some[0]], -len(some))):
        found.append(Finding(shared, tuple(together[shared]), spoken_of.issuperset(shared)))
        spoken_of.update(shared)
    return found
