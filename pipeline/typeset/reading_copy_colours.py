"""The colours of the reading copy on the screen, and which of them meet.

Each layer has one of its own, dark enough for thin lines on paper white and told apart with every
common weakness of colour vision (blue, orange, green and purple of unlike lightness). None says
anything by itself: the layers keep their looks in black and white. Contrast as WCAG 2.2 reckons it
(success criteria 1.4.3 and 1.4.11): 4.5 for text and for digits above the notes, 3 for lines.
"""

from __future__ import annotations

from collections.abc import Mapping

from pipeline.edition.layer import Layer
from pipeline.typeset.collation_colours import SCREEN, Meeting

LAYER_COLOURS: Mapping[Layer, str] = {
    Layer.TEXT: "#1b1f24",
    Layer.COMPOSER: "#0a3f86",
    Layer.WITNESS: "#6b2f6e",
    Layer.EDITOR: "#8f3d00",
    Layer.TRADITION: "#00614f",
    Layer.PLAYER: "#a3124a",
}
"""The ink of each layer, by the name that it has in the style sheet: `--layer-editor`."""

COLOURS: Mapping[str, str] = {
    **SCREEN,
    "chosen": "#fbe9b7",
} | {f"layer-{layer}": colour for layer, colour in LAYER_COLOURS.items()}
"""By the name they have in the style sheet."""

_INKS = ("ink", "quiet", "link", *(f"layer-{layer}" for layer in LAYER_COLOURS))

MEETINGS = (
    *(Meeting(ink, lower, 4.5) for ink in _INKS for lower in ("paper", "band", "chosen")),
    Meeting("paper", "link", 4.5),
    *(Meeting("line", lower, 3.0) for lower in ("paper", "band", "chosen")),
    *(Meeting("focus", lower, 3.0) for lower in ("paper", "band", "chosen")),
)
"""Every pair that meets on the page. `hair` only rules what is read without it."""


def colours_css() -> str:
    """Return the rule that gives the colours their names, and the inks of the layers."""
    named = " ".join(f"--{name}: {colour};" for name, colour in COLOURS.items())
    inks = "\n".join(
        f'[data-layer="{layer}"], .ink-{layer} {{ color: var(--layer-{layer}) }}'
        for layer in LAYER_COLOURS
        if layer is not Layer.TEXT
    )
    return f":root {{ {named} }}\n{inks}"
