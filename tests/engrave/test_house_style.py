"""The house style: every layer has a look, and no two look alike in black and white."""

from __future__ import annotations

from pathlib import Path

import pytest
from pydantic import ValidationError

from pipeline.edition.layer import Layer
from pipeline.engrave.house_style import HOUSE_STYLE_FILE, TextLook, read_house_style


def test_every_layer_has_a_look() -> None:
    style = read_house_style()
    assert set(style.layers) == set(Layer)
    assert 4 <= style.staff_height_mm <= 7


def test_fingerings_of_any_two_layers_look_different() -> None:
    looks = [look.fingering for look in read_house_style().layers.values()]
    assert len(set(looks)) == len(Layer)


@pytest.mark.parametrize(
    ("look", "printed"),
    [
        (TextLook(), "3"),
        (TextLook(brackets="square"), "[3]"),
        (TextLook(brackets="round"), "(3)"),
    ],
)
def test_brackets_stand_around_a_digit(look: TextLook, printed: str) -> None:
    assert look.bracketed("3") == printed


@pytest.mark.parametrize(
    ("written", "instead", "message"),
    [
        ("brackets: square}\n    bow", "brackets: none}\n    bow", "look alike"),
        ("  tradition:", "  folklore:", "folklore"),
        ("slur: dashed", "slur: wavy", "wavy"),
        ("staff_height_mm: 5.0", "staff_height_mm: 50", "less than 10"),
    ],
)
def test_a_style_that_tells_nothing_apart_is_refused(
    tmp_path: Path, written: str, instead: str, message: str
) -> None:
    text = HOUSE_STYLE_FILE.read_text(encoding="utf-8")
    assert written in text
    changed = tmp_path / "house_style.yaml"
    changed.write_text(text.replace(written, instead), encoding="utf-8")
    with pytest.raises(ValidationError, match=message):
        read_house_style(changed)
