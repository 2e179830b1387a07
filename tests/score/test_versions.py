"""MEI 3, 4 and 5 in, MEI 5.1 out; fragments; files that are no score."""

from __future__ import annotations

from pathlib import Path

import pytest
from lxml import etree

from tests.score.drawn import document, mei, read, read_with_problems, sounding, told

_NS = 'xmlns="http://www.music-encoding.org/ns/mei"'
_BAR = (
    '<measure n="1"><staff n="1"><layer n="1"><note pname="f" oct="4" dur="1"/></layer></staff>'
    "</measure>"
)
_DEFINITION = (
    '<scoreDef keysig="1s" meter.count="4" meter.unit="4"><staffGrp><staffDef n="1" lines="5"/>'
    "</staffGrp></scoreDef>"
)

# The old names are in no 5.1 schema, the new ones are (music-encoding.org, MEI 5.1 mei-all);
# which became which: MEI release notes 4.0.0 and 5.0, from memory.
RENAMED = [
    ("3.0.0", '<scoreDef key.sig="2s"/>', '<scoreDef keysig="2s"/>'),
    ("4.0.1", '<scoreDef key.sig="2s"/>', '<scoreDef keysig="2s"/>'),
    ("3.0.0", '<scoreDef key.sig.show="false"/>', '<scoreDef keysig.visible="false"/>'),
    ("4.0.0", '<scoreDef keysig.show="false"/>', '<scoreDef keysig.visible="false"/>'),
    ("4.0.0", '<keySig sig="0" sig.showchange="true"/>', '<keySig sig="0" cancelaccid="before"/>'),
    ("3.0.0", '<scoreDef meter.rend="invis"/>', '<scoreDef meter.visible="false"/>'),
    ("4.0.0", '<meterSig form="invis"/>', '<meterSig visible="false"/>'),
    ("3.0.0", '<meterSig rend="num"/>', '<meterSig form="num"/>'),
    ("3.0.0", '<staffGrp barthru="true"/>', '<staffGrp bar.thru="true"/>'),
    ("4.0.1", '<staffDef octave.default="4"/>', '<staffDef oct.default="4"/>'),
    ("3.0.0", '<fTrem slash="3" measperf="32"/>', '<fTrem beams="3" unitdur="32"/>'),
    ("3.0.0", '<bTrem measperf="32"/>', '<bTrem unitdur="32"/>'),
    ("3.0.0", '<turn form="inv"/>', '<turn form="lower"/>'),
    ("3.0.0", '<turn form="norm"/>', '<turn form="upper"/>'),
    ("3.0.0", '<mordent form="inv"/>', '<mordent form="upper"/>'),
    ("3.0.0", '<mordent form="norm"/>', '<mordent form="lower"/>'),
    ("3.0.0", '<slur rend="dashed"/>', '<slur lform="dashed"/>'),
    ("3.0.0", '<note dur.ges="480p"/>', '<note dur.ppq="480"/>'),
    ("3.0.0", '<note dur.ges="4"/>', '<note dur.ges="4"/>'),
    ("3.0.0", '<artic artic="ten-stacc"/>', '<artic artic="ten stacc"/>'),
    ("5.0", '<turn form="upper"/>', '<turn form="upper"/>'),
    ("5.1", '<meterSig form="num"/>', '<meterSig form="num"/>'),
]


@pytest.mark.parametrize(("version", "old", "new"), RENAMED)
def test_old_names_become_new_ones(tmp_path: Path, version: str, old: str, new: str) -> None:
    data = document(f"{_DEFINITION}<section><annot>{old}</annot>{_BAR}</section>", version)
    passage, _ = read_with_problems(tmp_path, data)
    assert passage is not None
    annot = next(etree.fromstring(passage.mei).iter("{*}annot"))
    found = annot[0]
    expected = etree.fromstring(new)
    attributes = {name: value for name, value in found.attrib.items() if "}" not in str(name)}
    assert (etree.QName(found).localname, attributes) == (expected.tag, dict(expected.attrib))
    assert etree.fromstring(passage.mei).get("meiversion") == "5.1"


@pytest.mark.parametrize(
    "version", ["3.0.0", "4.0.0", "4.0.1", "5.0", "5.0+CMN", "5.1", "5.1+Basic"]
)
def test_the_music_is_the_same_in_every_version(tmp_path: Path, version: str) -> None:
    definition = _DEFINITION
    if version[0] in "34":
        definition = definition.replace("keysig", "key.sig")
    passage = read(tmp_path, document(f"{definition}<section>{_BAR}</section>", version))
    assert sounding(passage.events) == "F♯4@0:4"


def test_a_document_in_mei_5_keeps_every_element_and_attribute(tmp_path: Path) -> None:
    data = mei("c4/4 d4/4", extra={0: '<dir tstamp="1" type="x" vo="3"><!-- why -->a</dir>'})
    kept = etree.fromstring(read(tmp_path, data).mei)
    for element in kept.iter("*"):
        element.attrib.pop("{http://www.w3.org/XML/1998/namespace}id", "")
    assert etree.tostring(kept, method="c14n") == etree.tostring(
        etree.fromstring(data), method="c14n"
    )


def test_comments_before_the_first_element_are_kept_inside_it(tmp_path: Path) -> None:
    data = mei("c4/1").replace(b"<mei ", b"<!-- copied from A --><mei ")
    kept = read(tmp_path, data).mei
    assert b"<mei " in kept.split(b"<!-- copied from A -->")[0]


def test_a_document_type_is_not_passed_on_but_schema_hints_of_mei_5_are(tmp_path: Path) -> None:
    hint = b'<?xml-model href="mei-all.rng"?>'
    data = mei("c4/1").replace(b"<mei ", hint + b'<!DOCTYPE mei SYSTEM "mei.dtd"><mei ')
    kept = read(tmp_path, data).mei
    assert b"DOCTYPE" not in kept
    assert kept.startswith(b'<?xml version="1.0" encoding="UTF-8"?>\n' + hint)


def test_schema_hints_of_an_older_version_are_not_passed_on(tmp_path: Path) -> None:
    data = document(f"{_DEFINITION}<section>{_BAR}</section>".replace("keysig", "key.sig"), "4.0.1")
    kept = read(tmp_path, data.replace(b"<mei ", b'<?xml-model href="4.rng"?><mei ')).mei
    assert b"xml-model" not in kept


def test_what_has_no_successor_is_told(tmp_path: Path) -> None:
    data = document(f"{_DEFINITION}<section>{_BAR}</section>", "4.0.1").replace(
        b"<staffDef", b'<staffDef clef.showchange="false"'
    )
    passage, problems = read_with_problems(tmp_path, data)
    assert passage is not None
    assert told(problems) == [
        "2 no-successor-in-mei: the attribute clef.showchange of older MEI has no successor in "
        "5.1 and is left out"
    ]


def test_a_fragment_that_defines_its_staves_is_a_document(tmp_path: Path) -> None:
    fragment = f"<score {_NS}>{_DEFINITION}<section>{_BAR}</section></score>"
    passage = read(tmp_path, fragment.encode())
    assert sounding(passage.events) == "F♯4@0:4"
    assert passage.mei.count(b"<music>") == 1


def test_a_fragment_without_key_and_staves_is_not_guessed_at(tmp_path: Path) -> None:
    _, problems = read_with_problems(tmp_path, f"<section {_NS}>{_BAR}</section>".encode())
    assert [p.code for p in problems] == ["staff-not-defined", "no-meter"]


NO_SCORE = [
    (
        f"<measure {_NS}/>",
        "1 not-a-score: the file begins with `measure`; music is expected in a whole MEI document "
        "or a `score`",
    ),
    (
        f'<mei {_NS} meiversion="2013"/>',
        "1 unknown-mei-version: the file is in MEI 2013; versions 3.0, 4.0, 5.0 and 5.1 are read",
    ),
    (
        '<mei meiversion="5.1"/>',
        "1 wrong-namespace: `mei` is not in the namespace of MEI",
    ),
    ("<html/>", "1 not-music: the file begins with `html`; MEI or MusicXML is expected"),
    (f'<mei {_NS} meiversion="5.1"><meiHead/></mei>', "1 no-score: the file holds no score"),
]


@pytest.mark.parametrize(("data", "expected"), NO_SCORE)
def test_a_file_that_is_no_score_is_told(tmp_path: Path, data: str, expected: str) -> None:
    passage, problems = read_with_problems(tmp_path, data.encode())
    assert passage is None
    assert told(problems) == [expected]


def test_a_file_without_version_is_read_as_the_current_one_and_told(tmp_path: Path) -> None:
    data = mei("c4/1").replace(b' meiversion="5.1"', b"")
    passage, problems = read_with_problems(tmp_path, data)
    assert passage is not None
    assert [p.code for p in problems] == ["no-mei-version"]
