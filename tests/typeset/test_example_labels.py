"""What stands beside the staves of an example, and what describes it to those who cannot see it."""

from __future__ import annotations

import pytest

from pipeline.engrave.parts import ExamplePart, PartRole
from pipeline.typeset.example_labels import example_labels
from tests.typeset.small_commentary import small_material


@pytest.mark.parametrize(
    ("record", "part", "english", "german"),
    [
        ("r-pitch", ExamplePart(PartRole.TEXT), "Text", "Text"),
        ("r-pitch", ExamplePart(PartRole.READING, 0), "E, S", "E, S"),
        ("f-run", ExamplePart(PartRole.ALTERNATIVE, 1), "low", "low"),
        ("b-run", ExamplePart(PartRole.ALTERNATIVE, 0), "two bows", "two bows"),
        ("o-high", ExamplePart(PartRole.OSSIA), "easier", "leichter"),
        ("o-high", ExamplePart(PartRole.TEXT), "Text", "Text"),
        ("t-end", ExamplePart(PartRole.TRADITION), "the Veldt ending", "der Veldt-Schluss"),
        (
            "r-pitch",
            ExamplePart(PartRole.WHOLE),
            "Music example, bar 1: Reading",
            "Notenbeispiel, Takt 1: Lesart",
        ),
        (
            "f-run",
            ExamplePart(PartRole.WHOLE),
            "Music example, bar 1: Fingering; high: 1 on A 2 – thumb; low: 1 2 0/3 3° on D",
            "Notenbeispiel, Takt 1: Fingersatz; high: 1 auf A 2 – Daumen; low: 1 2 0/3 3° auf D",
        ),
    ],
)
def test_labels(record: str, part: ExamplePart, english: str, german: str) -> None:
    material = small_material()
    (decision,) = [d for d in material.decisions if d.id == record]
    assert example_labels(material.edition, "en")(decision, part) == english
    assert example_labels(material.edition, "de")(decision, part) == german
