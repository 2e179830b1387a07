"""What the list of sources says of each: dates in words, and what of it was compared."""

from __future__ import annotations

import pytest

from pipeline.score.model import Passage
from pipeline.typeset.commentary import commentary_view
from tests.collation.letters import music
from tests.collation.small_edition import small_edition
from tests.typeset.small_commentary import HEAD

TEXT = music("1:C5 | 1:D5 | 1:E5", labels=("Violin", "Piano", "Piano"))
REMARK = """\
- {id: m, kind: remark, place: {movement: 1, bar: 1}, by: editor, date: 2026-03-01, reason: {en: x}}
"""
ALL = ("Violin", "Piano", "Piano")


@pytest.mark.parametrize(
    ("held", "english", "german"),
    [
        (music("1:C5 | 1:D5 | 1:E5", labels=ALL), "whole work", "ganzes Werk"),
        (
            music("1:C5 | 1:D5", labels=ALL),
            "movement 1 (bars 1–2)",
            "1. Satz (Takt 1–2)",
        ),
        (
            music("1:C5 | 1:D5 | 1:E5"),
            "whole work (solo part only)",
            "ganzes Werk (nur die Solostimme)",
        ),
        (
            music("1:C5 | 1:D5", labels=("Piano", "Piano")),
            "movement 1 (bars 1–2, Piano only)",
            "1. Satz (Takt 1–2, nur Piano)",
        ),
    ],
)
def test_what_an_encoding_holds(held: Passage, english: str, german: str) -> None:
    material, _ = small_edition(REMARK, {"A": held}, text=TEXT, head=HEAD)
    for language, extent in (("en", english), ("de", german)):
        view = commentary_view(
            material.edition, material.score, (), {}, {}, language, False, material.encodings
        )
        compared = [fact.striptags().replace("\u00a0", " ") for fact in view.sources[0].facts][-1]
        assert compared.partition(": ")[2] == f"{extent}."


@pytest.mark.parametrize(
    ("drawn", "numbers", "labels", "expected"),
    [
        # the upbeat is counted as bar 1, one bar is missing, the staff has another name
        ("4:G4 | 4:C5 4:D5 2:E5 | 2:B5 2:C6", "1 2 3", ("Violine",), "whole work (solo part only)"),
        # bar 1 is written twice, so that the copy counts to 3
        ("4:C5 4:D5 2:E5 | 4:C5 4:D5 2:E5 | 4:F5 4:G5 2:A5", "1 2 3", ALL, "movement 1 (bars 1–2)"),
    ],
)
def test_bars_and_staves_are_named_as_the_text_names_them(
    drawn: str, numbers: str, labels: tuple[str, ...], expected: str
) -> None:
    bars = "4:G4 | 4:C5 4:D5 2:E5 | 4:F5 4:G5 2:A5 | 2:B5 2:C6"
    upbeat = music(bars, labels=ALL, numbers="0 1 2 3")
    held = music(drawn, labels=labels, numbers=numbers)
    material, _ = small_edition(REMARK, {"A": held}, text=upbeat, head=HEAD)
    view = commentary_view(
        material.edition, material.score, (), {}, {}, "en", False, material.encodings,
        material.collations,
    )  # fmt: skip
    compared = [fact.striptags().replace("\u00a0", " ") for fact in view.sources[0].facts][-1]
    assert compared.partition(": ")[2] == f"{expected}."


def test_a_part_names_its_score() -> None:
    head = HEAD.replace("copied_from: E,", "copied_from: E, part_of: E,")
    material, _ = small_edition(REMARK, {}, text=TEXT, head=head)
    for language, expected in (("en", "Solo part to E."), ("de", "Solostimme zu E.")):
        view = commentary_view(
            material.edition, material.score, (), {}, {}, language, False, material.encodings
        )
        told = {s.siglum: [fact.striptags() for fact in s.facts] for s in view.sources}
        assert expected in told["S"]
        assert not any("E." in fact for fact in told["L"])
