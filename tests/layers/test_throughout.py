"""One decision on what differs throughout: each difference is woven where it is, and is its own."""

from __future__ import annotations

from pathlib import Path

import pytest

from pipeline.layers.extract import canonical_music, extract_text
from pipeline.layers.profile import profile_faults
from pipeline.score.mei_names import XML_ID, Element, tag
from tests.layers.letters import mei
from tests.layers.small_edition import Small, assert_valid, place, reading, small
from tests.layers.witness_law import faults_of_extraction


def bars(*dotted: int) -> list[str]:
    """Return four bars, a staccato dot on the first note of those that are named."""
    return [
        f'<note xml:id="n{n}" pname="{step}" oct="5" dur="2"'
        f"{' artic=' + chr(34) + 'stacc' + chr(34) if n in dotted else ''}/> a5/2"
        for n, step in enumerate("cdef", 1)
    ]


def digits(*numbered: int) -> dict[int, str]:
    return {n: f'<fing startid="#n{n}">1</fing>' for n in numbered}


@pytest.fixture
def edition(tmp_path: Path) -> Small:
    """The text has a digit and a dot a bar; E has none, S the dot of bar 2 and digit of bar 3."""
    return small(
        tmp_path,
        mei(*bars(1, 2, 3, 4), signs=digits(1, 2, 3, 4)),
        [
            reading(
                "all", place(1, to={"bar": 4}), "E", "S", throughout=["fingering", "articulation"]
            ),
            reading("one", place(4), "E", "S"),
        ],
        witnesses={"E": mei(*bars()), "S": mei(*bars(2), signs=digits(3))},
    )


def about(edition: Small, record: str) -> list[Element]:
    """Return the forks of a decision, in the order of the music."""
    return [
        fork
        for fork in edition.root.iter(tag("app"))
        if f"#decision-{record}" in fork.get("corresp", "").split()
    ]


def bar_of(fork: Element) -> str:
    return next(m.get("n", "") for m in fork.iterancestors(tag("measure")))


def test_each_difference_is_woven_in_its_own_bar(edition: Small) -> None:
    forks = about(edition, "all")
    assert [bar_of(fork) for fork in forks] == ["1", "1", "2", "2", "3", "3"]
    assert [bar_of(fork) for fork in about(edition, "one")] == ["4", "4"]
    assert max(sum(1 for _ in fork.iter(tag("note"))) for fork in forks) == 2


def test_one_note_names_them_all(edition: Small) -> None:
    (annot,) = (
        annot for annot in edition.root.iter(tag("annot")) if annot.get(XML_ID) == "decision-all"
    )
    spoken_of = annot.get("plist", "").split()
    ids = {f"#{f.get(XML_ID)}" for f in about(edition, "all")}
    assert ids <= set(spoken_of)


def test_the_file_is_valid_and_gives_text_and_witnesses_back(
    edition: Small, tmp_path: Path
) -> None:
    assert profile_faults(edition.layered) == ()
    assert canonical_music(extract_text(edition.layered)[1]) == canonical_music(edition.base())
    faults = faults_of_extraction(edition.layered, edition.collations, edition.encodings, tmp_path)
    assert faults == []
    assert_valid(edition.layered)
