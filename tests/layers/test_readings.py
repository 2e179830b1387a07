"""What witnesses have otherwise, woven into the text at the lowest level that holds it."""

from __future__ import annotations

from pathlib import Path

import pytest

from pipeline.layers.extract import canonical_music, extract_text
from pipeline.layers.profile import profile_faults
from pipeline.layers.sheet import parse
from pipeline.layers.witness import extract_witness
from pipeline.score.mei_names import tag
from tests.layers.letters import mei, told
from tests.layers.small_edition import Small, assert_valid, place, reading, small


def in_order(edition: Small) -> None:
    """Assert what holds of every layered file."""
    assert profile_faults(edition.layered) == ()
    assert canonical_music(extract_text(edition.layered)[1]) == canonical_music(edition.base())
    assert_valid(edition.layered)


def as_witness(edition: Small, siglum: str, bar: int = 1) -> str:
    """Return a bar of what is taken out again for a witness, in letters."""
    root = parse(extract_witness(edition.layered, siglum)[1])
    return told(next(m for m in root.iter(tag("measure")) if m.get("n") == str(bar)))


def in_bars(edition: Small) -> str:
    """Return the whole layered music in letters, bars between bar lines."""
    return told(next(edition.root.iter(tag("section"))))


@pytest.mark.parametrize(
    ("text", "other", "woven"),
    [
        (
            "c5/4 d5/4 e5/4 f5/4",
            "c5/4 d#5/4 e5/4 f5/4",
            "c5/4 app{lem{d5/4} W{d#5/4}} e5/4 f5/4",
        ),
        (  # one note within a beam
            "[c5/8 d5/8 e5/8 f5/8] g5/2",
            "[c5/8 d5/8 b4/8 f5/8] g5/2",
            "[c5/8 d5/8 app{lem{e5/8} W{b4/8}} f5/8] g5/2",
        ),
        (  # a longer note for two of a beam: the beam as a whole
            "[c5/8 d5/8 e5/8 f5/8] g5/2",
            "[c5/8 d5/8] e5/4 g5/2",
            "app{lem{[c5/8 d5/8 e5/8 f5/8]} W{[c5/8 d5/8] e5/4}} g5/2",
        ),
        (  # beamed otherwise, with one note that differs: beams carry no meaning
            "[c5/8 d5/8 e5/8 f5/8] g5/2",
            "[c5/8 d5/8] [e5/8 a5/8] g5/2",
            "[c5/8 d5/8 e5/8 app{lem{f5/8} W{a5/8}}] g5/2",
        ),
        (  # a note within a triplet
            "(c5/4 d5/4 e5/4) g5/2",
            "(c5/4 b4/4 e5/4) g5/2",
            "(c5/4 app{lem{d5/4} W{b4/4}} e5/4) g5/2",
        ),
        (  # a triplet for two notes
            "c5/4 d5/4 g5/2",
            "(c5/4 d5/4 e5/4) g5/2",
            "app{lem{c5/4 d5/4} W{(c5/4 d5/4 e5/4)}} g5/2",
        ),
        (  # a note of a chord: the chord is one event
            "c4+e4/2 g5/2",
            "c4+f4/2 g5/2",
            "app{lem{c4+e4/2} W{c4+f4/2}} g5/2",
        ),
        (  # grace notes belong to the note they lead to
            "c5/2 ~b4/8 c5/2",
            "c5/2 c5/2",
            "c5/2 app{lem{~b4/8 c5/2} W{c5/2}}",
        ),
        (  # a note that is missing leaves the bar short
            "c5/4 d5/4 e5/4 f5/4",
            "c5/4 d5/4 f5/4",
            "c5/4 d5/4 app{lem{e5/4} W{}} f5/4",
        ),
        (  # a note too many stands with its neighbour
            "c5/4 d5/4 f5/4",
            "c5/4 d5/4 e5/4 f5/4",
            "c5/4 d5/4 app{lem{f5/4} W{e5/4 f5/4}}",
        ),
        (  # a second voice that the text lacks
            "c5/2 d5/2",
            "c5/2 d5/2 // c4/2 b3/2",
            "c5/2 d5/2 app{lem{} W{c4/2 b3/2}}",
        ),
        (  # in the second voice only
            "c5/2 d5/2 // c4/2 b3/2",
            "c5/2 d5/2 // c4/2 a3/2",
            "c5/2 d5/2 c4/2 app{lem{b3/2} W{a3/2}}",
        ),
    ],
)
def test_one_witness(tmp_path: Path, text: str, other: str, woven: str) -> None:
    edition = small(
        tmp_path, mei(text), [reading("r1", place(1), "W")], witnesses={"W": mei(other)}
    )
    assert told(edition.measure(1)) == woven
    assert _unbeamed(as_witness(edition, "W")) == _unbeamed(other.replace(" //", ""))
    in_order(edition)


def _unbeamed(music: str) -> str:
    """Beams carry no meaning: a note that does not differ keeps those of the text."""
    return music.replace("[", "").replace("]", "")


def test_witnesses_that_agree_share_one_reading(tmp_path: Path) -> None:
    other = mei("c5/4 e5/4 e5/4 f5/4")
    edition = small(
        tmp_path,
        mei("c5/4 d5/4 e5/4 f5/4"),
        [reading("r1", place(1), "A", "B")],
        witnesses={"A": other, "B": other},
    )
    assert told(edition.measure(1)) == "c5/4 app{lem{d5/4} A+B{e5/4}} e5/4 f5/4"
    in_order(edition)


def test_overlapping_readings_of_two_witnesses_become_one_segment(tmp_path: Path) -> None:
    edition = small(
        tmp_path,
        mei("c5/4 d5/4 e5/4 f5/4"),
        [reading("r1", place(1), "A"), reading("r2", place(1), "B")],
        witnesses={"A": mei("c5/4 d5/2 f5/4"), "B": mei("c5/4 d5/4 a5/2")},
    )
    assert told(edition.measure(1)) == ("c5/4 app{lem{d5/4 e5/4 f5/4} A{d5/2 f5/4} B{d5/4 a5/2}}")
    assert as_witness(edition, "A") == "c5/4 d5/2 f5/4"
    assert as_witness(edition, "B") == "c5/4 d5/4 a5/2"
    in_order(edition)


def test_several_records_in_one_bar_stay_apart(tmp_path: Path) -> None:
    edition = small(
        tmp_path,
        mei("c5/4 d5/4 e5/4 f5/4"),
        [reading("r1", place(1, 1), "W"), reading("r2", place(1, 4), "W")],
        witnesses={"W": mei("b4/4 d5/4 e5/4 g5/4")},
    )
    assert told(edition.measure(1)) == "app{lem{c5/4} W{b4/4}} d5/4 e5/4 app{lem{f5/4} W{g5/4}}"
    decided = [app.get("corresp") for app in edition.measure(1).iter(tag("app"))]
    assert decided == ["#decision-r1", "#decision-r2"]
    in_order(edition)


def test_a_slur_over_the_bar_line_has_its_own_copy_on_the_witness_s_note(tmp_path: Path) -> None:
    text = mei("a=c5/1", "b=d5/2 e5/2", signs={1: '<slur xml:id="s" startid="#a" endid="#b"/>'})
    other = mei("c5/1", "wb=b4/2 e5/2", signs={1: '<slur startid="#m1-s1-v1-note1" endid="#wb"/>'})
    edition = small(tmp_path, text, [reading("r1", place(2, 1), "W")], witnesses={"W": other})
    assert told(edition.measure(1)) == "c5/1 app{lem{slur(c5-d5)} W{slur(c5-b4)}}"
    assert told(edition.measure(2)) == "app{lem{d5/2} W{b4/2}} e5/2"
    assert as_witness(edition, "W") == "c5/1 slur(c5-b4)"
    in_order(edition)


@pytest.mark.parametrize(
    ("text_sign", "other_sign", "woven"),
    [
        ('<dynam startid="#a">f</dynam>', "", "app{lem{dynam f(c5)} W{}}"),
        ("", '<dynam startid="#a">f</dynam>', "app{lem{} W{dynam f(c5)}}"),
        (
            '<dynam startid="#a">f</dynam>',
            '<dynam startid="#a">p</dynam>',
            "app{lem{dynam f(c5)} W{dynam p(c5)}}",
        ),
        (
            '<slur startid="#a" endid="#d"/>',
            '<slur startid="#a" endid="#b"/><slur startid="#c" endid="#d"/>',
            "app{lem{slur(c5-f5)} W{slur(c5-d5) slur(e5-f5)}}",
        ),
        (
            '<slur startid="#a" endid="#b"/><slur startid="#c" endid="#d"/>',
            '<slur startid="#a" endid="#d"/>',
            "app{lem{slur(c5-d5)} W{slur(c5-f5)}} app{lem{slur(e5-f5)} W{}}",
        ),
    ],
)
def test_signs(tmp_path: Path, text_sign: str, other_sign: str, woven: str) -> None:
    notes = "a=c5/4 b=d5/4 c=e5/4 d=f5/4"
    edition = small(
        tmp_path,
        mei(notes, signs={1: text_sign}),
        [reading("r1", place(1), "W")],
        witnesses={"W": mei(notes, signs={1: other_sign})},
    )
    assert told(edition.measure(1)) == f"c5/4 d5/4 e5/4 f5/4 {woven}"
    in_order(edition)


def test_a_bar_that_only_a_witness_without_an_encoding_has(tmp_path: Path) -> None:
    row = reading("r1", place(1, to={"bar": 2}), "W") | {
        "readings": [{"witnesses": ["T"], "music": {"file": "music/more.mei"}}]
    }
    edition = small(
        tmp_path, mei("c5/1", "d5/1"), [row], music={"more": mei("c5/1", "e5/1", "d5/1")}
    )
    # The bars of a record's own music stand against those of its place in order.
    assert in_bars(edition) == "|c5/1| |app{lem{d5/1} T{e5/1}}| app{lem{} T{|d5/1|}}"
    in_order(edition)


def test_what_a_record_gives_for_a_witness_yields_to_its_encoding(tmp_path: Path) -> None:
    row = reading("r1", place(1), "W") | {
        "readings": [{"witnesses": ["W"], "music": {"file": "music/said.mei"}}]
    }
    edition = small(
        tmp_path, mei("c5/1"), [row], music={"said": mei("d5/1")}, witnesses={"W": mei("d#5/1")}
    )
    assert told(edition.measure(1)) == "app{lem{c5/1} W{d#5/1}}"
    assert edition.root.find(f".//{tag('app')}").get("corresp") == "#decision-r1"
    in_order(edition)


def test_a_later_hand_is_named_and_is_in_what_the_encoding_has(tmp_path: Path) -> None:
    row = reading("r1", place(1), "W") | {"readings": [{"witnesses": ["W"], "hand": "later"}]}
    edition = small(tmp_path, mei("c5/1"), [row], witnesses={"W": mei("d5/1")})
    assert told(edition.measure(1)) == "app{lem{c5/1} W*{d5/1}}"
    assert as_witness(edition, "W") == "d5/1"
    in_order(edition)


def test_a_later_hand_that_the_encoding_leaves_out_is_not_taken_out(tmp_path: Path) -> None:
    row = reading("r1", place(1), "W") | {
        "readings": [{"witnesses": ["W"], "hand": "later", "music": {"file": "music/added.mei"}}]
    }
    edition = small(
        tmp_path, mei("c5/1"), [row], music={"added": mei("d5/1")}, witnesses={"W": mei("c5/1")}
    )
    assert told(edition.measure(1)) == "app{lem{c5/1} W*{d5/1}}"
    assert as_witness(edition, "W") == "c5/1"
    in_order(edition)


def test_an_emendation_is_a_choice_with_the_editor_s_text_first(tmp_path: Path) -> None:
    row = {
        "id": "e1",
        "kind": "emendation",
        "place": place(1),
        "certainty": "medium",
        "readings": [{"witnesses": ["A"]}, {"witnesses": ["B"]}],
    }
    edition = small(
        tmp_path,
        mei("c5/4 d5/4 e5/2"),
        [row],
        witnesses={"A": mei("c5/4 b4/4 e5/2"), "B": mei("c5/4 a4/4 e5/2")},
    )
    assert told(edition.measure(1)) == "c5/4 choice{corr{d5/4} A{b4/4} B{a4/4}} e5/2"
    (corr,) = edition.measure(1).iter(tag("corr"))
    assert (corr.get("cert"), corr.get("resp")) == ("medium", "#agent-editor")
    assert corr.get("class") == "#layer-editor"
    in_order(edition)


def test_an_emendation_that_is_only_described_tags_the_notes(tmp_path: Path) -> None:
    row = {
        "id": "e1",
        "kind": "emendation",
        "place": place(1, 2),
        "readings": [{"witnesses": ["T"], "says": "a blot"}],
    }
    edition = small(tmp_path, mei("c5/2 d5/2"), [row])
    (tagged,) = [n for n in edition.measure(1).iter(tag("note")) if n.get("corresp")]
    assert tagged.get("pname") == "d"
    assert tagged.get("class") == "#layer-editor"
    in_order(edition)


def test_notes_under_another_key_signature_keep_their_pitch(tmp_path: Path) -> None:
    edition = small(
        tmp_path,
        mei("f5/2 g5/2", key="1s"),
        [reading("r1", place(1), "W")],
        witnesses={"W": mei("f#5/2 f5/2", key="0")},
    )
    assert as_witness(edition, "W") == "f#5/2 f5/2"
    copied = [n.get("accid.ges") for n in edition.root.iter(tag("note")) if n.get("pname") == "f"]
    assert "s" in copied  # the second F of the copy: sharp by the sign before it
    in_order(edition)


def test_under_an_octave_sign_the_witness_s_own_notes_are_written(tmp_path: Path) -> None:
    sign = '<octave startid="#a" endid="#b" dis="8" dis.place="above"/>'
    edition = small(
        tmp_path,
        mei("a=c6/2 b=d6/2"),
        [reading("r1", place(1), "W")],
        witnesses={"W": mei("a=c5/2 b=d5/2", signs={1: sign})},
    )
    assert as_witness(edition, "W") == "c5/2 d5/2 octave(c5-d5)"
    in_order(edition)


def test_mark_up_of_the_base_text_is_kept_and_wrapped_as_a_whole(tmp_path: Path) -> None:
    text = mei("c5/4 <app> <lem> d5/4 </lem> <rdg> b4/4 </rdg> </app> e5/2")
    edition = small(
        tmp_path, text, [reading("r1", place(1), "W")], witnesses={"W": mei("c5/4 a4/4 e5/2")}
    )
    assert told(edition.measure(1)) == ("c5/4 app{lem{app{lem{d5/4} {b4/4}}} W{a4/4}} e5/2")
    in_order(edition)
