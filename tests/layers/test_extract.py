"""Taking layers, the text or a witness out again, and what does not let itself be taken apart."""

from __future__ import annotations

from pathlib import Path

import pytest
from lxml import etree

from pipeline.edition.layer import Layer
from pipeline.layers.extract import (
    NotLayeredError,
    canonical_music,
    extract_layers,
    extract_text,
)
from pipeline.layers.profile import profile_faults
from pipeline.layers.sheet import NotMeiError, parse
from pipeline.layers.witness import NotCarriedError, UnknownWitnessError, extract_witness
from pipeline.score.mei_names import XML_ID, tag
from tests.layers.letters import HEAD, mei, told
from tests.layers.small_edition import Row, Small, assert_valid, place, reading, small

FINGERING: Row = {
    "id": "f1",
    "kind": "fingering",
    "place": place(1),
    "alternatives": [{"name": "a", "fingers": "1, 2"}],
}
TRADITION: Row = {
    "id": "t1",
    "kind": "tradition",
    "by": "custom",
    "place": place(1),
    "music": {"file": "music/other.mei"},
    "origin": "as heard",
    "note": "not the composer's",
}


@pytest.fixture
def edition(tmp_path: Path) -> Small:
    return small(
        tmp_path,
        mei("c5/2 d5/2"),
        [reading("r1", place(1), "W"), FINGERING, TRADITION],
        witnesses={"W": mei("c5/2 e5/2")},
        music={"other": mei("g5/1")},
    )


def bar(document: bytes) -> str:
    return told(next(parse(document).iter(tag("measure"))))


@pytest.mark.parametrize(
    ("layers", "left"),
    [
        (set(), "c5/2 d5/2"),
        ({Layer.TEXT}, "c5/2 d5/2"),
        ({Layer.WITNESS}, "c5/2 app{lem{d5/2} W{e5/2}}"),
        ({Layer.EDITOR}, "c5/2 d5/2 supplied{fing 1(c5) fing 2(d5)}"),
        (
            {Layer.TRADITION},
            "ossia{oStaff{supplied{g5/1}} c5/2 d5/2} supplied{dir not the composer's(g5)}",
        ),
        (
            {Layer.WITNESS, Layer.EDITOR},
            "c5/2 app{lem{d5/2} W{e5/2}} supplied{fing 1(c5) fing 2(d5)}",
        ),
    ],
)
def test_each_layer_alone_and_together(edition: Small, layers: set[Layer], left: str) -> None:
    taken = extract_layers(edition.layered, layers)
    assert bar(taken) == left
    assert profile_faults(taken) == ()
    assert_valid(taken)


def test_annots_speak_only_of_what_is_left(edition: Small) -> None:
    taken = parse(extract_layers(edition.layered, {Layer.EDITOR}))
    (annot,) = [a for a in taken.iter(tag("annot")) if a.get(XML_ID, "").startswith("decision-")]
    ids = {e.get(XML_ID) for e in taken.iter(etree.Element)}
    assert annot.get(XML_ID) == "decision-f1"
    assert {one[1:] for one in annot.get("plist", "").split()} <= ids


def test_the_next_alternative_moves_up_when_the_first_is_left_out(tmp_path: Path) -> None:
    ossia: Row = TRADITION | {"id": "o1", "kind": "ossia", "by": "editor"}
    ossia = {k: v for k, v in ossia.items() if k not in {"origin", "note"}}
    signs = '<fing startid="#a">1</fing>'
    edition = small(
        tmp_path,
        mei("c5/1"),
        [ossia, TRADITION | {"music": {"file": "music/second.mei"}}],
        music={"other": mei("g5/1"), "second": mei("a=b5/1", signs={1: signs})},
    )
    assert "app{lem{} {supplied{fing 1(b5)}}}" in told(edition.measure(1))
    taken = extract_layers(edition.layered, {Layer.TRADITION})
    assert bar(taken) == (
        "ossia{oStaff{supplied{b5/1}} c5/1} supplied{fing 1(b5)}"
        " supplied{dir not the composer's(b5)}"
    )
    assert [o.get("n") for o in parse(taken).iter(tag("oStaff"))] == ["1"]
    assert profile_faults(taken) == ()


def test_a_witness_comes_out_as_a_clean_document(edition: Small) -> None:
    taken = extract_witness(edition.layered, "W")[1]
    assert bar(taken) == "c5/2 e5/2"
    assert not list(parse(taken).iter(tag("app"), tag("annot"), tag("category")))
    assert [e.text for e in parse(taken).iter(tag("identifier"))] == ["W"]
    assert_valid(taken)


def test_a_source_that_is_not_encoded_is_refused_in_words(edition: Small) -> None:
    with pytest.raises(NotCarriedError, match=r"T is not encoded, so .* encoded are W"):
        extract_witness(edition.layered, "T")


def test_an_unknown_witness_is_told_which_there_are(edition: Small) -> None:
    with pytest.raises(UnknownWitnessError, match="no source has the siglum X; there are T, W"):
        extract_witness(edition.layered, "X")


def test_a_file_of_another_origin_is_refused_in_words() -> None:
    with pytest.raises(NotLayeredError, match="no taxonomy of layers"):
        extract_text(mei("c5/1"))


@pytest.mark.parametrize(
    ("document", "told_as"),
    [
        (b"", "not well-formed XML"),
        (b"<mei", "not well-formed XML"),
        (b"<score-partwise/>", "does not begin with the element `mei`"),
    ],
)
def test_what_is_no_mei_is_refused_in_words(document: bytes, told_as: str) -> None:
    with pytest.raises(NotMeiError, match=told_as):
        extract_layers(document, set(Layer))


def test_two_movements_come_out_as_two_documents(tmp_path: Path) -> None:
    head = HEAD.replace("<pubStmt/>", "<pubStmt/><sourceDesc><source xml:id='{}'/></sourceDesc>")
    bases = [
        mei("a=c5/1", head=head.format("old")),
        mei("a=d5/1", "e5/1", head=head.format("older")),
    ]
    second: Row = FINGERING | {"id": "f2", "place": {"movement": 2, "bar": 2}}
    edition = small(tmp_path, bases, [FINGERING, second])
    text = extract_text(edition.layered)
    assert [canonical_music(text[n]) for n in (1, 2)] == [
        canonical_music(edition.base(n)) for n in (1, 2)
    ]
    sources = [[s.get(XML_ID) for s in parse(text[n]).iter(tag("source"))] for n in (1, 2)]
    assert sources[0] == ["old"]
    assert [s.removeprefix("mov2-") for s in sources[1] if s] == ["older"]
    assert told(edition.measure(2, movement=2)) == "e5/1 supplied{fing 1(e5)}"
    assert profile_faults(edition.layered) == ()
    assert_valid(edition.layered)


def test_a_base_text_that_is_itself_a_layered_file(tmp_path: Path) -> None:
    once = small(tmp_path / "1", mei("c5/2 d5/2"), [FINGERING])
    again = small(tmp_path / "2", once.layered, [FINGERING | {"id": "f2"}])
    assert told(again.measure(1)).count("supplied") == 2
    assert canonical_music(extract_text(again.layered)[1]) == canonical_music(again.base())
    assert bar(extract_text(again.layered)[1]) == bar(once.layered)
    assert profile_faults(again.layered) == ()
    ours = {e.get(XML_ID, "") for e in again.root.iter(tag("category"))}
    assert {"layer-editor", "e1.layer-editor"} <= ours


def test_the_base_text_s_own_tokens_survive_ours(tmp_path: Path) -> None:
    own = '<fing xml:id="g" startid="#a" class="" type=" x  layer-editor " resp="#me"> 1 </fing>'
    rows = [FINGERING | {"composer_fingering": "kept"}]
    edition = small(tmp_path, mei("a=c5/2 b=d5/2", signs={1: own}), rows)
    (fing,) = [f for f in edition.root.iter(tag("fing")) if f.get(XML_ID) == "g"]
    assert fing.get("type") == " x  layer-editor  layer-composer"
    assert fing.get("class") == " #layer-composer"
    assert canonical_music(extract_text(edition.layered)[1]) == canonical_music(edition.base())


def test_comments_instructions_and_other_namespaces_come_out_again(tmp_path: Path) -> None:
    base = mei("<!--one--> c5/2 <!--two--> d5/2 <?three four?>").replace(
        b'meiversion="5.1">',
        b'meiversion="5.1" xmlns:xlink="http://www.w3.org/1999/xlink" xmlns:o="urn:other">',
        1,
    )
    base = base.replace(b"<measure ", b'<measure o:mine="yes" ', 1)
    edition = small(
        tmp_path, base, [reading("r1", place(1), "W")], witnesses={"W": mei("c5/2 e5/2")}
    )
    text = extract_text(edition.layered)[1]
    assert canonical_music(text) == canonical_music(edition.base())
    assert b"<!--two-->" in text
    assert b"<?three four?>" in text


def test_names_that_xml_does_not_allow_are_spelled_out(tmp_path: Path) -> None:
    row = reading("r.1-x", place(1), "W★")
    edition = small(tmp_path, mei("c5/1"), [row], witnesses={"W★": mei("d5/1")})
    assert bar(extract_witness(edition.layered, "W★")[1]) == "d5/1"
    (rdg,) = edition.root.iter(tag("rdg"))
    assert rdg.get("source") == "#witness-W_x2605_"
    assert_valid(edition.layered)
