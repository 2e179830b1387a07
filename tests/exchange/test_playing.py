"""What a string player reads: digits, strings, harmonics, bow signs, as MusicXML 4.0 has them."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.exchange.exchanged import all_of, compared, exchanged_edition, read_back, tree
from tests.exchange.musicxml_schema import assert_valid_musicxml
from tests.layers.letters import mei
from tests.layers.small_edition import Row, place, small

BAR = "a=c5/4 b=d5/4 c=e5/4 d=f5/4"


def fingering(*alternatives: tuple[str, str], printed: list[str] | None = None) -> Row:
    return {
        "id": "hand",
        "kind": "fingering",
        "place": place(1),
        "composer_fingering": "none",
        "alternatives": [{"name": name, "fingers": fingers} for name, fingers in alternatives],
    } | ({"printed": printed} if printed else {})


def test_digits_of_the_text_stay_as_they_are(tmp_path: Path) -> None:
    signs = '<fing startid="#a" place="above">2</fing><fing startid="#b" place="below">0</fing>' \
            '<fing startid="#c">2–3</fing><fing startid="#d">T</fing>'  # fmt: skip
    part = exchanged_edition(tmp_path, mei(BAR, signs={1: signs}))
    assert_valid_musicxml(part.musicxml)
    assert all_of(part, "technical") == [
        '<technical><fingering placement="above">2</fingering></technical>',
        '<technical><fingering placement="below">0</fingering></technical>',
        "<technical><fingering>2</fingering>"
        '<fingering substitution="yes">3</fingering></technical>',
        "<technical><thumb-position/></technical>",
    ]
    layered = small(tmp_path / "again", mei(BAR, signs={1: signs})).layered
    assert compared(layered, tmp_path).differences == ()


def test_the_second_alternative_is_below_and_alternate(tmp_path: Path) -> None:
    record = fingering(("low", "1, 2, 3, 4"), ("high", "., 1, ., ."), printed=["low", "high"])
    part = exchanged_edition(tmp_path, mei(BAR), [record])
    second = tree(part).findall(".//note")[1]
    assert [
        (one.text, one.get("placement"), one.get("alternate"))
        for one in second.iterfind("notations/technical/fingering")
    ] == [("2", "above", None), ("1", "below", "yes")]


def test_each_digit_stands_on_its_note_of_a_double_stop(tmp_path: Path) -> None:
    record = fingering(("only", "[1 on D, 3 on A]"))
    part = exchanged_edition(tmp_path, mei("e4+c5/1"), [record])
    assert [
        (note.findtext("pitch/step"), note.findtext(".//fingering"), note.findtext(".//string"))
        for note in tree(part).iterfind(".//note")
    ] == [("E", "1", "3"), ("C", "3", "2")]


def test_a_string_is_numbered_from_the_highest(tmp_path: Path) -> None:
    record = fingering(("only", "1 on G, 2, 3 on D, 1 on E"))
    part = exchanged_edition(tmp_path, mei(BAR), [record])
    assert all_of(part, "string") == [
        '<string placement="above">4</string>',
        '<string placement="above">3</string>',
        '<string placement="above">1</string>',
    ]
    assert all_of(part, "words") == []
    written, problems = read_back(part, tmp_path)
    assert problems == ()
    assert [m.content for m in written.markings if m.kind == "dir"] == ["IV", "III", "I"]


@pytest.mark.parametrize(
    ("artic", "expected"),
    [
        ("dnbow", "<technical><down-bow/></technical>"),
        ("upbow", "<technical><up-bow/></technical>"),
        ("harm", "<technical><harmonic><natural/></harmonic></technical>"),
        ("open", "<technical><open-string/></technical>"),
        ("snap", "<technical><snap-pizzicato/></technical>"),
        ("lhpizz", "<technical><stopped/></technical>"),
        ("stacc", "<articulations><staccato/></articulations>"),
        ("marc", "<articulations><strong-accent/></articulations>"),
        ("stacciss", "<articulations><staccatissimo/></articulations>"),
        ("spicc", "<articulations><spiccato/></articulations>"),
    ],
)
def test_an_articulation_of_the_text(artic: str, expected: str, tmp_path: Path) -> None:
    note = f'<note dur="1" pname="c" oct="5" artic="{artic}"/>'
    part = exchanged_edition(tmp_path, mei(note))
    assert_valid_musicxml(part.musicxml)
    group = expected[1 : expected.index(">")]
    assert all_of(part, group) == [expected]


def test_a_left_hand_pizzicato_has_its_plus_and_is_told(tmp_path: Path) -> None:
    """MusicXML 4.0 has no element for it; `stopped` is drawn with the same plus."""
    part = exchanged_edition(tmp_path, mei('<note dur="1" pname="c" oct="5" artic="lhpizz"/>'))
    assert all_of(part, "technical") == ["<technical><stopped/></technical>"]
    assert [(one.kind, one.why, one.bars) for one in part.left_out] == [
        ("left-hand pizzicato", "its plus is in the file as `stopped`", ("1",))
    ]


def test_bow_signs_keep_their_side(tmp_path: Path) -> None:
    note = '<note dur="1" pname="c" oct="5"><artic artic="upbow" place="below"/></note>'
    part = exchanged_edition(tmp_path, mei(note))
    assert all_of(part, "up-bow") == ['<up-bow placement="below"/>']


STOPPED = (
    '<chord dur="1"><note pname="a" oct="3"/><note pname="d" oct="4" head.shape="diamond"/></chord>'
)
TOUCHED = '<note dur="1" pname="d" oct="5" head.shape="diamond"/>'


def test_a_stopped_harmonic_says_what_is_stopped_and_what_is_touched(tmp_path: Path) -> None:
    part = exchanged_edition(tmp_path, mei(STOPPED))
    assert [one.text for one in tree(part).iterfind(".//notehead")] == ["diamond"]
    assert all_of(part, "harmonic") == [
        '<harmonic print-object="no"><artificial/><base-pitch/></harmonic>',
        '<harmonic print-object="no"><artificial/><touching-pitch/></harmonic>',
    ]


def test_a_touched_note_is_a_natural_harmonic_without_a_circle(tmp_path: Path) -> None:
    part = exchanged_edition(tmp_path, mei(TOUCHED))
    assert all_of(part, "harmonic") == [
        '<harmonic print-object="no"><natural/><touching-pitch/></harmonic>'
    ]


@pytest.mark.parametrize("music", [STOPPED, TOUCHED])
def test_a_harmonic_comes_back_as_it_was(music: str, tmp_path: Path) -> None:
    layered = small(tmp_path, mei(music)).layered
    assert compared(layered, tmp_path).differences == ()
