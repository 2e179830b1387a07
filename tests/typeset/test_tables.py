"""The decisions as tables: complete, in the order of the music, and safe to open."""

from __future__ import annotations

import csv
import io
import json

import pytest

from pipeline.typeset.tables import COLUMNS, decisions_csv, decisions_json, disarmed
from tests.collation.small_edition import small_edition
from tests.typeset.small_commentary import HEAD, TEXT, WITNESSES, small_material


def rows(language: str = "en") -> list[dict[str, str]]:
    material = small_material()
    text = decisions_csv(material.edition, material.score, material.decisions, language)
    return list(csv.DictReader(io.StringIO(text, newline="")))


def objects(language: str = "en") -> list[dict[str, object]]:
    material = small_material()
    text = decisions_json(material.edition, material.score, material.decisions, language)
    return json.loads(text)["decisions"]  # type: ignore[no-any-return]


def test_every_record_has_a_row_in_the_order_of_the_decisions() -> None:
    order = [decision.id for decision in small_material().decisions]
    assert [row["id"] for row in rows()] == order
    assert [one["id"] for one in objects()] == order
    assert "p-open" in order


def test_a_row_of_a_reading() -> None:
    (row,) = [row for row in rows() if row["id"] == "r-pitch"]
    assert {name: value for name, value in row.items() if value} == {
        "id": "r-pitch",
        "number": "2",
        "kind": "reading",
        "layer": "witness",
        "status": "accepted",
        "movement": "1",
        "bar": "1",
        "to_bar": "1",
        "staff": "1",
        "position": "note 2",
        "by": "editor",
        "by_name": "Ilse Brand",
        "date": "2026-03-01",
        "certainty": "medium",
        "witnesses": "L; A; E; S",
        "lemma": "A",
        "statements": "E, S: b′ instead of d″.; Text as in A.; Certainty: medium.",
        "evidence": "Evidence: L; A. Author, Sonatas, p. 12; "
        "A. Morell to T. Lind, 3 May 1887: print d.",
        "reason_en": "A slip: <b>b</b> cannot stand *here*.",
        "reason_de": "Ein Versehen: <b>h</b> kann *hier* nicht stehen.",
    }


def test_a_fingering_keeps_its_alternatives_apart_in_json() -> None:
    (one,) = [one for one in objects() if one["id"] == "f-run"]
    assert one["alternatives"] == [
        {
            "name": "high",
            "by": "pupil",
            "printed": True,
            "circumstance": "",
            "detail": ["1 on A 2 – thumb"],
            "for": "It sings.",
            "against": "",
            "hand": {
                "moves": 0,
                "moves_under_slurs": 0,
                "travel_mm": 0,
                "widest_in_place_mm": 69,
                "widest_double_stop_mm": 0,
                "string_changes": 0,
                "notes": 4,
                "inferred": 2,
            },
        },
        {
            "name": "low",
            "by": "editor",
            "printed": False,
            "circumstance": "",
            "detail": ["1 2 0/3 3° on D"],
            "for": "",
            "against": "It does not.",
            "hand": None,
        },
    ]


SYSTEMATIC = """\
- id: s
  kind: reading
  place: {movement: 1, bar: 1, to: {bar: 4}}
  by: editor
  date: 2026-03-01
  lemma: [A, E]
  readings: [{witnesses: S}]
  throughout: [slur missing, articulation]
  reason: {en: x}
"""


def test_what_differs_throughout_and_a_part_against_its_score() -> None:
    head = HEAD.replace("copied_from: E,", "copied_from: E, part_of: E,")
    material, problems = small_edition(SYSTEMATIC, WITNESSES, text=TEXT, head=head)
    assert problems == ()
    edition, score, decisions = material.edition, material.score, material.decisions
    (one,) = json.loads(decisions_json(edition, score, decisions, "en"))["decisions"]
    assert one["throughout"] == ["slur missing", "articulation"]
    assert one["part_against_score"] == [{"part": "S", "score": "E", "text_follows": "score"}]
    assert one["statements"] == [
        "S: without slurs throughout (1 place: bar 2).",
        "Text as in A, E.",
        "The part S contradicts its score E; the text follows the score.",
    ]
    table = io.StringIO(decisions_csv(edition, score, decisions, "en"), newline="")
    (row,) = csv.DictReader(table)
    assert row["throughout"] == "slur missing; articulation"
    assert row["part_against_score"] == "S against E: score"


def test_a_proposed_record_has_no_number_and_its_formula_is_disarmed() -> None:
    (row,) = [row for row in rows() if row["id"] == "p-open"]
    assert row["number"] == ""
    assert row["status"] == "proposed"
    assert row["reason_en"] == "'=cmd()"
    assert row["reason_de"] == "'+offen"


@pytest.mark.parametrize("cell", ["=1+1", "+1", "-1", "@SUM(A1)", "\t=1", "\r=1"])
def test_cells_that_a_spreadsheet_would_compute(cell: str) -> None:
    """The signs that OWASP's "CSV Injection" lists."""
    assert disarmed(cell) == f"'{cell}"


@pytest.mark.parametrize("cell", ["", "A, E", "f♯″ = g♭″", "1", "–"])
def test_cells_that_no_spreadsheet_would_compute(cell: str) -> None:
    assert disarmed(cell) == cell


def test_csv_is_as_rfc_4180_asks() -> None:
    material = small_material()
    text = decisions_csv(material.edition, material.score, material.decisions, "en")
    lines = text.split("\r\n")
    assert lines[-1] == ""
    assert lines[0] == ",".join((*COLUMNS, "reason_en", "reason_de"))
    assert "\n" not in "".join(lines)


def test_statements_are_worded_in_the_language_asked_for() -> None:
    (row,) = [row for row in rows("de") if row["id"] == "r-pitch"]
    assert row["statements"] == "E, S: h¹ statt d².; Text nach A.; Sicherheit: mittel."
