"""The decisions as tables for other programs: JSON with everything, CSV with what fits a cell.

Rows stand in the order of the music, proposed and superseded records among them. CSV follows
RFC 4180; a cell that a spreadsheet would take for a formula is disarmed (OWASP, "CSV Injection").
"""

from __future__ import annotations

import csv
import io
import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from pipeline.collation.model import Decision
from pipeline.edition.model import Edition
from pipeline.edition.records import (
    Bowing,
    BowingAlternative,
    EditorialRecord,
    Emendation,
    FingeringAlternative,
    FingeringRecord,
    Ossia,
    Reading,
    Tradition,
)
from pipeline.edition.strict import in_language
from pipeline.score.model import Score
from pipeline.strings.bow_facts import BowFacts
from pipeline.strings.left_hand import LeftHand
from pipeline.typeset.alternatives import Alternatives
from pipeline.typeset.prose import Prose
from pipeline.typeset.remarks import Remarks, in_force
from pipeline.typeset.statements import Statements
from pipeline.typeset.wording import wording_of

_FORMULA_SIGNS = ("=", "+", "-", "@", "\t", "\r")
_LIST = "; "
COLUMNS = (
    *("id", "number", "kind", "layer", "status", "superseded_by"),
    *("movement", "bar", "to_bar", "staff", "position"),
    *("by", "by_name", "date", "certainty", "witnesses", "lemma", "throughout"),
    *("part_against_score", "statements", "alternatives", "music", "evidence"),
)
"""What both tables hold of a decision, in this order; after these comes the reason."""


@dataclass(frozen=True)
class _Tabulator:
    """Makes rows of the decisions of one edition in one language."""

    edition: Edition
    remarks: Remarks
    numbers: Mapping[str, int]

    def row(self, decision: Decision) -> dict[str, Any]:
        record = decision.filed.record
        place, key = record.place, self.remarks.key(decision)
        passage = self.remarks.passage(decision)
        statements = self.remarks.statements
        return {
            "id": record.id,
            "number": self.numbers.get(record.id),
            "kind": record.kind,
            "layer": decision.layer.value,
            "status": record.status.value,
            "superseded_by": record.superseded_by,
            "movement": place.movement,
            "bar": place.bar,
            "to_bar": place.to.bar if place.to and place.to.bar else place.bar,
            "staff": decision.span.staff,
            "position": key.position.striptags(),
            "by": record.by,
            "by_name": statements.agent(record.by).striptags(),
            "date": record.date.isoformat(),
            "certainty": record.certainty.value if record.certainty else None,
            "witnesses": list(_witnesses(record)),
            "lemma": list(record.lemma) if isinstance(record, Reading) else [],
            "throughout": _throughout(record),
            "part_against_score": [
                {"part": one.part, "score": one.score, "text_follows": one.follows.value}
                for one in decision.parts_against_scores
            ],
            "statements": [s.striptags() for s in statements.of(decision, passage)],
            "alternatives": self._alternatives(decision),
            "music": _music(record),
            "evidence": statements.evidence(record.evidence).striptags(),
            "reason": {
                language: in_language(record.reason, language, self.edition.head.main_language)
                for language in self.edition.head.languages
            },
        }

    def _alternatives(self, decision: Decision) -> list[dict[str, Any]]:
        record = decision.filed.record
        if not isinstance(record, FingeringRecord | Bowing):
            return []
        views = Alternatives(self.remarks.statements).of(decision)
        alternatives: Sequence[FingeringAlternative | BowingAlternative] = record.alternatives
        printed = record.printed or (alternatives[0].name,)
        return [
            {
                "name": view.name.striptags(),
                "by": alternative.by or record.by,
                "printed": alternative.name in printed,
                "circumstance": view.circumstance.striptags(),
                "detail": [detail.striptags() for detail in view.detail],
                "for": view.speaks_for.striptags(),
                "against": view.speaks_against.striptags(),
                **({"bow": _bow(decision.bowings[index].facts)} if decision.bowings else {}),
                **({"hand": _hand(decision.hands[index])} if decision.hands else {}),
            }
            for index, (alternative, view) in enumerate(zip(alternatives, views, strict=True))
        ]


def _hand(hand: LeftHand | None) -> dict[str, Any] | None:
    """Return what the hand does in a fingering; lengths to a millimetre, None if not known."""
    if hand is None:
        return None
    facts = hand.facts
    return {
        "moves": facts.moves,
        "moves_under_slurs": facts.moves_under_slurs,
        "travel_mm": round(facts.travel_mm),
        "widest_in_place_mm": round(facts.widest_in_place_mm),
        "widest_double_stop_mm": round(facts.widest_double_stop_mm),
        "string_changes": facts.string_changes,
        "notes": facts.notes,
        "inferred": facts.inferred,
    }


def _bow(facts: BowFacts) -> dict[str, Any]:
    """Return the figures of a bowing; seconds to a hundredth, None where no tempo is known."""
    longest, shortest = facts.longest, facts.shortest
    return {
        "strokes": facts.strokes,
        "begins": facts.begins,
        "ends": facts.ends,
        "shortest_s": None if shortest is None else round(float(shortest), 2),
        "longest_s": None if longest is None else round(float(longest), 2),
        "shortest_takes_of_hair": None
        if facts.shortest_takes is None
        else round(float(facts.shortest_takes), 2),
        "up_on_first_beats": len(facts.up_on_strong),
    }


def decisions_json(
    edition: Edition, score: Score, decisions: Sequence[Decision], language: str
) -> str:
    """Return all decisions as a JSON object: the edition's title and language, then the rows."""
    table = _tabulator(edition, score, decisions, language)
    head = edition.head
    return (
        json.dumps(
            {
                "title": table.remarks.statements.prose.plain(head.title),
                "language": language,
                "date": head.date,
                "decisions": [table.row(decision) for decision in decisions],
            },
            ensure_ascii=False,
            indent=2,
        )
        + "\n"
    )


def decisions_csv(
    edition: Edition, score: Score, decisions: Sequence[Decision], language: str
) -> str:
    """Return all decisions as CSV, one row each; the reason has a column for each language."""
    table = _tabulator(edition, score, decisions, language)
    rows = [_flat(table.row(decision)) for decision in decisions]
    columns = [*COLUMNS, *(f"reason_{language}" for language in edition.head.languages)]
    file = io.StringIO()
    writer = csv.DictWriter(file, columns, lineterminator="\r\n")
    writer.writeheader()
    writer.writerows({name: disarmed(value) for name, value in row.items()} for row in rows)
    return file.getvalue()


def disarmed(cell: str) -> str:
    """Return a cell that no spreadsheet computes: an apostrophe before a formula's first sign."""
    return f"'{cell}" if cell.startswith(_FORMULA_SIGNS) else cell


def _tabulator(
    edition: Edition, score: Score, decisions: Sequence[Decision], language: str
) -> _Tabulator:
    prose = Prose(language, edition.head.main_language)
    statements = Statements(edition.head, wording_of(language), prose)
    numbers = {d.id: number for number, d in enumerate(in_force(decisions), start=1)}
    return _Tabulator(edition, Remarks(edition.head, score, statements, {}), numbers)


def _flat(row: Mapping[str, Any]) -> dict[str, str]:
    flat: dict[str, str] = {}
    for name, value in row.items():
        match value:
            case dict():
                flat |= {f"{name}_{key}": inner or "" for key, inner in value.items()}
            case list():
                flat[name] = _LIST.join(_cell(item) for item in value)
            case _:
                flat[name] = _cell(value)
    return flat


def _cell(value: Any) -> str:
    if isinstance(value, dict) and "text_follows" in value:
        return f"{value['part']} against {value['score']}: {value['text_follows']}"
    if isinstance(value, dict):
        return f"{value['name']}: {', '.join(value['detail'])}"
    return "" if value is None else str(value)


def _witnesses(record: EditorialRecord) -> tuple[str, ...]:
    named = list(record.evidence.witnesses)
    if isinstance(record, Reading):
        named += record.lemma
    if isinstance(record, Reading | Emendation):
        named += [siglum for variant in record.readings for siglum in variant.witnesses]
    return tuple(dict.fromkeys(named))


def _throughout(record: EditorialRecord) -> list[str]:
    return list(record.throughout) if isinstance(record, Reading | Emendation) else []


def _music(record: EditorialRecord) -> str | None:
    if isinstance(record, Ossia | Tradition):
        return record.music.file or record.music.derive
    return None
