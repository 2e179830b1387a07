"""Notes, rests, chords, voices, tuplets, beams, ties as MusicXML 4.0 has them."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.exchange.exchanged import all_of, compared, exchanged_edition, musicxml, tree
from tests.exchange.musicxml_schema import assert_valid_musicxml
from tests.layers.letters import mei
from tests.layers.small_edition import small


def test_a_note_is_its_pitch_value_and_accidental(tmp_path: Path) -> None:
    part = exchanged_edition(tmp_path, mei("f#5/4. r/8 f5/2"))
    assert all_of(part, "note") == [
        "<note><pitch><step>F</step><alter>1</alter><octave>5</octave></pitch>"
        "<duration>3</duration><voice>1</voice><type>quarter</type><dot/>"
        "<accidental>sharp</accidental></note>",
        "<note><rest/><duration>1</duration><voice>1</voice><type>eighth</type></note>",
        "<note><pitch><step>F</step><alter>1</alter><octave>5</octave></pitch>"
        "<duration>4</duration><voice>1</voice><type>half</type></note>",
    ]


def test_a_chord_and_a_second_voice(tmp_path: Path) -> None:
    part = exchanged_edition(tmp_path, mei("c4+e4/1 // r/2 g5/2"))
    found = tree(part).find(".//measure")
    assert found is not None
    assert [one.tag for one in found][1:] == ["note", "note", "backup", "note", "note"]
    assert all_of(part, "backup") == ["<backup><duration>4</duration></backup>"]
    notes = tree(part).findall(".//note")
    assert [note.find("chord") is not None for note in notes] == [False, True, False, False]
    assert [note.findtext("voice") for note in notes] == ["1", "1", "2", "2"]


def test_a_space_is_no_rest(tmp_path: Path) -> None:
    part = exchanged_edition(tmp_path, mei("s/2 c5/2"))
    assert all_of(part, "forward") == ["<forward><duration>2</duration><voice>1</voice></forward>"]
    assert len(all_of(part, "note")) == 1


def test_the_rest_of_a_bar_lasts_as_long_as_its_meter(tmp_path: Path) -> None:
    part = exchanged_edition(tmp_path, mei("<mRest/>"))
    assert all_of(part, "note") == [
        '<note><rest measure="yes"/><duration>4</duration><voice>1</voice></note>'
    ]


def test_a_triplet_begins_and_ends(tmp_path: Path) -> None:
    part = exchanged_edition(tmp_path, mei("(c5/8 d5/8 e5/8) r/4 r/2"))
    ratio = "<time-modification><actual-notes>3</actual-notes><normal-notes>2</normal-notes>"
    assert all_of(part, "time-modification") == [f"{ratio}</time-modification>"] * 3
    begins, ends = all_of(part, "tuplet")
    assert begins == (
        '<tuplet type="start" number="1" bracket="yes">'
        "<tuplet-actual><tuplet-number>3</tuplet-number></tuplet-actual>"
        "<tuplet-normal><tuplet-number>2</tuplet-number></tuplet-normal></tuplet>"
    )
    assert ends == '<tuplet type="stop" number="1"/>'


def test_a_tuplet_within_a_tuplet_lasts_as_both_ask(tmp_path: Path) -> None:
    """As in the standard's own explanation of nested tuplets; Verovio 6.4 reads the inner alone."""
    inner = "(c5/16 c5/16 c5/16)"
    part = exchanged_edition(tmp_path, mei(f"({inner} d5/8 e5/8) r/4 r/2"))
    ratios = [
        (one.findtext("actual-notes"), one.findtext("normal-notes"))
        for one in tree(part).iterfind(".//time-modification")
    ]
    assert ratios == [("9", "4")] * 3 + [("3", "2")] * 2
    ends = [(one.get("type"), one.get("number")) for one in tree(part).iterfind(".//tuplet")]
    assert ends == [("start", "1"), ("start", "2"), ("stop", "2"), ("stop", "1")]
    assert [n.findtext("duration") for n in tree(part).iterfind(".//note")] == [
        "1", "1", "1", "3", "3", "9", "18",
    ]  # fmt: skip


@pytest.mark.parametrize(
    ("music", "lines"),
    [
        ("[c5/8 d5/8] r/4 r/2", [["begin"], ["end"]]),
        ("[c5/8. d5/16] r/4 r/2", [["begin"], ["end", "backward hook"]]),
        ("[c5/16 d5/8.] r/4 r/2", [["begin", "forward hook"], ["end"]]),
        (
            "[c5/16 d5/16 e5/8] r/4 r/2",
            [["begin", "begin"], ["continue", "end"], ["end"]],
        ),
        ("c5/8 d5/8 r/4 r/2", [[], []]),
    ],
)
def test_beams_are_those_of_the_text(music: str, lines: list[list[str]], tmp_path: Path) -> None:
    part = exchanged_edition(tmp_path, mei(music))
    notes = [note for note in tree(part).iterfind(".//note") if note.find("pitch") is not None]
    assert [[beam.text for beam in note.iterfind("beam")] for note in notes] == lines


def test_grace_notes_have_no_duration_and_keep_their_slash(tmp_path: Path) -> None:
    slashed = '<note grace="unacc" dur="8" pname="b" oct="4"/>'
    part = exchanged_edition(tmp_path, mei(f"~d5/16 c5/2 {slashed} c5/2"))
    assert all_of(part, "grace") == ["<grace/>", '<grace slash="yes"/>']
    graces = [note for note in tree(part).iterfind(".//note") if note.find("grace") is not None]
    assert all(note.find("duration") is None for note in graces)


def test_a_tie_is_heard_and_seen(tmp_path: Path) -> None:
    tied = '<note xml:id="a" dur="2" pname="c" oct="5" tie="i"/>' \
           '<note xml:id="b" dur="2" pname="c" oct="5" tie="t"/>'  # fmt: skip
    part = exchanged_edition(tmp_path, mei(tied))
    assert all_of(part, "tie") == ['<tie type="start"/>', '<tie type="stop"/>']
    assert all_of(part, "tied") == ['<tied type="start"/>', '<tied type="stop"/>']


@pytest.mark.parametrize(
    ("written", "expected"),
    [
        ('<accid accid="n"/>', "<accidental>natural</accidental>"),
        ('<accid accid="s" enclose="paren"/>', '<accidental parentheses="yes">sharp</accidental>'),
        ('<accid accid="x"/>', "<accidental>double-sharp</accidental>"),
        ('<accid accid="f" func="caution"/>', '<accidental cautionary="yes">flat</accidental>'),
        ('<accid accid="ff"/>', "<accidental>flat-flat</accidental>"),
    ],
)
def test_printed_accidentals(written: str, expected: str, tmp_path: Path) -> None:
    note = f'<note dur="1" pname="f" oct="5">{written}</note>'
    assert all_of(exchanged_edition(tmp_path, mei(note)), "accidental") == [expected]


def test_tremolos_of_one_and_of_two_notes(tmp_path: Path) -> None:
    music = (
        '<bTrem unitdur="32"><note dur="2" pname="c" oct="5" stem.mod="3slash"/></bTrem>'
        '<fTrem beams="3"><note dur="2" pname="d" oct="5"/>'
        '<note dur="2" pname="f" oct="5"/></fTrem>'
    )
    part = exchanged_edition(tmp_path, mei(music))
    assert all_of(part, "tremolo") == [
        '<tremolo type="single">3</tremolo>',
        '<tremolo type="start">3</tremolo>',
        '<tremolo type="stop">3</tremolo>',
    ]
    assert [one.text for one in tree(part).iterfind(".//note/duration")] == ["2", "1", "1"]


@pytest.mark.parametrize(
    "definition",
    [
        '<scoreDef keysig="3s"/>',
        '<scoreDef><keySig sig="2f"/></scoreDef>',
        '<staffDef n="1" keysig="1f"/>',
    ],
)
def test_a_key_changes_where_it_changes(definition: str, tmp_path: Path) -> None:
    base = mei("c5/1", "c5/1").replace(b'<measure n="2">', definition.encode() + b'<measure n="2">')
    part = exchanged_edition(tmp_path, base)
    fifths = {"3s": "3", "2f": "-2", "1f": "-1"}[definition.split('"')[-2]]
    second = tree(part).findall(".//measure")[1]
    assert [one.text for one in second.iterfind("attributes/key/fifths")] == [fifths]
    assert len(tree(part).findall(".//attributes/clef")) == 1
    assert len(tree(part).findall(".//attributes/time")) == 1


def test_a_clef_stands_before_the_note_it_is_for(tmp_path: Path) -> None:
    part = exchanged_edition(tmp_path, mei('c5/2 <clef shape="C" line="3"/> c4/2'))
    measure = tree(part).find(".//measure")
    assert measure is not None
    assert [one.tag for one in measure] == ["attributes", "note", "attributes", "note"]
    assert musicxml(measure[2]) == (
        "<attributes><clef><sign>C</sign><line>3</line></clef></attributes>"
    )


def test_an_instrument_that_sounds_an_octave_lower_reads_as_it_is_used_to(tmp_path: Path) -> None:
    base = mei("c4/1").replace(b'<staffDef n="1"', b'<staffDef n="1" trans.semi="-12"')
    layered = small(tmp_path, base).layered
    part = exchanged_edition(tmp_path, base)
    assert all_of(part, "transpose") == [
        "<transpose><diatonic>0</diatonic><chromatic>0</chromatic>"
        "<octave-change>-1</octave-change></transpose>"
    ]
    assert all_of(part, "pitch") == ["<pitch><step>C</step><octave>4</octave></pitch>"]
    assert compared(layered, tmp_path).differences == ()


def test_bar_numbers_are_as_printed_and_an_upbeat_has_none(tmp_path: Path) -> None:
    base = mei("c5/4", "c5/1", "c5/1", first=0).replace(b'n="2"', b'n="1a"')
    measures = tree(exchanged_edition(tmp_path, base)).findall(".//measure")
    assert [(one.get("number"), one.get("implicit")) for one in measures] == [
        ("0", "yes"), ("1", None), ("1a", None),
    ]  # fmt: skip


def test_repeats_and_endings(tmp_path: Path) -> None:
    base = (
        mei("c5/1", "d5/1", "e5/1", "f5/1")
        .replace(b'<measure n="1">', b'<measure n="1" left="rptstart">')
        .replace(b'<measure n="2">', b'<ending n="1"><measure n="2" right="rptend">')
        .replace(b'<measure n="3">', b'</ending><ending n="2"><measure n="3">')
        .replace(b'<measure n="4">', b'</ending><measure n="4" right="end">')
    )
    part = exchanged_edition(tmp_path, base)
    assert_valid_musicxml(part.musicxml)
    assert all_of(part, "barline") == [
        '<barline location="left"><bar-style>heavy-light</bar-style>'
        '<repeat direction="forward"/></barline>',
        '<barline location="left"><ending number="1" type="start">1.</ending></barline>',
        '<barline location="right"><bar-style>light-heavy</bar-style>'
        '<ending number="1" type="stop"/><repeat direction="backward"/></barline>',
        '<barline location="left"><ending number="2" type="start">2.</ending></barline>',
        '<barline location="right"><ending number="2" type="discontinue"/></barline>',
        '<barline location="right"><bar-style>light-heavy</bar-style></barline>',
    ]


def test_a_clef_that_sounds_an_octave_lower(tmp_path: Path) -> None:
    base = mei("c4/1").replace(b'clef.shape="G" clef.line="2"', b'clef.shape="GG" clef.line="2"')
    assert all_of(exchanged_edition(tmp_path, base), "clef") == [
        "<clef><sign>G</sign><line>2</line><clef-octave-change>-1</clef-octave-change></clef>"
    ]


def test_a_tuplet_given_by_its_ends_begins_and_ends_there(tmp_path: Path) -> None:
    span = '<tupletSpan startid="#a" endid="#c" num="3" numbase="2" staff="1"/>'
    base = mei("a=c5/8 b=d5/8 c=e5/8 r/4 r/2", signs={1: span})
    layered = small(tmp_path, base).layered
    part = exchanged_edition(tmp_path, base)
    ends = [
        (note.findtext("pitch/step"), one.get("type"), one.get("bracket"))
        for note in tree(part).iterfind(".//note")
        for one in note.iterfind("notations/tuplet")
    ]
    assert ends == [("C", "start", "yes"), ("E", "stop", None)]
    assert len(all_of(part, "time-modification")) == 3
    assert compared(layered, tmp_path).differences == ()


@pytest.mark.parametrize(
    ("attributes", "expected"),
    [
        ('meter.sym="common"', '<time symbol="common"><beats>4</beats>'),
        ('meter.count="3" meter.unit="4"', "<time><beats>3</beats>"),
        ('meter.count="3+2" meter.unit="8"', "<time><beats>3+2</beats>"),
        ('meter.count="4" meter.unit="4" meter.visible="false"', '<time print-object="no">'),
    ],
)
def test_meters(attributes: str, expected: str, tmp_path: Path) -> None:
    base = mei("<mRest/>").replace(b'meter.count="4" meter.unit="4"', attributes.encode())
    (time,) = all_of(exchanged_edition(tmp_path, base), "time")
    assert time.startswith(expected)
