"""The side of a slur: at the heads where all stems go one way, above where they differ.

Common practice, no source.
"""

from __future__ import annotations

from pathlib import Path

import pytest

from pipeline.engrave.openings import openings
from pipeline.engrave.slur_side import slur_side
from pipeline.score.model import MarkingKind
from tests.score.drawn import mei, read


@pytest.mark.parametrize(
    ("notes", "clef", "side"),
    [
        ("a=e4/2 b=f4/2", ("G", 2), "below"),
        ("a=e5/2 b=f5/2", ("G", 2), "above"),
        ("a=e4/2 b=f5/2", ("G", 2), "above"),
        ("a=b4/2 b=b4/2", ("G", 2), "above"),
        ("a=g2/2 b=a2/2", ("F", 4), "below"),
        ("a=e3/2 b=f3/2", ("F", 4), "above"),
        ("a=b3/2 b=a3/2", ("C", 3), "below"),
    ],
)
def test_side(tmp_path: Path, notes: str, clef: tuple[str, int], side: str) -> None:
    shape, line = clef
    drawn = mei(notes, extra={0: '<slur startid="#a" endid="#b"/>'}).replace(
        b'clef.shape="G" clef.line="2"', f'clef.shape="{shape}" clef.line="{line}"'.encode()
    )
    passage = read(tmp_path, drawn)
    slur = next(m for m in passage.markings if m.kind is MarkingKind.SLUR)
    assert slur_side(passage, slur, openings(passage.mei, 1)[0]) == side
