"""Files that are broken or hostile: one clear problem each, nothing fetched, memory bounded."""

from __future__ import annotations

import resource
import zipfile
from pathlib import Path

import pytest

from pipeline.score.safe_xml import MAX_XML_BYTES, parse_xml
from tests.score.drawn import mei, read_with_problems, told

_LAUGHS = (
    b'<?xml version="1.0"?>\n<!DOCTYPE mei [\n<!ENTITY a "ha">\n'
    + b"".join(f'<!ENTITY {chr(98 + i)} "{f"&{chr(97 + i)};" * 10}">\n'.encode() for i in range(12))
    + b']>\n<mei xmlns="http://www.music-encoding.org/ns/mei">&m;</mei>'
)
_DECLARES = (
    "declarations-in-xml: the file declares entities or a document type of its own; such "
    "declarations can pull in other files or fill the memory"
)

BROKEN = [
    ("empty file", b"", ["1 empty-file: the file is empty"]),
    ("only spaces", b" \n\n", ["1 empty-file: the file is empty"]),
    (
        "cut off",
        b"<mei>\n<music>\n<bo",
        [
            "3 truncated-xml: the file breaks off, its end is missing (Couldn't find end of Start "
            "Tag bo line 3)"
        ],
    ),
    (
        "cut off between tags",
        b"<mei>\n<music>\n",
        [
            "3 truncated-xml: the file breaks off, its end is missing (Premature end of data in "
            "tag music line 2)"
        ],
    ),
    (
        "tags crossed",
        b"<mei>\n<music>\n</mei></music>",
        [
            "3 malformed-xml: not well-formed XML: Opening and ending tag mismatch: music line 2 "
            "and mei"
        ],
    ),
    (
        "Latin-1 that claims UTF-8",
        '<?xml version="1.0" encoding="UTF-8"?>\n<mei>\né</mei>'.encode("latin-1"),
        [
            "3 wrong-encoding: the bytes do not fit the character encoding that the first line "
            "claims (UTF-8 where it claims none)"
        ],
    ),
    (
        "an encoding nobody knows",
        b'<?xml version="1.0" encoding="klingon"?>\n<mei/>',
        [
            "1 wrong-encoding: the bytes do not fit the character encoding that the first line "
            "claims (UTF-8 where it claims none)"
        ],
    ),
    ("billion laughs", _LAUGHS, [f"2 {_DECLARES}"]),
    (
        "external entity",
        b'<!DOCTYPE m [<!ENTITY x SYSTEM "file:///etc/passwd">]>\n<m>&x;</m>',
        [f"1 {_DECLARES}"],
    ),
    (
        "parameter entity that loads a file",
        b'<?xml version="1.0"?>\n\n<!DOCTYPE m [<!ENTITY % p SYSTEM "http://x.test/e"> %p;]>\n<m/>',
        [f"3 {_DECLARES}"],
    ),
    (
        "entity of a document type that is never fetched",
        b'<!DOCTYPE m PUBLIC "-//X//Y" "http://x.test/m.dtd">\n<m a="1">\n&eacute;</m>',
        [
            "3 entity-in-xml: the entity &eacute; is not one of XML's five; entities are never "
            "expanded"
        ],
    ),
    (
        "the same in an attribute",
        b'<!DOCTYPE m PUBLIC "-//X//Y" "http://x.test/m.dtd">\n<m a="&eacute;"/>',
        [
            "2 entity-in-xml: the entity &eacute; is not one of XML's five; entities are never "
            "expanded"
        ],
    ),
    (
        "one xml:id twice",
        b'<m xml:id="q">\n<m xml:id="q"/></m>',
        ['2 duplicate-xml-id: the xml:id "q" is used a second time'],
    ),
    (
        "an xml:id that begins with a figure",
        b'<m>\n<m xml:id="1q"/></m>',
        [
            '2 invalid-xml-id: the xml:id "1q" is none: it must begin with a letter and hold no '
            "space or colon"
        ],
    ),
    ("no XML", b"\x00\x01\x02 music", ["1 not-xml: this is not an XML file"]),
    ("YAML", b"title: Sonata\n", ["1 not-xml: this is not an XML file"]),
]


@pytest.mark.parametrize(
    ("data", "expected"), [row[1:] for row in BROKEN], ids=[r[0] for r in BROKEN]
)
def test_a_broken_file_is_told_with_its_line(data: bytes, expected: list[str]) -> None:
    outcome = parse_xml(data, "score.mei")
    assert outcome.value is None
    assert told(outcome.problems) == expected


WHOLE = [
    ("plain", b"<m/>"),
    ("UTF-16", '<?xml version="1.0" encoding="UTF-16"?><m>é</m>'.encode("utf-16")),
    (
        "Latin-1 that says so",
        '<?xml version="1.0" encoding="ISO-8859-1"?><m>é</m>'.encode("latin-1"),
    ),
    ("the five entities", b"<m>&lt;&gt;&amp;&quot;&apos;&#233;</m>"),
    (
        "the usual first lines of MusicXML",
        b'<!DOCTYPE m PUBLIC "-//Recordare//DTD MusicXML 4.0 Partwise//EN" '
        b'"http://www.musicxml.org/dtds/partwise.dtd"><m>&amp;</m>',
    ),
]


@pytest.mark.parametrize("data", [row[1] for row in WHOLE], ids=[row[0] for row in WHOLE])
def test_a_whole_file_is_read_without_a_word(data: bytes) -> None:
    outcome = parse_xml(data, "score.mei")
    assert outcome.value is not None
    assert outcome.problems == ()


def test_billion_laughs_take_no_memory() -> None:
    before = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    parse_xml(_LAUGHS, "score.mei")
    assert resource.getrusage(resource.RUSAGE_SELF).ru_maxrss - before < 20_000  # KiB


def test_a_file_beyond_the_limit_is_refused_before_it_is_parsed() -> None:
    outcome = parse_xml(b"<m>" + b" " * MAX_XML_BYTES + b"</m>", "score.mei")
    assert told(outcome.problems) == ["1 file-too-large: the file has 32 MiB; at most 32 are read"]


def test_nesting_without_end_is_refused() -> None:
    outcome = parse_xml(b"<m>" * 5000 + b"</m>" * 5000, "score.mei")
    assert [p.code for p in outcome.problems] == ["malformed-xml"]


def test_an_archive_that_lies_about_its_size_is_read_no_further_than_the_limit(
    tmp_path: Path,
) -> None:
    bomb = tmp_path / "bomb.mxl"
    with zipfile.ZipFile(bomb, "w", zipfile.ZIP_DEFLATED) as archive:
        archive.writestr("META-INF/container.xml", '<c><rootfile full-path="a.musicxml"/></c>')
        archive.writestr("a.musicxml", b" " * (MAX_XML_BYTES + 10))
    assert bomb.stat().st_size < 100_000
    passage, problems = read_with_problems(tmp_path, bomb.read_bytes(), name="bomb.mxl")
    assert passage is None
    assert told(problems) == ["1 file-too-large: a.musicxml inside it unpacks to more than 32 MiB"]


@pytest.mark.parametrize(
    ("members", "expected"),
    [
        ({}, "this archive is no compressed MusicXML: it holds no META-INF/container.xml"),
        (
            {"META-INF/container.xml": "<c/>"},
            "this archive is no compressed MusicXML: its container names no MusicXML",
        ),
        (
            {"META-INF/container.xml": '<c><rootfile full-path="../../etc/passwd"/></c>'},
            "this archive is no compressed MusicXML: it holds no ../../etc/passwd",
        ),
    ],
)
def test_an_archive_that_is_no_music_is_told(
    tmp_path: Path, members: dict[str, str], expected: str
) -> None:
    with zipfile.ZipFile(tmp_path / "a.mxl", "w") as archive:
        archive.writestr("other.txt", "text")
        for name, content in members.items():
            archive.writestr(name, content)
    passage, problems = read_with_problems(
        tmp_path, (tmp_path / "a.mxl").read_bytes(), name="b.mxl"
    )
    assert passage is None
    assert [p.message for p in problems] == [expected]


def test_a_damaged_archive_is_told(tmp_path: Path) -> None:
    passage, problems = read_with_problems(tmp_path, b"PK\x03\x04 not really", name="b.mxl")
    assert passage is None
    assert [p.code for p in problems] == ["damaged-archive"]


def test_every_cut_of_a_score_gives_one_problem_and_no_music(tmp_path: Path) -> None:
    whole = mei("c4/4 d4/4 e4/4 f4/4")
    for length in range(1, len(whole.rstrip()) - 1, 37):
        passage, problems = read_with_problems(tmp_path, whole[:length])
        assert passage is None
        assert len(problems) == 1, length
