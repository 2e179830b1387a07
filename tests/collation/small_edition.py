"""An edition of four bars for violin, as an editor would write it, with music drawn in letters."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path

from pipeline.checks.material import Material
from pipeline.collation.collate import collate_all
from pipeline.collation.decisions import decide
from pipeline.collation.laying import lay_all_beside
from pipeline.edition.choices import OwnCopy, joined
from pipeline.edition.fit import fit
from pipeline.edition.head import EditionHead
from pipeline.edition.model import Edition, FiledRecord, Origins, Text
from pipeline.edition.plain_values import plain
from pipeline.edition.record_files import read_record_file
from pipeline.edition.yaml_positions import read_yaml
from pipeline.problems import Outcome, Problem
from pipeline.score.model import Movement, Passage, Score
from tests.collation.letters import music

HEAD = """\
title: Sonata
scoring: Violin
languages: en
edited_staff: {n: 1, instrument: violin}
agents:
  composer: {name: Ada Morell, role: composer}
  editor: {name: Ilse Brand, role: editor}
  school: {name: The Veldt school, role: tradition}
witnesses:
  A: {kind: autograph, title: Autograph score, by: composer, principal: true, encodings: {1: A.mei}}
  E: {kind: printed score, title: First print, copied_from: A, encodings: {1: E.mei}}
  S: {kind: printed part, title: Solo part, copied_from: E, encodings: {1: S.mei}}
  L: {kind: copy, title: Lost copy, copied_from: A}
movements:
  - {n: 1, title: Allegro, base: score/movement-1.mei}
"""

TEXT = music("4:C5 4:D5 4:E5 4:F5 | 4:G5 4:A5 2:B5 | 2:C6 2:r | 1:G5", numbers="1 2 3 4")

COMMON = "by: editor, date: 2026-03-01"


def head_of(written: str) -> tuple[EditionHead, Origins]:
    """Return edition.yaml as the reader gives it."""
    node = read_yaml(written, "edition.yaml").value
    assert node is not None
    unfolded = plain(node, "edition.yaml")
    fitted = fit(EditionHead, unfolded)
    assert fitted.value is not None, fitted.problems
    return fitted.value, Origins(unfolded.keys)


def edition_of(records: str, head: str = HEAD, texts: tuple[Text, ...] = ()) -> Edition:
    """Return an edition with the records of one file, records/all.yaml."""
    filed: tuple[FiledRecord, ...] = ()
    if records:
        outcome = read_record_file(records, "records/all.yaml")
        assert not outcome.problems, outcome.problems
        filed = outcome.value or ()
    read, origins = head_of(head)
    return Edition(Path("/edition"), read, origins, filed, texts)


def small_edition(
    records: str,
    witnesses: Mapping[str, Passage] | None = None,
    fragments: Mapping[str, Passage] | None = None,
    text: Passage = TEXT,
    head: str = HEAD,
    texts: tuple[Text, ...] = (),
    own: OwnCopy | None = None,
) -> tuple[Material, tuple[Problem, ...]]:
    """Return the material and the problems of computing the decisions."""
    edition = edition_of(records, head, texts)
    if own is not None:
        outcome = joined(edition, own)
        assert outcome.value is not None, outcome.problems
        edition = outcome.value
    score = Score(tuple(Movement(m.n, m.title[""], text) for m in edition.head.movements))
    encodings = {(siglum, 1): passage for siglum, passage in (witnesses or {}).items()}
    besides = lay_all_beside(score, encodings)
    collations = collate_all(score, besides)
    music_of_records = fragments or {}
    decided: Outcome = decide(edition, score, besides, music_of_records)  # type: ignore[type-arg]
    material = Material(
        edition, score, encodings, besides, collations, music_of_records, decided.value or (), own
    )
    return material, decided.problems


def line(problem: Problem) -> str:
    """Return a problem on one line, without the file of records: `3:5 error code: place: ...`."""
    origin = str(problem.origin).removeprefix("records/all.yaml:")
    place = f"{problem.place}: " if problem.place else ""
    return (
        f"{origin} {problem.severity} {problem.code}: {place}{problem.message} > {problem.remedy}"
    )
