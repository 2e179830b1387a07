"""Whose each mark is in the file, which layers it has, and ossias as small staves of the part."""

from __future__ import annotations

from pathlib import Path

import pytest

from pipeline.edition.layer import Layer
from pipeline.exchange.header import Heading
from tests.exchange.exchanged import (
    all_of,
    exchanged,
    exchanged_edition,
    musicxml,
    read_back,
    tree,
    untold,
)
from tests.exchange.musicxml_schema import assert_valid_musicxml
from tests.layers.letters import mei
from tests.layers.small_edition import Row, place, reading, small

BAR = "a=c5/4 b=d5/4 c=e5/4 d=f5/4"
HAND: Row = {
    "id": "hand",
    "kind": "fingering",
    "place": place(1),
    "composer_fingering": "kept",
    "alternatives": [{"name": "only", "fingers": "1, 2, ., 4"}],
}
BOW: Row = {
    "id": "bow",
    "kind": "bowing",
    "place": place(1),
    "alternatives": [{"name": "whole", "join": True, "signs": {1: "down"}}],
}
OSSIA: Row = {
    "id": "higher",
    "kind": "ossia",
    "place": place(2),
    "music": {"file": "music/alt.mei"},
    "label": "Ossia",
    "sounds": "different",
}
TRADITION: Row = {key: value for key, value in OSSIA.items() if key != "sounds"} | {
    "id": "played",
    "kind": "tradition",
    "label": "As played",
    "by": "custom",
    "origin": "A school",
    "note": "Not by the composer",
}
ALT = mei("e6/2 f6/2", first=2, signs={2: '<dynam tstamp="1">p</dynam>'})


def test_a_mark_says_its_layer_and_its_record(tmp_path: Path) -> None:
    part = exchanged_edition(
        tmp_path, mei(BAR, signs={1: '<fing xml:id="own" startid="#a">1</fing>'}), [HAND, BOW]
    )
    assert_valid_musicxml(part.musicxml)
    first, second, *_ = tree(part).findall(".//note")
    assert first.findtext("notations/level") == (
        "layer-editor record-bow layer-composer record-hand"
    )
    assert [one.get("id") for one in first.iterfind("notations/technical")] == [
        "layer-editor.mark-bow-2",
        "layer-composer.own",
    ]
    assert second.findtext("notations/level") == "layer-editor record-hand"


def test_marks_of_the_editor_look_as_the_house_style_asks(tmp_path: Path) -> None:
    """Brackets by the standard's own means: `level`; the editor's slur is dashed."""
    part = exchanged_edition(tmp_path, mei(BAR), [HAND, BOW])
    second = tree(part).findall(".//note")[1]
    assert [musicxml(one) for one in second.iterfind("notations/level")] == [
        '<level bracket="yes">layer-editor record-hand</level>'
    ]
    assert [one.get("line-type") for one in tree(part).iterfind(".//slur")] == ["dashed", None]


def test_the_text_alone_names_no_record(tmp_path: Path) -> None:
    part = exchanged_edition(tmp_path, mei(BAR), [HAND, BOW], layers={Layer.TEXT})
    assert all_of(part, "level") == []
    assert all_of(part, "technical") == []
    assert all_of(part, "slur") == []


def test_a_slur_that_is_divided_stays_the_texts(tmp_path: Path) -> None:
    divided = BOW | {
        "alternatives": [{"name": "two", "divide_after": [2], "signs": {1: "down", 3: "up"}}]
    }
    signs = {1: '<slur xml:id="long" startid="#a" endid="#d"/>'}
    part = exchanged_edition(tmp_path, mei(BAR, signs=signs), [divided])
    begins, ends = tree(part).findall(".//slur")
    assert (begins.get("id"), begins.get("line-type")) == ("layer-text.long", None)
    assert (begins.get("type"), ends.get("type")) == ("start", "stop")
    assert len(all_of(part, "up-bow")) == len(all_of(part, "down-bow")) == 1


def test_what_a_player_leaves_out_is_left_out(tmp_path: Path) -> None:
    layered = small(tmp_path, mei(BAR, "c5/1"), [HAND, BOW, OSSIA], music={"alt": ALT}).layered
    part = exchanged(layered, without={"hand", "higher"})
    assert all_of(part, "fingering") == []
    assert all_of(part, "staves") == []
    assert len(all_of(part, "down-bow")) == 1


def test_an_ossia_is_a_small_staff_that_is_hidden_elsewhere(tmp_path: Path) -> None:
    part = exchanged_edition(tmp_path, mei("c5/1", "d5/1", "e5/1"), [OSSIA], music={"alt": ALT})
    assert_valid_musicxml(part.musicxml)
    details = [
        [musicxml(one) for one in measure.iterfind("attributes/staff-details")]
        for measure in tree(part).iterfind(".//measure")
    ]
    hidden = '<staff-details number="1" print-object="no"><staff-type>ossia</staff-type>'
    shown = hidden.replace('"no"', '"yes"') + "<staff-size>80</staff-size></staff-details>"
    assert details == [[f"{hidden}</staff-details>"], [shown], [f"{hidden}</staff-details>"]]
    second = tree(part).findall(".//measure")[1]
    upper = [note for note in second.iterfind("note") if note.findtext("staff") == "1"]
    assert [note.findtext("pitch/step") for note in upper] == ["E", "F"]
    assert {note.findtext("level") for note in upper} == {"layer-editor record-higher"}
    assert [musicxml(one) for one in second.iterfind("direction/direction-type/words")] == [
        '<words font-style="normal">Ossia</words>'
    ]
    assert [one.findtext("staff") for one in second.iterfind("direction")] == ["1", "1"]
    lower = [note for note in second.iterfind("note") if note.findtext("staff") == "2"]
    assert [note.findtext("pitch/step") for note in lower] == ["D"]


def test_the_slur_of_an_ossia_does_not_end_that_of_the_text(tmp_path: Path) -> None:
    alternative = mei("x=e6/2 y=f6/2", first=2, signs={2: '<slur startid="#x" endid="#y"/>'})
    base = mei(BAR, "p=c5/2 q=d5/2", signs={2: '<slur startid="#p" endid="#q"/>'})
    part = exchanged_edition(tmp_path, base, [OSSIA], music={"alt": alternative})
    slurs = tree(part).findall(".//slur")
    assert sorted(one.get("number", "") for one in slurs) == ["1", "1", "2", "2"]
    assert {one.get("line-type") for one in slurs} == {None}, "the small staff tells whose it is"


def test_beside_an_ossia_the_part_comes_back_as_it_was(tmp_path: Path) -> None:
    edition = small(tmp_path, mei(BAR, "c5/1"), [HAND, BOW, OSSIA], music={"alt": ALT})
    part = exchanged(edition.layered)
    written, problems = read_back(part, tmp_path)
    assert problems == ()
    assert [e.pitches for e in written.events if e.heads] == [
        e.pitches for e in edition.score.movements[0].passage.events
    ]


def test_a_second_alternative_over_the_same_bar_is_told(tmp_path: Path) -> None:
    layered = small(
        tmp_path, mei(BAR, "c5/1"), [OSSIA, OSSIA | {"id": "other"}], music={"alt": ALT}
    ).layered
    part = exchanged(layered)
    assert {(one.kind, one.bars) for one in part.left_out} == {
        ("second alternative over the same bar", ("2",)),
        ("sign of a second alternative over the same bar", ("2",)),
    }
    assert untold(layered, part) == set()


def test_a_tradition_says_at_its_first_mark_that_it_is_not_the_composers(tmp_path: Path) -> None:
    layered = small(tmp_path, mei(BAR, "c5/1"), [TRADITION], music={"alt": ALT}).layered
    heading = Heading(footnotes={"played": "As played: not the composer’s.", "hand": "Never."})
    part = exchanged(layered, heading=heading)
    assert_valid_musicxml(part.musicxml)
    assert all_of(part, "footnote") == ["<footnote>As played: not the composer’s.</footnote>"]
    bearer = tree(part).find(".//footnote/..")
    assert bearer is not None
    assert "layer-tradition record-played" in (bearer.findtext("level") or "")


def test_the_head_of_the_file_describes_layers_and_the_records_that_marks_name(
    tmp_path: Path,
) -> None:
    layered = small(tmp_path, mei(BAR), [HAND]).layered
    heading = Heading(
        title="A piece",
        composer="Somebody",
        editors=("An Editor",),
        date="2026-01-31",
        layers={Layer.TEXT: "text", Layer.EDITOR: "editor's markings", Layer.WITNESS: "sources"},
        records={"hand": "1: fingering", "elsewhere": "2: remark"},
    )
    part = exchanged(layered, {Layer.TEXT, Layer.EDITOR}, heading=heading)
    assert_valid_musicxml(part.musicxml)
    assert all_of(part, "miscellaneous-field") == [
        '<miscellaneous-field name="layer-text">text</miscellaneous-field>',
        '<miscellaneous-field name="layer-editor">editor\'s markings</miscellaneous-field>',
        '<miscellaneous-field name="record-hand">1: fingering</miscellaneous-field>',
    ]
    assert all_of(part, "creator") == [
        '<creator type="composer">Somebody</creator>',
        '<creator type="editor">An Editor</creator>',
    ]
    assert all_of(part, "encoding-date") == ["<encoding-date>2026-01-31</encoding-date>"]


def test_movements_follow_each_other_under_their_titles(tmp_path: Path) -> None:
    layered = small(tmp_path, [mei(BAR), mei("g5/1", key="2f")]).layered
    part = exchanged(layered)
    assert_valid_musicxml(part.musicxml)
    first, second = tree(part).findall(".//measure")
    assert [first.find("print"), musicxml(second[0])] == [None, '<print new-page="yes"/>']
    assert second.findtext("attributes/key/fifths") == "-2"
    assert [one.text for one in tree(part).iterfind(".//words")] == ["Movement 1", "Movement 2"]
    alone = exchanged(layered, movements={2})
    assert tree(alone).findtext("movement-title") == "Movement 2"
    assert all_of(alone, "words") == []


def test_a_tempo_over_the_top_staff_is_for_every_part(tmp_path: Path) -> None:
    layered = small(
        tmp_path,
        mei(
            ("c5/1", "c4/1"),
            ("c5/1", "c4/1"),
            signs={
                1: '<tempo staff="1" tstamp="1">Allegro</tempo><dir staff="1" tstamp="1">solo</dir>'
            },
        ),
    ).layered
    part = exchanged(layered, staff=2)
    assert [one.text for one in tree(part).iterfind(".//words")] == ["Allegro"]
    assert [one.text for one in tree(part).iterfind(".//octave")] == ["4", "4"]


def test_the_same_edition_gives_the_same_bytes(tmp_path: Path) -> None:
    layered = small(tmp_path, mei(BAR, "c5/1"), [HAND, BOW, OSSIA], music={"alt": ALT}).layered
    assert exchanged(layered).musicxml == exchanged(layered).musicxml


def test_a_note_on_which_witnesses_differ_is_the_texts_and_names_the_record(tmp_path: Path) -> None:
    layered = small(
        tmp_path, mei(BAR), [reading("r", place(1, 2), "W")], {"W": mei("c5/4 g5/4 e5/4 f5/4")}
    ).layered
    part = exchanged(layered)
    steps = [one.text for one in tree(part).iterfind(".//step")]
    assert steps == ["C", "D", "E", "F"]
    assert [one.findtext("level") for one in tree(part).iterfind(".//note")] == [
        None, "layer-text record-r", None, None,
    ]  # fmt: skip


@pytest.mark.parametrize("layer", [Layer.EDITOR, Layer.COMPOSER])
def test_marks_of_a_layer_are_those_of_the_layered_file(layer: Layer, tmp_path: Path) -> None:
    layered = small(
        tmp_path,
        mei(BAR, "c5/1", signs={1: '<fing xml:id="own" startid="#a">1</fing>'}),
        [HAND, BOW],
    ).layered
    part = exchanged(layered, {Layer.TEXT, layer})
    ids = {
        one.get("id", "")
        for one in tree(part).iter("technical", "slur", "direction")
        if one.get("id", "").startswith(f"layer-{layer}.")
    }
    expected = {
        Layer.EDITOR: {"mark-bow-2", "mark-bow-4", "mark-hand-2", "mark-hand-3"},
        Layer.COMPOSER: {"own"},
    }
    assert {one.partition(".")[2] for one in ids} == expected[layer]
