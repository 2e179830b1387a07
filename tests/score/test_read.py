"""The music files of a whole edition."""

from __future__ import annotations

from pathlib import Path

import pytest

from pipeline.edition.model import Edition
from pipeline.edition.read import read_edition
from pipeline.score.read import read_encodings, read_music, read_passage, read_score
from tests.score.drawn import NAMED_HERE, mei, pitches

_HEAD = """\
title: Sonata
scoring: Violin
languages: en
agents:
  composer: {name: Ada Morell, role: composer}
  editor: {name: Ilse Brand, role: editor}
witnesses:
  A: {kind: autograph, title: Autograph, by: composer, encodings: {1: a/one.mei, 2: a/two.mei}}
  F¹: {kind: printed score, title: First print, encodings: {1: f.mei}}
movements:
  - {n: 1, title: Allegro, base: one.mei}
  - {n: 2, title: Adagio, base: two.mei}
"""
_RECORDS = """\
- kind: ossia
  id: o1
  place: {movement: 1, bar: 1}
  by: editor
  date: 2026-03-01
  music: {file: music/higher.mei}
  reason: Easier.
- kind: reading
  id: r1
  place: {movement: 1, bar: 1}
  by: editor
  date: 2026-03-01
  lemma: A
  readings:
    - {witnesses: F¹, music: {file: other/higher.mei}}
  reason: The autograph is clear.
"""


@pytest.fixture
def edition(tmp_path: Path) -> Edition:
    for folder in ("a", "music", "other", "records"):
        (tmp_path / folder).mkdir()
    files = {
        "one.mei": mei("own=c4/1"),
        "two.mei": mei("own=d4/1"),
        "a/one.mei": mei("own=e4/1"),
        "a/two.mei": mei("f4/1"),
        "f.mei": mei("own=g4/1"),
        "music/higher.mei": mei("own=a4/1"),
        "other/higher.mei": mei("own=b4/1"),
    }
    for name, data in files.items():
        (tmp_path / name).write_bytes(data)
    (tmp_path / "edition.yaml").write_text(_HEAD, encoding="utf-8")
    (tmp_path / "records" / "all.yaml").write_text(_RECORDS, encoding="utf-8")
    found = read_edition(tmp_path).value
    assert found is not None
    assert len(found.records) == 2
    return found


def test_movements_keep_their_identifiers_until_they_meet(edition: Edition) -> None:
    outcome = read_score(edition)
    assert outcome.problems == ()
    assert outcome.value is not None
    first, second = outcome.value.movements
    assert (first.n, first.title, pitches(first.passage.events)) == (1, "Allegro", "C4")
    assert first.passage.events[0].xml_id == "own"
    assert second.passage.events[0].xml_id == "mov2-own"


def test_movements_that_do_not_meet_keep_theirs(edition: Edition) -> None:
    (edition.folder / "two.mei").write_bytes(
        mei("d4/1").replace(b"<m", b"<m").replace(b"<music>", b'<music xml:id="b">')
    )
    data = read_passage(edition.folder, "two.mei", NAMED_HERE, "ii-").value
    assert data is not None
    (edition.folder / "two.mei").write_bytes(data.mei)
    score = read_score(edition).value
    assert score is not None
    assert score.movements[1].passage.mei == data.mei


def test_encodings_and_music_share_no_identifier(edition: Edition) -> None:
    encodings, music = read_encodings(edition), read_music(edition)
    assert encodings.problems == music.problems == ()
    assert encodings.value is not None
    assert music.value is not None
    assert {key: p.events[0].xml_id for key, p in encodings.value.items()} == {
        ("A", 1): "A-1-own",
        ("A", 2): "A-2-m1-s1-v1-note1",
        ("F¹", 1): "Fub9-1-own",
    }
    assert {file: p.events[0].xml_id for file, p in music.value.items()} == {
        "music/higher.mei": "higher-own",
        "other/higher.mei": "higher.2-own",
    }


def test_a_file_that_is_missing_is_told_where_it_is_named_and_the_others_are_kept(
    edition: Edition,
) -> None:
    (edition.folder / "two.mei").unlink()
    (edition.folder / "f.mei").unlink()
    (edition.folder / "music" / "higher.mei").write_bytes(b"<mei>")
    score, encodings, music = read_score(edition), read_encodings(edition), read_music(edition)
    assert score.value is not None
    assert [m.n for m in score.value.movements] == [1]
    assert [(str(p.origin), p.code) for p in score.problems] == [
        ("edition.yaml:12:27", "missing-file")
    ]
    assert encodings.value is not None
    assert set(encodings.value) == {("A", 1), ("A", 2)}
    assert [str(p.origin) for p in encodings.problems] == ["edition.yaml:9:61"]
    assert music.value is not None
    assert set(music.value) == {"other/higher.mei"}
    assert [(str(p.origin), p.code) for p in music.problems] == [
        ("music/higher.mei:1:6", "truncated-xml")
    ]


def test_no_movement_at_all_is_no_score(edition: Edition) -> None:
    for name in ("one.mei", "two.mei"):
        (edition.folder / name).unlink()
    outcome = read_score(edition)
    assert outcome.value is None
    assert len(outcome.problems) == 2


@pytest.mark.parametrize("written", ["../one.mei", "/etc/passwd", "a/../../one.mei"])
def test_a_path_out_of_the_edition_is_refused(edition: Edition, written: str) -> None:
    outcome = read_passage(edition.folder / "a", written, NAMED_HERE)
    assert outcome.value is None
    assert [str(p.origin) for p in outcome.problems] == ["edition.yaml:7:3"]


def test_a_link_out_of_the_edition_is_refused(edition: Edition) -> None:
    (edition.folder / "a" / "link.mei").symlink_to(edition.folder / "one.mei")
    outcome = read_passage(edition.folder / "a", "link.mei", NAMED_HERE)
    assert outcome.value is None
    assert len(outcome.problems) == 1
