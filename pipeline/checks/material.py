"""What the rules look at: everything read and computed, and nothing that they may change."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from pipeline.collation.model import Decision, Encodings
from pipeline.edition.model import Edition
from pipeline.score.model import Passage, Score


@dataclass(frozen=True)
class Material:
    """An edition with its music and what was computed about each record."""

    edition: Edition
    score: Score
    encodings: Encodings
    music: Mapping[str, Passage]
    decisions: tuple[Decision, ...]
