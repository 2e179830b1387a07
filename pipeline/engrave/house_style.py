"""How each layer looks in print: templates/house_style.yaml in, one frozen object out.

The house style is data, so that another house can have other brackets; what it may not do is make
two layers look alike in black and white.
"""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import Literal

from pydantic import Field, model_validator
from ruamel.yaml import YAML

from pipeline.edition.layer import Layer
from pipeline.edition.strict import Strict

HOUSE_STYLE_FILE = Path(__file__).resolve().parents[2] / "templates" / "house_style.yaml"

Brackets = Literal["none", "square", "round"]
Line = Literal["solid", "dashed", "dotted"]

_AROUND: Mapping[Brackets, tuple[str, str]] = {
    "none": ("", ""),
    "square": ("[", "]"),
    "round": ("(", ")"),
}


class TextLook(Strict):
    """How digits, words or a label are set."""

    slant: Literal["upright", "italic"] = "upright"
    weight: Literal["regular", "bold"] = "regular"
    brackets: Brackets = "none"

    def bracketed(self, text: str) -> str:
        """Return the text between the brackets of this look."""
        opening, closing = _AROUND[self.brackets]
        return f"{opening}{text}{closing}"


PLAIN = TextLook()
"""Upright, regular, without brackets."""


class LayerLook(Strict):
    """How the markings of one layer are printed.

    `bow_sign` names the brackets around a bow sign, `staff` the size of a staff that belongs to
    the layer, as a part of the ordinary size.
    """

    fingering: TextLook
    bow_sign: Brackets
    slur: Line
    words: TextLook
    staff: float = Field(ge=0.5, le=1.0)
    label: TextLook


class HouseStyle(Strict):
    """The whole house style. `staff_height_mm` is measured between the outer lines of a staff."""

    staff_height_mm: float = Field(gt=2, lt=10)
    difference_bracket: bool
    layers: Mapping[Layer, LayerLook]

    @model_validator(mode="after")
    def _layers_can_be_told_apart(self) -> HouseStyle:
        missing = [layer.value for layer in Layer if layer not in self.layers]
        if missing:
            raise ValueError(f"no look is given for the layer {', '.join(missing)}")
        seen: dict[TextLook, Layer] = {}
        for layer, look in self.layers.items():
            if look.fingering in seen:
                raise ValueError(
                    f"fingerings of the layers {seen[look.fingering].value} and {layer.value} "
                    "look alike in black and white"
                )
            seen[look.fingering] = layer
        return self

    def look(self, layer: Layer) -> LayerLook:
        """Return how that layer looks."""
        return self.layers[layer]


def read_house_style(file: Path = HOUSE_STYLE_FILE) -> HouseStyle:
    """Return the house style of that file.

    Raises pydantic.ValidationError where it is incomplete or two layers look alike: the file is
    part of the program's own data, so this is a fault of the set-up, not of an edition.
    """
    return HouseStyle.model_validate(YAML(typ="safe").load(file.read_text(encoding="utf-8")))
