"""The header: who, which sources, how one goes back to another, which layers, since when."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from lxml import etree

from pipeline.edition.head import RELATOR
from pipeline.score.mei_names import XML_ID, tag
from tests.layers.letters import mei
from tests.layers.small_edition import Row, assert_valid, place, read_small, reading, small


def remark(record: str, date: str) -> Row:
    return {"id": record, "kind": "remark", "place": place(1), "date": date}


def test_agents_carry_marc_relator_codes(tmp_path: Path) -> None:
    root = small(tmp_path, mei("c5/1")).root
    roles = {e.get(XML_ID): e.get("role") for e in root.iter(*map(tag, ("persName", "corpName")))}
    # MARC Code List for Relators (Library of Congress): cmp, edt, pbl, scr.
    assert roles == {
        "agent-composer": "cmp",
        "agent-editor": "edt",
        "agent-printer": "pbl",
        "agent-later": "scr",
    }
    (custom,) = [e for e in root.iter(tag("name")) if e.get(XML_ID) == "agent-custom"]
    assert custom.get("role") == "tradition"
    assert all(code is None or len(code) == 3 for code in RELATOR.values())


def test_witnesses_are_sources_with_sigla_and_what_they_were_copied_from(tmp_path: Path) -> None:
    edition = small(
        tmp_path, mei("c5/1"), [reading("r1", place(1), "W")], witnesses={"W": mei("d5/1")}
    )
    sources = {
        source.findtext(f"{tag('bibl')}/{tag('identifier')}"): source
        for source in edition.root.iter(tag("source"))
    }
    assert list(sources) == ["T", "W"]
    assert [s.get("type") for s in sources.values()] == ["principal", "witness"]
    (relation,) = sources["W"].iter(tag("relation"))
    assert (relation.get("rel"), relation.get("target")) == ("isReproductionOf", "#witness-T")
    assert_valid(edition.layered)


def test_a_part_names_the_score_that_it_belongs_to(tmp_path: Path) -> None:
    small(tmp_path, mei("c5/1"), witnesses={"W": mei("d5/1")})
    file = tmp_path / "edition.yaml"
    head = json.loads(file.read_text("utf-8"))
    head["witnesses"]["W"]["part_of"] = "T"
    file.write_text(json.dumps(head), encoding="utf-8")
    edition = read_small(tmp_path)
    assert [
        (relation.get("rel"), relation.get("target"), relation.get("label"))
        for relation in edition.root.iter(tag("relation"))
    ] == [
        ("isReproductionOf", "#witness-T", "copied from"),
        ("isPartOf", "#witness-T", "part of the score"),
    ]
    assert_valid(edition.layered)


def test_a_later_hand_is_named_where_mei_lets_a_hand_be_named(tmp_path: Path) -> None:
    row = reading("r1", place(1), "W", readings=[{"witnesses": ["W"], "hand": "later"}])
    edition = small(tmp_path, mei("c5/1"), [row], witnesses={"W": mei("d5/1")})
    (hand,) = edition.root.iter(tag("hand"))
    assert (hand.get(XML_ID), hand.text) == ("hand-W-later", "A later hand")
    assert_valid(edition.layered)


@pytest.mark.parametrize(
    ("dates", "latest"),
    [(["2025-03-01", "2024-12-31"], "2025-03-01"), (["2024-12-31"], "2024-12-31")],
)
def test_the_last_change_is_dated_by_the_latest_decision(
    tmp_path: Path, dates: list[str], latest: str
) -> None:
    rows = [remark(f"m{n}", date) for n, date in enumerate(dates)]
    (change,) = small(tmp_path, mei("c5/1"), rows).root.iter(tag("change"))
    assert change.get("isodate") == latest


def test_without_decisions_there_is_no_change_and_no_note(tmp_path: Path) -> None:
    edition = small(tmp_path, mei("c5/1"))
    assert list(edition.root.iter(tag("change"), tag("notesStmt"))) == []
    assert_valid(edition.layered)


def test_each_layer_is_a_category_in_the_order_of_the_legend(tmp_path: Path) -> None:
    root = small(tmp_path, mei("c5/1")).root
    categories = [c.get(XML_ID) for c in root.iter(tag("category"))]
    assert categories == [
        "layer-text",
        "layer-composer",
        "layer-witness",
        "layer-editor",
        "layer-tradition",
    ]


def test_the_file_is_mei_5_1_and_says_so(tmp_path: Path) -> None:
    edition = small(tmp_path, mei("c5/1"))
    assert edition.root.get("meiversion") == "5.1"
    assert edition.layered.startswith(b"<?xml")
    assert etree.QName(edition.root).namespace == "http://www.music-encoding.org/ns/mei"
