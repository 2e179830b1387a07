"""Fingerings, bowings, ossias, traditions, remarks: what is written into the music, and drawn."""

from __future__ import annotations

from pathlib import Path

import pytest
from lxml import etree

from pipeline.layers.extract import canonical_music, extract_text
from pipeline.layers.profile import profile_faults
from pipeline.score.mei_names import XML_ID, Element, tag
from tests.layers.drawing import draw
from tests.layers.letters import mei, told
from tests.layers.small_edition import Row, Small, assert_valid, place, small


def in_order(edition: Small) -> None:
    """Assert what holds of every layered file, that it is drawn whole and in silence included."""
    assert profile_faults(edition.layered) == ()
    assert canonical_music(extract_text(edition.layered)[1]) == canonical_music(edition.base())
    drawn = draw(edition.layered)
    assert drawn.said == ""
    assert drawn.lost == ()
    assert_valid(edition.layered)


def fingering(fingers: str, where: Row | None = None, **more: object) -> Row:
    return {
        "id": "f1",
        "kind": "fingering",
        "place": where or place(1),
        "alternatives": [{"name": "a", "fingers": fingers}],
    } | more


def marks(edition: Small, name: str) -> list[Element]:
    return [e for e in edition.root.iter(tag(name)) if e.get(XML_ID, "").startswith("mark-")]


def annots(edition: Small) -> list[Element]:
    return [a for a in edition.root.iter(tag("annot")) if a.get(XML_ID, "").startswith("decision-")]


@pytest.mark.parametrize(
    ("notes", "fingers", "written"),
    [
        ("c5/2 d5/2", "1, 2", "fing 1(c5) fing 2(d5)"),
        ("c5/2 d5/2", "none, 4", "fing 4(d5)"),
        ("d5/2 a5/2", "open, thumb", "fing 0(d5) fing T(a5)"),
        ("c5/2 d5/2", "3 on G, 4 on G", "fing 3(c5) dir G(c5) fing 4(d5)"),
        ("c4+e5/2 d5/2", ["[1, 4]", "2"], "fing 1(c4) fing 4(e5) fing 2(d5)"),
        ("c4+f4/2 d5/2", "1 touch 4, 2", "fing 1(c4) fing 4(f4) fing 2(d5)"),
        ("c4+e5/2 d5/2", "3, 2", "fing 3(chord) fing 2(d5)"),
    ],
)
def test_one_fing_for_each_finger(
    tmp_path: Path, notes: str, fingers: object, written: str
) -> None:
    if isinstance(fingers, list):
        fingers = [f.strip("[]").split(", ") if "[" in f else f for f in fingers]
    edition = small(tmp_path, mei(notes), [fingering(fingers)])  # type: ignore[arg-type]
    assert told(edition.measure(1)).endswith(f"supplied{{{written}}}")
    in_order(edition)


def test_a_string_that_words_name_is_not_named_again(tmp_path: Path) -> None:
    base = mei("a=c5/2 b=d5/2", signs={1: '<dir startid="#a">sul G</dir>'})
    edition = small(tmp_path, base, [fingering("3 on G, 4 on D")])
    assert told(edition.measure(1)).endswith("supplied{fing 3(c5) fing 4(d5) dir D(d5)}")
    in_order(edition)


def test_an_editor_s_fing_says_who_why_how_sure_and_what_it_looks_like(tmp_path: Path) -> None:
    row = fingering("1, 2", certainty="low", purpose="timbre", evidence={"witnesses": ["T"]})
    edition = small(tmp_path, mei("c5/2 d5/2"), [row])
    (holder,) = marks(edition, "supplied")
    assert dict(holder.attrib) == {
        XML_ID: "mark-f1-1",
        "class": "#layer-editor",
        "corresp": "#decision-f1",
        "resp": "#agent-editor",
        "reason": "timbre",
        "cert": "low",
        "source": "#witness-T",
        "label": "a",
    }
    first = marks(edition, "fing")[0]
    assert (first.get("type"), first.get("class")) == ("layer-editor", "#layer-editor")
    assert 'class="fing layer-editor"' in draw(edition.layered).svg
    in_order(edition)


def test_the_composer_s_own_digit_is_adopted_not_doubled(tmp_path: Path) -> None:
    base = mei("a=c5/2 b=d5/2", signs={1: '<fing startid="#a" type="old">3</fing>'})
    row = fingering("3, 1", composer_fingering="kept")
    edition = small(tmp_path, base, [row])
    assert told(edition.measure(1)) == "c5/2 d5/2 fing 3(c5) supplied{fing 1(d5)}"
    (adopted,) = [f for f in edition.root.iter(tag("fing")) if f.get("type", "").startswith("old")]
    assert adopted.get("type") == "old layer-composer"
    assert adopted.get("class") == "#layer-composer"
    assert adopted.get("resp") == "#agent-composer"
    in_order(edition)


def test_the_composer_s_digit_that_was_changed_stays_beside_the_new_one(tmp_path: Path) -> None:
    base = mei("a=c5/2 b=d5/2", signs={1: '<fing startid="#a">3</fing>'})
    edition = small(tmp_path, base, [fingering("3, 1", composer_fingering="changed")])
    assert told(edition.measure(1)).count("fing 3") == 2
    in_order(edition)


def test_printed_alternatives_stand_above_and_below_the_others_in_the_annot(tmp_path: Path) -> None:
    alternatives = [
        {"name": "a", "fingers": "1, 2"},
        {"name": "b", "fingers": "2, 3", "by": "custom"},
        {"name": "c", "fingers": "3, 4"},
    ]
    row = fingering("", alternatives=alternatives, printed=["b", "a"])
    edition = small(tmp_path, mei("c5/2 d5/2"), [row])
    written = [(f.text, f.get("place"), f.get("n"), f.get("type")) for f in marks(edition, "fing")]
    assert written == [
        ("2", "above", "1", "layer-tradition"),
        ("3", "above", "1", "layer-tradition"),
        ("1", "below", "2", "layer-editor"),
        ("2", "below", "2", "layer-editor"),
    ]
    (annot,) = annots(edition)
    items = [(i.get("label"), i.get("type")) for i in annot.iter(tag("li"))]
    assert items == [("a", "printed"), ("b", "printed"), ("c", "described")]
    in_order(edition)


def test_a_natural_harmonic_gets_its_circle_unless_the_text_has_one(tmp_path: Path) -> None:
    plain = small(tmp_path / "1", mei("a5/1"), [fingering("touch 3 on A")])
    assert told(plain.measure(1)) == "a5/1{supplied{harm}} supplied{fing 3(a5) dir A(a5)}"
    in_order(plain)
    marked = mei('<note xml:id="q" dur="1" pname="a" oct="5" artic="harm"/>')
    kept = small(tmp_path / "2", marked, [fingering("touch 3 on A")])
    assert told(kept.measure(1)) == "a5/1 supplied{fing 3(a5) dir A(a5)}"


def bowing(**alternative: object) -> Row:
    return {
        "id": "b1",
        "kind": "bowing",
        "place": place(1),
        "alternatives": [{"name": "a"} | alternative],
    }


NOTES = "a=c5/4 b=d5/4 c=e5/4 d=f5/4"
SLUR = {1: '<slur startid="#a" endid="#d"/>'}


def test_a_divided_slur_stays_and_bow_signs_are_supplied(tmp_path: Path) -> None:
    row = bowing(divide_after=[2], signs={1: "down", 3: "up"})
    edition = small(tmp_path, mei(NOTES, signs=SLUR), [row])
    assert told(edition.measure(1)) == (
        "c5/4{supplied{dnbow}} d5/4 e5/4{supplied{upbow}} f5/4 slur(c5-f5)"
    )
    (slur,) = edition.root.iter(tag("slur"))
    assert (slur.get("type"), slur.get("corresp")) == ("slur-divided", "#decision-b1")
    in_order(edition)


def test_signs_that_follow_from_a_division_are_supplied_too(tmp_path: Path) -> None:
    row = bowing(divide_after=[1, 2], signs={1: "down"})
    edition = small(tmp_path, mei(NOTES, signs=SLUR), [row])
    assert told(edition.measure(1)) == (
        "c5/4{supplied{dnbow}} d5/4{supplied{upbow}} e5/4{supplied{dnbow}} f5/4 slur(c5-f5)"
    )
    in_order(edition)


def test_an_opposite_bowing_is_written_with_its_signs_the_other_way(tmp_path: Path) -> None:
    row = bowing(divide_after=[2], signs={1: "down"})
    row["alternatives"].append({"name": "b", "opposite": True})
    edition = small(tmp_path, mei(NOTES, signs=SLUR), [row | {"printed": "b"}])
    assert told(edition.measure(1)) == (
        "c5/4{supplied{upbow}} d5/4 e5/4{supplied{dnbow}} f5/4 slur(c5-f5)"
    )
    said = {p.get("type"): p.text for p in edition.root.iter(tag("p")) if p.get("type")}
    assert (said["opposite"], said["divide-after"], said["signs"]) == ("a", "2", "1 up")
    in_order(edition)


def test_a_slur_that_the_division_does_not_touch_is_not_tagged(tmp_path: Path) -> None:
    base = mei(NOTES, signs={1: '<slur startid="#a" endid="#b"/>'})
    edition = small(tmp_path, base, [bowing(divide_after=[3])])
    (slur,) = edition.root.iter(tag("slur"))
    assert slur.get("corresp") is None


def test_strokes_taken_in_one_bow_get_a_dashed_slur(tmp_path: Path) -> None:
    edition = small(tmp_path, mei(NOTES), [bowing(join=True)])
    (slur,) = marks(edition, "slur")
    assert (slur.get("lform"), told(edition.measure(1))) == (
        "dashed",
        "c5/4 d5/4 e5/4 f5/4 supplied{slur(c5-f5)}",
    )
    in_order(edition)


def test_a_bow_sign_that_the_text_has_is_adopted(tmp_path: Path) -> None:
    base = mei('<note dur="1" pname="c" oct="5"> <artic artic="dnbow"/> </note>')
    edition = small(tmp_path, base, [bowing(signs={1: "down"})])
    assert marks(edition, "artic") == []
    (artic,) = edition.root.iter(tag("artic"))
    assert artic.get("corresp") == "#decision-b1"
    in_order(edition)


def ossia(kind: str = "ossia", record: str = "o1", **more: object) -> Row:
    row: Row = {
        "id": record,
        "kind": kind,
        "place": place(1),
        "music": {"file": "music/other.mei"},
    }
    if kind == "tradition":
        row |= {"by": "custom", "origin": "as heard", "note": "not the composer's"}
    return row | more


def test_an_ossia_stands_above_the_staff_over_all_its_bars(tmp_path: Path) -> None:
    where = place(1, to={"bar": 2})
    other = mei(
        "a=g5/1", "b=a5/1", signs={1: '<slur startid="#a" endid="#b"/><fing startid="#a">2</fing>'}
    )
    edition = small(
        tmp_path,
        mei(("c5/1", "c4/1"), ("d5/1", "d4/1"), ("e5/1", "e4/1")),
        [ossia(place=where, label="ossia")],
        music={"other": other},
    )
    assert told(edition.measure(1)) == (
        "ossia{oStaff{supplied{g5/1}} c5/1} c4/1"
        " supplied{slur(g5-a5) fing 2(g5)} supplied{dir ossia(g5)}"
    )
    assert told(edition.measure(2)) == "ossia{oStaff{supplied{a5/1}} d5/1} d4/1"
    assert told(edition.measure(3)) == "e5/1 e4/1"
    in_order(edition)


def test_a_tradition_s_note_is_its_label_where_it_has_none(tmp_path: Path) -> None:
    edition = small(tmp_path, mei("c5/1"), [ossia("tradition")], music={"other": mei("g5/1")})
    (words,) = marks(edition, "dir")
    assert words.text == "not the composer's"
    assert words.get("type") == "layer-tradition label"
    (other,) = marks(edition, "oStaff")
    assert other.get("class") == "#layer-tradition"
    in_order(edition)


def test_signs_of_an_ossia_at_a_beat_hang_on_its_notes(tmp_path: Path) -> None:
    other = mei(
        "g5/2 a5/2",
        signs={1: '<dynam tstamp="3">p</dynam><hairpin form="cres" tstamp="1" tstamp2="0m+3"/>'},
    )
    edition = small(tmp_path, mei("c5/1"), [ossia()], music={"other": other})
    assert told(edition.measure(1)).endswith("supplied{dynam p(a5) hairpin(g5-a5)}")
    in_order(edition)


def test_two_alternatives_in_one_bar_the_first_is_drawn(tmp_path: Path) -> None:
    rows = [ossia(), ossia("tradition", "o2", music={"file": "music/second.mei"})]
    edition = small(
        tmp_path,
        mei("c5/1"),
        rows,
        music={"other": mei("g5/1"), "second": mei("b5/1")},
    )
    assert [o.get("n") for o in marks(edition, "oStaff")] == ["1", "101"]
    in_order(edition)


def test_an_ossia_in_the_base_text_is_left_and_joined(tmp_path: Path) -> None:
    base = mei("c5/1").replace(b'<staff n="1">', b'<ossia><oStaff n="1"><layer n="1">'
        b'<note dur="1" pname="b" oct="5"/></layer></oStaff><staff n="1">', 1)  # fmt: skip
    base = base.replace(b"</staff>", b"</staff></ossia>", 1)
    edition = small(tmp_path, base, [ossia()], music={"other": mei("g5/1")})
    assert told(edition.measure(1)) == "ossia{oStaff{b5/1} oStaff{supplied{g5/1}} c5/1}"
    in_order(edition)


def test_an_ossia_of_a_part_of_a_bar_waits_in_silence(tmp_path: Path) -> None:
    edition = small(
        tmp_path,
        mei("c5/4 d5/4 e5/4 f5/4"),
        [ossia(place=place(1, 2, to={"note": 3}))],
        music={"other": mei("g5/4 a5/4")},
    )
    assert told(edition.measure(1)).startswith("ossia{oStaff{supplied{s/4 g5/4 a5/4}}")
    in_order(edition)


def test_a_remark_leaves_the_music_alone(tmp_path: Path) -> None:
    row: Row = {"id": "m1", "kind": "remark", "place": place(1, 2)}
    edition = small(tmp_path, mei("c5/2 d5/2"), [row])
    assert told(edition.measure(1)) == "c5/2 d5/2"
    (annot,) = annots(edition)
    assert annot.get("plist") == "#m1-s1-v1-note2"
    in_order(edition)


@pytest.mark.parametrize("status", ["proposed", "superseded"])
def test_what_is_not_in_force_stands_in_its_annot_only(tmp_path: Path, status: str) -> None:
    rows = [fingering("1, 2", status=status) | {"id": "f0"}, fingering("2, 3")]
    if status == "superseded":
        rows[0]["superseded_by"] = "f1"
    edition = small(tmp_path, mei("c5/2 d5/2"), rows)
    assert told(edition.measure(1)) == "c5/2 d5/2 supplied{fing 2(c5) fing 3(d5)}"
    annot = next(a for a in edition.root.iter(tag("annot")) if a.get(XML_ID) == "decision-f0")
    assert annot.get("type") == f"fingering {status}"
    assert annot.get("corresp") == ("#decision-f1" if status == "superseded" else None)
    in_order(edition)


def test_two_decisions_on_one_sign_are_told_apart(tmp_path: Path) -> None:
    rows = [bowing(divide_after=[2]), bowing(divide_after=[1]) | {"id": "b2", "by": "custom"}]
    edition = small(tmp_path, mei(NOTES, signs=SLUR), rows)
    (slur,) = edition.root.iter(tag("slur"))
    assert slur.get("corresp") == "#decision-b1 #decision-b2"
    assert slur.get("class") == "#layer-editor #layer-tradition"
    assert slur.get("resp") == "#agent-editor #agent-custom"
    in_order(edition)


def test_the_annot_says_all_that_the_record_says(tmp_path: Path) -> None:
    row: Row = {
        "id": "m1",
        "kind": "remark",
        "place": place(1),
        "reason": {"en": "An English reason.", "de": "Ein deutscher Grund."},
        "evidence": {
            "witnesses": ["T"],
            "literature": [{"cite": "A book", "at": "p. 7"}],
            "letters": [
                {"sender": "X", "recipient": "Y", "date": "1 May 1850", "says": "Play it so."}
            ],
        },
    }
    edition = small(tmp_path, mei("c5/1"), [row])
    (annot,) = annots(edition)
    (letter,) = annot.iter(tag("author"))
    assert annot.get("source") == "#witness-T"
    assert " ".join(" ".join(map(str, annot.itertext())).split()) == (
        "An English reason. Ein deutscher Grund. 2026-01-31 A book p. 7 X Y 1 May 1850 Play it so."
    )
    assert letter.text == "X"
    assert etree.tostring(annot).count(b'xml:lang="de"') == 1
    in_order(edition)
