"""A passage moved to another pitch: its MEI, read again, is what was moved, and moves back.

Works of music21's corpus (see `tests.corpus`), with their key signatures and printed accidentals.
"""

from __future__ import annotations

from pathlib import Path

import pytest

from pipeline.problems import Origin
from pipeline.score.model import Passage, Pitch
from pipeline.score.read import read_passage
from pipeline.score.transposing import Move, moved, transposed
from tests.corpus import corpus_file

MOVES = [Move(7, 12), Move(-14, -24), Move(1, 2), Move(-3, -5), Move(2, 3), Move(-9, -15)]


def read(folder: Path, name: str, data: bytes) -> Passage:
    (folder / name).write_bytes(data)
    found = read_passage(folder, name, Origin("edition.yaml")).value
    assert found is not None
    return found


def heads(passage: Passage) -> list[tuple[int, Pitch, str]]:
    return [(e.staff, h.pitch, h.accidental) for e in passage.events for h in e.heads]


@pytest.mark.parametrize("by", MOVES)
@pytest.mark.parametrize("name", ["bach/bwv1.6.mxl", "haydn/opus1no1/movement2.mxl"])
def test_what_is_written_is_what_was_moved(name: str, by: Move, tmp_path: Path) -> None:
    text = read(tmp_path, "text.mxl", corpus_file(name).read_bytes())
    away = transposed(text, {staff.n: by for staff in text.staves})
    again = read(tmp_path, "away.mei", away.mei)
    assert heads(again) == heads(away)
    back = transposed(again, {s.n: Move(-by.steps, -by.semitones) for s in text.staves})
    home = read(tmp_path, "home.mei", back.mei)
    assert [head[:2] for head in heads(home)] == [head[:2] for head in heads(text)]


def test_a_move_by_an_octave_changes_nothing_but_octaves(tmp_path: Path) -> None:
    text = read(tmp_path, "text.mxl", corpus_file("bach/bwv1.6.mxl").read_bytes())
    there = transposed(text, {1: Move(7, 12)})
    home = transposed(there, {1: Move(-7, -12)})
    assert home.events == text.events
    assert [e.heads for e in there.events if e.staff == 2] == [
        e.heads for e in text.events if e.staff == 2
    ]
    assert read(tmp_path, "home.mei", home.mei).events == read(tmp_path, "a.mei", text.mei).events


@pytest.mark.parametrize(
    ("by", "key", "expected"),
    [(Move(1, 2), "3s", "5s"), (Move(-1, -2), "1s", "1f"), (Move(3, 5), "1s", "0"),
     (Move(7, 12), "2f", "2f"), (Move(0, 1), "2s", "")],
)  # fmt: skip
def test_the_key_goes_with_the_notes(by: Move, key: str, expected: str, tmp_path: Path) -> None:
    document = (
        '<mei xmlns="http://www.music-encoding.org/ns/mei" meiversion="5.1"><music><body><mdiv>'
        f'<score><scoreDef meter.count="4" meter.unit="4" keysig="{key}"><staffGrp>'
        '<staffDef n="1" lines="5" clef.shape="G" clef.line="2"/></staffGrp></scoreDef><section>'
        '<measure n="1"><staff n="1"><layer n="1"><note pname="d" oct="5" dur="1"/></layer>'
        "</staff></measure></section></score></mdiv></body></music></mei>"
    )
    there = transposed(read(tmp_path, "text.mei", document.encode()), {1: by}).mei.decode()
    assert (f'keysig="{expected}"' in there) if expected else ("keysig" not in there)


def test_pitches() -> None:
    assert moved(Pitch("B", 0, 4), Move(1, 2)) == Pitch("C", 1, 5)
    assert moved(Pitch("C", 0, 4), Move(-1, -1)) == Pitch("B", 0, 3)
    assert moved(Pitch("E", -1, 4), Move(2, 4)) == Pitch("G", 0, 4)
