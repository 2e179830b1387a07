"""Labels: long ones in lines of about the same length, beside the staff they belong to."""

from __future__ import annotations

from pathlib import Path

import pytest

from pipeline.engrave.excerpts import cut
from pipeline.engrave.systems import StaffLine, label_lines
from tests.score.drawn import mei, read


@pytest.mark.parametrize(
    ("label", "lines"),
    [
        ("", ()),
        ("Text", ("Text",)),
        ("half a bar to a bow", ("half a bar", "to a bow")),
        ("Ossia (editor), same sound", ("Ossia (editor),", "same sound")),
        ("Pneumonoultramicroscopic", ("Pneumonoultramicroscopic",)),
    ],
)
def test_label_lines(tmp_path: Path, label: str, lines: tuple[str, ...]) -> None:
    excerpt = cut(read(tmp_path, mei("c5/1")), (0,), 1, "t-")
    assert label_lines(StaffLine(excerpt, label)) == lines
