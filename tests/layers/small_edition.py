"""A small edition in a folder of the test's own, read, decided and layered by the real stages."""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property, lru_cache
from pathlib import Path
from typing import Any

import pytest
from lxml import etree

from pipeline.collation.collate import collate_all
from pipeline.collation.collated import Collation
from pipeline.collation.decisions import decide
from pipeline.collation.laying import lay_all_beside
from pipeline.collation.model import Decision
from pipeline.edition.model import Edition
from pipeline.edition.read import read_edition
from pipeline.layers.sheet import parse
from pipeline.layers.write import write_layers
from pipeline.problems import Problem, has_errors
from pipeline.score.mei_names import Element, tag
from pipeline.score.model import Passage, Score
from pipeline.score.read import read_encodings, read_music, read_score

OFFICIAL = Path(__file__).resolve().parents[3] / "shared" / "standards" / "mei-all-5.1.rng"
"""The official MEI 5.1 schema (Music Encoding Initiative, mei-all-5.1.rng), where it is present."""

AGENTS = {
    "composer": {"name": "A Composer", "role": "composer"},
    "editor": {"name": "An Editor", "role": "editor"},
    "printer": {"name": "A House", "role": "publisher"},
    "custom": {"name": "What is played", "role": "tradition"},
    "later": {"name": "A later hand", "role": "scribe"},
}

Row = dict[str, Any]


@dataclass(frozen=True)
class Small:
    """A small edition as read and decided."""

    edition: Edition
    score: Score
    decisions: tuple[Decision, ...]
    encodings: Mapping[tuple[str, int], Passage]
    collations: Mapping[tuple[str, int], Collation]
    problems: tuple[Problem, ...]

    @cached_property
    def layered(self) -> bytes:
        """The layered MEI."""
        return write_layers(self.edition, self.score, self.decisions, self.collations)

    @cached_property
    def root(self) -> Element:
        """The layered MEI as a tree."""
        return parse(self.layered)

    def measure(self, n: int, movement: int = 1) -> Element:
        """The measure of that printed number in the layered MEI."""
        mdiv = self.root.findall(f"{tag('music')}/{tag('body')}/{tag('mdiv')}")[movement - 1]
        return next(m for m in mdiv.iter(tag("measure")) if m.get("n") == str(n))

    def base(self, movement: int = 1) -> bytes:
        """The base text that the layers were written on."""
        return self.score.movements[movement - 1].passage.mei


def small(
    folder: Path,
    base: bytes | Sequence[bytes],
    records: Sequence[Row] = (),
    witnesses: Mapping[str, bytes | Sequence[bytes]] | None = None,
    music: Mapping[str, bytes] | None = None,
    strict: bool = True,
) -> Small:
    """Write the edition into `folder`, read it and decide; `witnesses` by siglum."""
    bases = [base] if isinstance(base, bytes) else list(base)
    held = {
        siglum: [data] if isinstance(data, bytes) else list(data)
        for siglum, data in (witnesses or {}).items()
    }
    files = {f"score/{n}.mei": data for n, data in enumerate(bases, 1)}
    for siglum, encodings in held.items():
        files |= {f"witnesses/{siglum}-{n}.mei": data for n, data in enumerate(encodings, 1)}
    files |= {f"music/{name}.mei": data for name, data in (music or {}).items()}
    for name, data in files.items():
        (folder / name).parent.mkdir(parents=True, exist_ok=True)
        (folder / name).write_bytes(data)
    head = {
        "title": "A small edition",
        "scoring": "violin",
        "languages": ["en"],
        "agents": AGENTS,
        "witnesses": {"T": {"kind": "autograph", "title": "The text", "principal": True}}
        | {
            siglum: {
                "kind": "copy",
                "title": f"Copy {siglum}",
                "copied_from": "T",
                "encodings": {n: f"witnesses/{siglum}-{n}.mei" for n, _ in enumerate(data, 1)},
            }
            for siglum, data in held.items()
        },
        "movements": [
            {"n": n, "title": f"Movement {n}", "base": f"score/{n}.mei"}
            for n, _ in enumerate(bases, 1)
        ],
    }
    # Every JSON document is a YAML document (YAML 1.2, section 1.3).
    (folder / "edition.yaml").write_text(json.dumps(head), encoding="utf-8")
    (folder / "records").mkdir(exist_ok=True)
    written = json.dumps([_complete(row) for row in records])
    (folder / "records" / "all.yaml").write_text(written, encoding="utf-8")
    return read_small(folder, strict)


def read_small(folder: Path, strict: bool = True) -> Small:
    """Read and decide the edition in that folder."""
    edition = read_edition(folder)
    assert edition.value is not None, edition.problems
    score = read_score(edition.value)
    encodings = read_encodings(edition.value)
    music = read_music(edition.value)
    assert score.value is not None, score.problems
    besides = lay_all_beside(score.value, encodings.value or {})
    decided = decide(edition.value, score.value, besides, music.value or {})
    problems = (
        *edition.problems, *score.problems, *encodings.problems, *music.problems,
        *decided.problems,
    )  # fmt: skip
    assert not (strict and has_errors(problems)), problems
    collations = collate_all(score.value, besides)
    return Small(
        edition.value, score.value, decided.value or (), encodings.value or {}, collations, problems
    )


def _complete(row: Row) -> Row:
    return {"by": "editor", "date": "2026-01-31", "reason": "A reason."} | row


def place(bar: int, note: int | None = None, to: Row | None = None, **more: Any) -> Row:
    """Return a place in movement 1."""
    written: Row = {"movement": 1, "bar": bar} | more
    if note is not None:
        written["note"] = note
    if to is not None:
        written["to"] = to
    return written


def reading(record: str, where: Row, *witnesses: str, lemma: str = "T", **more: Any) -> Row:
    """Return a reading whose witnesses each have what their encodings say."""
    return {
        "id": record,
        "kind": "reading",
        "place": where,
        "lemma": [lemma],
        "readings": [{"witnesses": [siglum]} for siglum in witnesses],
    } | more


@lru_cache(maxsize=1)
def official_schema() -> etree.RelaxNG | None:
    """Return the official schema, or None where it is absent."""
    return etree.RelaxNG(etree.parse(OFFICIAL)) if OFFICIAL.exists() else None


def assert_valid(mei: bytes) -> None:
    """Fail with the schema's own words; skip the test where the schema is absent."""
    schema = official_schema()
    if schema is None:
        pytest.skip(f"the official MEI 5.1 schema is not at {OFFICIAL.name} beside the project")
    document = etree.fromstring(mei)
    assert schema.validate(document), str(schema.error_log)
