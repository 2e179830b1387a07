"""The colours of the collation's page on the screen, and which of them meet.

Blue and orange are told apart with every common weakness of colour vision; none says anything by
itself, a word or a line always says the same. Contrast as WCAG 2.2 reckons it (success criteria
1.4.3 and 1.4.11): 4.5 for text, 3 for lines that mean something.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

SCREEN: Mapping[str, str] = {
    "paper": "#fdfcf9",
    "ink": "#1b1f24",
    "quiet": "#4d555e",
    "band": "#eef0ee",
    "hair": "#c9cdc9",
    "line": "#767d84",
    "link": "#17497a",
    "focus": "#17497a",
}
"""What every page for the screen is made of."""

COLOURS: Mapping[str, str] = {
    **SCREEN,
    "open-ink": "#6b2c00",
    "open-paper": "#fde9d4",
    "proposed-ink": "#3b3f45",
    "proposed-paper": SCREEN["paper"],
}
"""By the name they have in the style sheet."""


@dataclass(frozen=True)
class Meeting:
    """One colour upon another, and the contrast that it needs."""

    upper: str
    lower: str
    at_least: float


MEETINGS = (
    *(Meeting(ink, lower, 4.5) for ink in ("ink", "quiet", "link") for lower in ("paper", "band")),
    Meeting("open-ink", "open-paper", 4.5),
    Meeting("proposed-ink", "proposed-paper", 4.5),
    *(Meeting("line", lower, 3.0) for lower in ("paper", "band")),
    *(Meeting("open-ink", lower, 3.0) for lower in ("paper", "band")),
    *(Meeting("focus", lower, 3.0) for lower in ("paper", "band")),
)
"""Every pair that meets on the page. `hair` only rules tables, which are read without it."""


def contrast(one: str, other: str) -> float:
    """Return the contrast of two colours written #rrggbb, from 1 to 21 (WCAG 2.2)."""
    darker, lighter = sorted((_luminance(one), _luminance(other)))
    return (lighter + 0.05) / (darker + 0.05)


def _luminance(colour: str) -> float:
    parts = (int(colour[start : start + 2], 16) / 255 for start in (1, 3, 5))
    linear = (
        part / 12.92 if part <= 0.04045 else ((part + 0.055) / 1.055) ** 2.4 for part in parts
    )
    return sum(w * part for w, part in zip((0.2126, 0.7152, 0.0722), linear, strict=True))


def colours_css() -> str:
    """Return the rule that gives the colours their names."""
    named = " ".join(f"--{name}: {colour};" for name, colour in COLOURS.items())
    return f":root {{ {named} }}"
