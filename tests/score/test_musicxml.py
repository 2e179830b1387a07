"""MusicXML in: what a string player reads survives, and a loss is told."""

from __future__ import annotations

import zipfile
from pathlib import Path

import pytest
from lxml import etree

from pipeline.problems import Origin
from pipeline.score import musicxml
from pipeline.score.model import MarkingKind, Passage
from pipeline.score.mxl import unpacked
from pipeline.score.read import read_passage
from tests.score.drawn import pitches, read, read_with_problems, sounding, told


def _note(pitch: str, content: str = "", *, chord: bool = False, own_id: str = "") -> str:
    step, alter, octave = pitch[0], pitch[1:-1], pitch[-1]
    semitones = {"#": "<alter>1</alter>", "b": "<alter>-1</alter>", "": ""}[alter]
    return (
        f"<note{f' id={own_id!r}' if own_id else ''}>{'<chord/>' if chord else ''}<pitch>"
        f"<step>{step}</step>{semitones}<octave>{octave}</octave></pitch><duration>2</duration>"
        f"<voice>1</voice><type>quarter</type>{content}</note>\n"
    )


def _technical(content: str) -> str:
    return f"<notations><technical>{content}</technical></notations>"


def _score(*bars: str, name: str = "Violin") -> bytes:
    measures = "".join(
        f'<measure number="{n}">\n'
        + (
            "<attributes><divisions>2</divisions><key><fifths>1</fifths></key><time><beats>2"
            "</beats><beat-type>4</beat-type></time><clef><sign>G</sign><line>2</line></clef>"
            "</attributes>\n"
            if n == 1
            else ""
        )
        + bar
        + "</measure>\n"
        for n, bar in enumerate(bars, 1)
    )
    return (
        '<?xml version="1.0" encoding="UTF-8"?>\n<!DOCTYPE score-partwise PUBLIC '
        '"-//Recordare//DTD MusicXML 4.0 Partwise//EN" '
        '"http://www.musicxml.org/dtds/partwise.dtd">\n'
        f'<score-partwise version="4.0"><part-list><score-part id="P1"><part-name>{name}'
        f'</part-name></score-part></part-list>\n<part id="P1">\n{measures}</part>'
        "</score-partwise>\n"
    ).encode()


def _read(folder: Path, *bars: str) -> Passage:
    return read(folder, _score(*bars), name="music.musicxml")


def _fingerings(passage: Passage) -> list[tuple[str, str]]:
    return [
        (m.kind.value, m.content)
        for m in passage.markings
        if m.kind in {MarkingKind.FINGERING, MarkingKind.WORDS}
    ]


def test_notes_key_meter_and_label(tmp_path: Path) -> None:
    passage = _read(tmp_path, _note("F#5") + _note("F5"), _note("G4") + _note("A4"))
    assert sounding(passage.events) == "F♯5@0:1 F5@1:1 G4@0:1 A4@1:1"
    assert [staff.label for staff in passage.staves] == ["Violin"]
    assert passage.bars[0].length == 2


def test_the_same_file_gives_the_same_bytes(tmp_path: Path) -> None:
    data = _score(_note("F#5") + _note("G5"))
    first, second = (read(tmp_path, data, name="music.musicxml").mei for _ in range(2))
    assert first == second
    assert b"isodate" not in first
    assert b'meiversion="5.1"' in first


def test_another_bar_at_the_end_changes_no_identifier_before_it(tmp_path: Path) -> None:
    one = _read(tmp_path, _note("F#5") + _note("G5"))
    two = _read(tmp_path, _note("F#5") + _note("G5"), _note("A5") + _note("B5"))
    assert [e.xml_id for e in one.events] == ["m1-s1-v1-note1", "m1-s1-v1-note2"]
    assert [e.xml_id for e in two.events][:2] == [e.xml_id for e in one.events]


def test_identifiers_of_the_file_are_kept(tmp_path: Path) -> None:
    passage = _read(tmp_path, _note("F#5", own_id="mine") + _note("G5"))
    assert [e.xml_id for e in passage.events] == ["mine", "m1-s1-v1-note1"]


PLAYING = [
    ("string", "<fingering>3</fingering><string>2</string>", [("fing", "3"), ("dir", "II")]),
    ("string without digit", "<string>4</string>", [("dir", "IV")]),
    ("thumb", "<thumb-position/>", [("fing", "T")]),
    (
        "exchanged finger",
        '<fingering>2</fingering><fingering substitution="yes">3</fingering>',
        [("fing", "2–3")],
    ),
    (
        "two digits",
        "<fingering>2</fingering><fingering>3</fingering>",
        [("fing", "2"), ("fing", "3")],
    ),
    ("one digit", "<fingering>2</fingering>", [("fing", "2")]),
]


@pytest.mark.parametrize(
    ("technical", "expected"), [row[1:] for row in PLAYING], ids=[row[0] for row in PLAYING]
)
def test_fingers_and_strings(
    tmp_path: Path, technical: str, expected: list[tuple[str, str]]
) -> None:
    passage = _read(tmp_path, _note("A4") + _note("A5", _technical(technical)))
    assert _fingerings(passage) == expected
    assert {m.start_id for m in passage.markings} == {passage.events[1].xml_id}


def test_a_string_number_is_also_on_the_note(tmp_path: Path) -> None:
    passage = _read(tmp_path, _note("A5", _technical("<string>2</string>")) + _note("A4"))
    notes = list(etree.fromstring(passage.mei).iter("{*}note"))
    assert [note.get("tab.course") for note in notes] == ["2", None]


def test_bow_signs_open_string_and_natural_harmonic_are_articulations(tmp_path: Path) -> None:
    passage = _read(
        tmp_path,
        _note("A4", _technical("<open-string/><down-bow/>"))
        + _note("A5", _technical("<up-bow/><harmonic><natural/></harmonic>")),
    )
    assert [set(e.articulations) for e in passage.events] == [
        {"open", "dnbow"},
        {"upbow", "harm"},
    ]


def test_a_stopped_harmonic_keeps_its_notes_apart_and_loses_the_circle(tmp_path: Path) -> None:
    def part(kind: str) -> str:
        return _technical(f"<harmonic><artificial/><{kind}-pitch/></harmonic>")

    passage = _read(
        tmp_path,
        _note("A4", part("base"))
        + _note("D5", part("touching"), chord=True)
        + _note("A6", part("sounding"), chord=True)
        + _note("G4"),
    )
    chord = passage.events[0]
    assert [head.shape for head in chord.heads] == ["", "diamond", ""]
    assert chord.articulations == ()
    kinds = [n.get("type") for n in etree.fromstring(passage.mei).iter("{*}note")]
    assert kinds == ["harmonic base", "harmonic touching", "harmonic sounding", None]


def test_a_tie_over_the_barline_and_a_slur(tmp_path: Path) -> None:
    passage = _read(
        tmp_path,
        _note("A4", '<notations><slur type="start"/></notations>')
        + _note("F#5", '<notations><tied type="start"/></notations>'),
        _note("F#5", '<notations><tied type="stop"/></notations>')
        + _note("G4", '<notations><slur type="stop"/></notations>'),
    )
    assert [e.heads[0].tie for e in passage.events] == ["", "i", "t", ""]
    slur = next(m for m in passage.markings if m.kind is MarkingKind.SLUR)
    assert (slur.start.bar, slur.end and slur.end.bar) == (0, 1)


def test_a_note_value_that_is_only_a_duration_is_written(tmp_path: Path) -> None:
    bar = (_note("A4") + _note("B4")).replace("<type>quarter</type>", "")
    passage = _read(tmp_path, bar)
    assert [e.written for e in passage.events] == ["4", "4"]


def test_a_compressed_file_reads_as_the_plain_one(tmp_path: Path) -> None:
    data = _score(_note("F#5") + _note("G5"))
    with zipfile.ZipFile(tmp_path / "music.mxl", "w") as archive:
        archive.writestr(
            "META-INF/container.xml",
            '<container><rootfiles><rootfile full-path="score.xml" '
            'media-type="application/vnd.recordare.musicxml+xml"/></rootfiles></container>',
        )
        archive.writestr("score.xml", data)
    assert unpacked((tmp_path / "music.mxl").read_bytes(), "music.mxl").value == data
    passage = read_passage(tmp_path, "music.mxl", Origin("edition.yaml")).value
    assert passage is not None
    assert passage.mei == read(tmp_path, data, name="music.musicxml").mei


def test_a_problem_of_a_note_has_the_line_of_the_musicxml_file(tmp_path: Path) -> None:
    data = _score(_note("A4") + _note("B4", _technical("<string>9</string>")))
    line = data[: data.index(b"<string>")].count(b"\n") + 1
    passage, problems = read_with_problems(tmp_path, data, name="music.musicxml")
    assert passage is not None
    assert told(problems) == [f'{line} unreadable-string: string "9" is not a number from 1 to 6']


def test_a_note_that_the_import_loses_is_told(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def forgetful(written: str) -> tuple[str, list[str]]:
        mei, said = _convert(written)
        root = etree.fromstring(mei.encode())
        for element in (list(root.iter("{*}note"))[1], *root.iter("{*}slur")):
            parent = element.getparent()
            assert parent is not None
            parent.remove(element)
        return etree.tostring(root, encoding="unicode"), said

    _convert = musicxml._convert
    monkeypatch.setattr(musicxml, "_convert", forgetful)
    data = _score(
        _note("A4", '<notations><slur type="start"/></notations>')
        + _note("B4", '<notations><slur type="stop"/></notations>')
    )
    passage, problems = read_with_problems(tmp_path, data, name="music.musicxml")
    assert passage is not None
    assert told(problems) == [
        "5 signs-lost-in-import: bar 1: 1 of 1 slurs of this bar cannot be converted",
        "8 notes-lost-in-import: bar 1, part P1: 1 of 2 notes of this bar cannot be converted",
    ]


def test_what_the_importer_says_is_told(tmp_path: Path, capfd: pytest.CaptureFixture[str]) -> None:
    data = _score(_note("A4", '<notations><slur type="start"/></notations>') + _note("B4"))
    passage, problems = read_with_problems(tmp_path, data, name="music.musicxml")
    assert passage is not None
    assert [p.code for p in problems]
    assert any("slur" in p.message for p in problems)
    assert capfd.readouterr() == ("", "")


@pytest.mark.parametrize(
    ("data", "code"),
    [
        (b"<score-timewise/>", "timewise-musicxml"),
        (b"<score-partwise/>", "not-importable"),
        (b"<score-partwise><part-list/></score-partwise>", "no-bars"),
    ],
)
def test_musicxml_that_is_no_score_is_told(tmp_path: Path, data: bytes, code: str) -> None:
    passage, problems = read_with_problems(tmp_path, data, name="music.musicxml")
    assert passage is None
    assert code in [p.code for p in problems]


def test_bars_of_a_long_rest_are_kept_one_by_one(tmp_path: Path) -> None:
    rest = '<note><rest measure="yes"/><duration>4</duration><voice>1</voice></note>\n'
    several = (
        "<attributes><measure-style><multiple-rest>3</multiple-rest></measure-style></attributes>"
    )
    passage = _read(tmp_path, _note("A4") + _note("B4"), several + rest, rest, rest, _note("C5"))
    assert [bar.n for bar in passage.bars] == ["1", "2", "3", "4", "5"]
    assert sounding(passage.events) == "A4@0:1 B4@1:1 rest@0:2 rest@0:2 rest@0:2 C5@0:1"


def test_a_file_on_which_the_importer_breaks_down_is_told(tmp_path: Path) -> None:
    data = _score(_note("A4") + _note("B4")).replace(b"<beat-type>4</beat-type>", b"")
    passage, problems = read_with_problems(tmp_path, data, name="music.musicxml")
    assert passage is None
    assert told(problems) == [
        "3 not-importable: the file is MusicXML but cannot be converted into a score"
    ]


def test_pitches_of_a_transposing_part_are_as_written(tmp_path: Path) -> None:
    data = _score(_note("D5") + _note("E5")).replace(
        b"</clef></attributes>",
        b"</clef><transpose><diatonic>-1</diatonic><chromatic>-2</chromatic></transpose>"
        b"</attributes>",
    )
    assert pitches(read(tmp_path, data, name="music.musicxml").events) == "D5 E5"


@pytest.mark.parametrize(
    ("right", "wrong", "what"),
    [
        ("<octave>4<", "<octave>x<", 'the octave of this note is "x"'),
        ("<octave>4<", "<octave>99<", 'the octave of this note is "99"'),
        ("<alter>1<", "<alter>sharp<", 'the alter of this note is "sharp"'),
    ],
)
def test_a_pitch_that_the_importer_would_guess_at_is_told(
    tmp_path: Path, right: str, wrong: str, what: str
) -> None:
    data = _score(_note("G#4") + _note("A5")).replace(right.encode(), wrong.encode())
    _, problems = read_with_problems(tmp_path, data, name="music.musicxml")
    assert told(problems) == [f"7 unreadable-pitch: {what}"]
