"""The profile of layered files: what it finds, and that a file in order trips nothing.

Outside reference: the Schematron rules inside the official MEI 5.1 schema (mei-all-5.1.rng, Music
Encoding Initiative), evaluated with elementpath's XPath 2.0.
"""

from __future__ import annotations

from collections.abc import Callable
from importlib.resources import files
from pathlib import Path

import elementpath
import pytest
from lxml import etree

from pipeline.layers.profile import profile_faults
from pipeline.layers.sheet import parse
from pipeline.score.mei_names import XML_ID, Element, tag
from tests.layers import changed
from tests.layers.letters import mei
from tests.layers.small_edition import OFFICIAL, Row, Small, place, reading, small

ROWS: list[Row] = [
    reading("r1", place(1), "W"),
    reading("r2", place(2), "W", readings=[{"witnesses": ["W"], "hand": "later"}]),
    {
        "id": "e1",
        "kind": "emendation",
        "place": place(3),
        "readings": [{"witnesses": ["W"]}],
    },
    {
        "id": "f1",
        "kind": "fingering",
        "place": place(1),
        "alternatives": [{"name": "a", "fingers": "1 on G, touch 2 on D"}],
    },
    {
        "id": "b1",
        "kind": "bowing",
        "place": place(2),
        "alternatives": [{"name": "a", "join": True, "signs": {1: "down"}}],
    },
    {"id": "o1", "kind": "ossia", "place": place(3), "music": {"file": "music/other.mei"}},
    {
        "id": "t1",
        "kind": "tradition",
        "by": "custom",
        "place": place(3),
        "music": {"file": "music/other.mei"},
        "origin": "as heard",
        "note": "not the composer's",
    },
    {"id": "m1", "kind": "remark", "place": place(2, 1)},
]


@pytest.fixture
def edition(tmp_path: Path) -> Small:
    return small(
        tmp_path,
        mei("c5/2 d5/2", "e5/2 f5/2", "g5/2 a5/2"),
        ROWS,
        witnesses={"W": mei("c5/2 e5/2", "d5/2 f5/2", "g5/2 b5/2")},
        music={"other": mei("g5/1")},
    )


def test_a_file_with_every_kind_of_record_is_in_order(edition: Small) -> None:
    assert profile_faults(edition.layered) == ()


def test_the_shipped_schema_measures_a_whole_file_too(edition: Small) -> None:
    shipped = files("pipeline.layers").joinpath("profile.rng").read_bytes()
    schema = etree.RelaxNG(etree.fromstring(shipped))
    assert schema.validate(edition.root), str(schema.error_log)
    assert not schema.validate(etree.fromstring(edition.base()))


def _first(root: Element, name: str) -> Element:
    return next(e for e in root.iter(tag(name)) if e.get(XML_ID, "").startswith("mark-"))


def _set(name: str, attribute: str, value: str | None) -> Callable[[Element], None]:
    def spoil(root: Element) -> None:
        element = _first(root, name)
        if value is None:
            del element.attrib[attribute]
        else:
            element.set(attribute, value)

    return spoil


def _drop(path: str) -> Callable[[Element], None]:
    def spoil(root: Element) -> None:
        element = root.find(".//" + "/".join(tag(part) for part in path.split("/")))
        assert element is not None
        parent = element.getparent()
        assert parent is not None
        parent.remove(element)

    return spoil


@pytest.mark.parametrize(
    ("spoil", "told_as"),
    [
        (_set("app", "class", "#layer-nobody"), "class"),
        (_set("app", "class", None), "class, corresp and resp name 0, 1 and 1 decisions"),
        (_set("fing", "resp", "#agent-nobody"), "nobody in the header"),
        (_set("fing", "corresp", "#decision-none"), "corresp points to #decision-none"),
        (_set("fing", "corresp", "#mark-r1-1"), "which is no decision"),
        (_set("fing", "startid", "#nothing"), "startid points to #nothing"),
        (_set("fing", "startid", None), "there is no startid"),
        (_set("slur", "endid", None), "there is no endid"),
        (_set("rdg", "source", "#witness-X"), "which is not a source of the header"),
        (_set("rdg", "source", None), "lem"),
        (_set("sic", "source", None), "sic"),
        (_set("supplied", "reason", None), "supplied"),
        (_set("oStaff", "n", "one"), "oStaff"),
        (_set("artic", "type", None), "artic"),
        (_set("app", XML_ID, "mark-f1-1"), "ID mark-f1-1 already defined"),
        (_drop("app/lem"), "app"),
        (_drop("choice/sic"), "choice"),
        (_drop("ossia/staff"), "ossia"),
        (_drop("annot/p"), "annot"),
        (_drop("source/bibl/identifier"), "source"),
        (_drop("respStmt"), "titleStmt"),
    ],
)
def test_each_fault_is_told(edition: Small, spoil: Callable[[Element], None], told_as: str) -> None:
    root = parse(edition.layered)
    spoil(root)
    faults = profile_faults(etree.tostring(root))
    assert any(told_as in fault for fault in faults), faults


@pytest.mark.parametrize(
    ("kind", "attribute", "value", "told_as"),
    [
        ("open", "plist", None, "annot decision-.W.1"),
        ("open", "resp", "#agent-editor", "annot decision-.W.1"),
        ("open", "source", "#witness-X", "which is not a source of the header"),
        ("encoding", "plist", "#m1", "annot encoding-W-1"),
        ("encoding", "plist", "#m1 #gone", "plist points to #gone"),
        ("encoding", "class", "#layer-editor", "annot encoding-W-1"),
        ("encoding", "n", "first", "annot encoding-W-1"),
    ],
)
def test_each_fault_of_what_was_found_by_comparison_is_told(
    tmp_path: Path, kind: str, attribute: str, value: str | None, told_as: str
) -> None:
    text, other = mei("c5/1", "d5/1"), changed.counted_from(mei("c5/1", "e5/1"), 0)
    edition = small(tmp_path, text, witnesses={"W": other})
    assert profile_faults(edition.layered) == ()
    root = parse(edition.layered)
    (annot,) = [a for a in root.iter(tag("annot")) if a.get("type") == kind]
    if value is None:
        del annot.attrib[attribute]
    else:
        annot.set(attribute, value)
    faults = profile_faults(etree.tostring(root))
    assert any(told_as in fault for fault in faults), faults


def test_a_change_without_a_date_is_told(edition: Small) -> None:
    root = parse(edition.layered)
    (change,) = root.iter(tag("change"))
    del change.attrib["isodate"]
    faults = profile_faults(etree.tostring(root))
    assert any("change without a date" in fault for fault in faults), faults


def test_mark_up_of_the_base_text_is_not_measured(tmp_path: Path) -> None:
    base = mei("<supplied> c5/2 </supplied> <app> <rdg> d5/2 </rdg> </app>")
    assert profile_faults(small(tmp_path, base).layered) == ()


@pytest.mark.parametrize("document", [b"", b"<mei/>", mei("c5/1")])
def test_what_is_no_layered_file_is_told_in_one_sentence(document: bytes) -> None:
    assert len(profile_faults(document)) == 1


_SCHEMATRON = "{http://purl.oclc.org/dsdl/schematron}"
_NAMESPACES = {"mei": "http://www.music-encoding.org/ns/mei"}


def _rules() -> list[tuple[str, str, str]]:
    """Return context, test and wording of each rule; those that need variables are left out."""
    schema = etree.parse(OFFICIAL)
    return [
        (rule.get("context", ""), one.get("test", ""), " ".join("".join(one.itertext()).split()))
        for rule in schema.iter(f"{_SCHEMATRON}rule")
        for one in rule.iter(f"{_SCHEMATRON}assert")
        if "$" not in one.get("test", "").replace("$i", "")
    ]


@pytest.mark.skipif(not OFFICIAL.exists(), reason="the official schema is not beside the project")
def test_the_official_schema_s_own_rules_hold(edition: Small) -> None:
    rules = _rules()
    assert len(rules) > 150
    broken = []
    for context, test, wording in rules:
        found = elementpath.select(
            edition.root, f"//{context}[not({test})]", namespaces=_NAMESPACES
        )
        broken += [f"{context}: {wording}"] * len(found)
    assert broken == []


@pytest.mark.skipif(not OFFICIAL.exists(), reason="the official schema is not beside the project")
def test_the_official_rules_would_tell_a_reference_to_nothing(edition: Small) -> None:
    (test,) = [t for context, t, _ in _rules() if context == "@class" and "category" in t]
    _first(edition.root, "fing").set("class", "#layer-nobody")
    assert elementpath.select(edition.root, f"//@class[not({test})]", namespaces=_NAMESPACES)
