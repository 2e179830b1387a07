"""The music beside a collation: one picture a bar and staff, alike witnesses on one staff."""

from __future__ import annotations

from pathlib import Path

import pytest

from pipeline.collation.answers import Answers
from pipeline.collation.collate import collate
from pipeline.collation.collated import Collation, Departure
from pipeline.collation.departures import departures
from pipeline.collation.laying import lay_beside
from pipeline.engrave.collation_examples import (
    CollatedPlace,
    CollationExamples,
    CollationLabels,
    by_place,
    collation_examples,
)
from pipeline.engrave.house_style import read_house_style
from pipeline.score.model import Movement, Passage, Score
from tests.engrave.decided import glyphs, words
from tests.score.drawn import mei, read

G_CLEF, BLACK_HEAD = "\ue050", "\ue0a4"
"""SMuFL 1.4, "Clefs" and "Noteheads"."""

BARS = (
    "a=c5/4 b=d5/4 c=e5/4 d=f5/4",
    "e=g5/4 f=a5/4 g=b5/4 h=c6/4",
    "i=e5/4 j=d5/4 k=c5/4 l=b4/4",
    "m=a4/4 n=b4/4 o=c5/4 p=d5/4",
    "q=e5/4 r=f5/4 s=g5/4 t=a5/4",
    "u=c5/1",
)


@pytest.fixture
def text(tmp_path: Path) -> Passage:
    return read(tmp_path, mei(*BARS, extra={0: '<slur startid="#a" endid="#t"/>'}))


def witness(folder: Path, siglum: str, *bars: str, extra: str = "") -> Passage:
    data = mei(*bars, extra={0: extra} if extra else None)
    return read(folder, data, prefix=f"{siglum}-", name=f"{siglum}.mei")


def changed(*changes: tuple[int, str, str]) -> tuple[str, ...]:
    bars = list(BARS)
    for index, old, new in changes:
        assert old in bars[index]
        bars[index] = bars[index].replace(old, new)
    return tuple(bars)


SLUR = '<slur startid="#a" endid="#t"/>'


def collated(text: Passage, **witnesses: Passage) -> dict[tuple[str, int], Collation]:
    return {
        (siglum, 1): collate(text, lay_beside(text, passage), siglum, 1)
        for siglum, passage in witnesses.items()
    }


def engraved(
    text: Passage, collations: dict[tuple[str, int], Collation]
) -> tuple[CollationExamples, tuple[Departure, ...]]:
    found = departures(collations, Answers())
    labels = CollationLabels("Text", lambda bar, sigla: f"bar {bar}: {' '.join(sigla)}")
    score = Score((Movement(1, "", text),))
    made = collation_examples(score, collations, found, labels, read_house_style(), 150.0)
    assert made.problems == ()
    assert made.value is not None
    return made.value, found


def test_witnesses_that_are_alike_share_a_staff_below_the_text(
    text: Passage, tmp_path: Path
) -> None:
    alike = changed((1, "a5", "b5"))
    collations = collated(
        text,
        A=witness(tmp_path, "A", *alike, extra=SLUR),
        E=witness(tmp_path, "E", *alike, extra=SLUR),
        S=witness(tmp_path, "S", *changed((1, "a5", "g5")), extra=SLUR),
    )
    examples, _ = engraved(text, collations)
    assert list(examples) == [CollatedPlace(1, 1, 1)]
    (picture,) = examples[CollatedPlace(1, 1, 1)]
    assert {"Text", "A, E", "S"} <= set(words(picture))
    assert glyphs(picture).count(G_CLEF) == 3
    assert glyphs(picture).count(BLACK_HEAD) == 12
    assert picture.text == "bar 2: A E S"


def test_all_that_begins_in_a_bar_is_shown_by_one_picture(text: Passage, tmp_path: Path) -> None:
    other = witness(tmp_path, "A", *changed((1, "a5", "b5"), (1, "c6", "d6")), extra=SLUR)
    examples, found = engraved(text, collated(text, A=other))
    assert len(found) == 2
    assert len(examples) == len(by_place(found)) == 1


def test_a_long_slur_is_shown_by_its_first_bars(text: Passage, tmp_path: Path) -> None:
    examples, found = engraved(text, collated(text, A=witness(tmp_path, "A", *BARS)))
    assert [d.differences[0].end.bar for d in found] == [4]  # type: ignore[union-attr]
    (picture,) = examples[CollatedPlace(1, 0, 1)]
    assert glyphs(picture).count(BLACK_HEAD) == 2 * 4 * 4


def test_a_witness_with_other_bars_in_between_stands_apart(text: Passage, tmp_path: Path) -> None:
    bars = (BARS[0], BARS[1], *BARS[3:])
    examples, found = engraved(text, collated(text, A=witness(tmp_path, "A", *bars)))
    assert [place for place in by_place(found) if place.staff == 0] == [CollatedPlace(1, 2, 0)]
    beside = examples[CollatedPlace(1, 0, 1)]
    assert [set(words(one)) & {"Text", "A"} for one in beside] == [{"Text"}, {"A"}]


def test_bars_that_are_lacking_are_shown_as_the_text_has_them(
    text: Passage, tmp_path: Path
) -> None:
    bars = (BARS[0], BARS[1], *BARS[3:])
    examples, _ = engraved(text, collated(text, A=witness(tmp_path, "A", *bars)))
    (picture,) = examples[CollatedPlace(1, 2, 0)]
    assert set(words(picture)) & {"Text", "A"} == {"Text"}
    assert glyphs(picture).count(BLACK_HEAD) == 4


def test_bars_that_are_added_are_shown_as_the_witness_has_them(
    text: Passage, tmp_path: Path
) -> None:
    bars = (*BARS[:3], "f4/4 f4/4 f4/2", *BARS[3:])
    examples, _ = engraved(text, collated(text, A=witness(tmp_path, "A", *bars, extra=SLUR)))
    (picture,) = examples[CollatedPlace(1, 2, 0, added=True)]
    assert set(words(picture)) & {"Text", "A"} == {"A"}
    assert glyphs(picture).count(BLACK_HEAD) == 2


def test_bars_that_witnesses_add_each_in_its_own_way_are_shown_each(
    text: Passage, tmp_path: Path
) -> None:
    added = {"A": "f4/4 f4/4 f4/2", "E": "g4/2 g4/2"}
    witnesses = {
        siglum: witness(tmp_path, siglum, *BARS[:3], bar, *BARS[3:], extra=SLUR)
        for siglum, bar in added.items()
    }
    examples, found = engraved(text, collated(text, **witnesses))
    assert len(found) == 2
    shown = examples[CollatedPlace(1, 2, 0, added=True)]
    assert [set(words(one)) & {"A", "E"} for one in shown] == [{"A"}, {"E"}]


def test_a_tempo_that_differs_is_printed_on_both_staves(tmp_path: Path) -> None:
    tempo = '<tempo tstamp="1" staff="1">{}</tempo>'
    one = read(tmp_path, mei(BARS[5], extra={0: tempo.format("Vivace")}))
    other = witness(tmp_path, "A", BARS[5], extra=tempo.format("Presto"))
    examples, _ = engraved(one, collated(one, A=other))
    (picture,) = examples[CollatedPlace(1, 0, 1)]
    assert {"Vivace", "Presto"} <= set(words(picture))
