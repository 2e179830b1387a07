"""What is taken out for a witness is its encoding: hard cases first, then whatever may come."""

from __future__ import annotations

import random
import tempfile
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, note, settings
from hypothesis import strategies as st

from pipeline.layers.extract import NotLayeredError, canonical_music, extract_text
from pipeline.layers.profile import profile_faults
from pipeline.layers.sheet import parse
from pipeline.layers.witness import extract_witness, witness_document
from pipeline.score.mei_names import tag
from pipeline.score.transposing import Move, transposed
from tests.layers import changed, generated
from tests.layers.drawing import draw
from tests.layers.letters import mei, told
from tests.layers.small_edition import (
    Row,
    Small,
    assert_valid,
    official_schema,
    place,
    reading,
    small,
)
from tests.layers.witness_law import faults_of_extraction

TEXT = (
    "a=c5/4 b=d5/4 c=e5/4 d=f5/4",
    "e=g5/2 f=e5/2",
    "[g=c5/8 h=d5/8 i=e5/8 j=f5/8] k=g5/2",
    "l=a4/4 m=b4/4 n=c5/2",
    "o=c5/1",
)
SIGNS = {
    1: '<slur xml:id="s" startid="#a" endid="#e"/><dynam startid="#a">p</dynam>'
    '<hairpin form="cres" staff="1" tstamp="3" tstamp2="2m+1"/>',
    3: '<slur startid="#g" endid="#k"/><tie startid="#k" endid="#l"/>',
    4: '<slur startid="#l" endid="#o"/>',
}


def lawful(edition: Small, folder: Path) -> None:
    """Assert the law, and what holds of every layered file."""
    faults = faults_of_extraction(edition.layered, edition.collations, edition.encodings, folder)
    assert faults == []
    assert profile_faults(edition.layered) == ()
    assert canonical_music(extract_text(edition.layered)[1]) == canonical_music(edition.base())
    schema = official_schema()
    if schema is None:
        return
    assert_valid(edition.layered)
    for siglum, n in edition.collations:
        if edition.collations[siglum, n].beside.obstacle is None:
            assert_valid(extract_witness(edition.layered, siglum)[n])


def bars_taken(edition: Small, siglum: str, movement: int = 1) -> str:
    root = parse(extract_witness(edition.layered, siglum)[movement])
    return " ".join(told(section) for section in root.iter(tag("section")))


def written(*bars: str, signs: dict[int, str] | None = None, first: int = 1) -> bytes:
    return mei(*bars, signs=SIGNS if signs is None else signs, first=first)


def without(*missing: int) -> bytes:
    """Return the text without the bars of these numbers, and without signs that cross a border."""
    return changed.excerpt_of(mei(*TEXT, signs=SIGNS), {n - 1 for n in missing})


@pytest.mark.parametrize("missing", [(1,), (3,), (5,), (2, 3), (2, 4), (1, 5)])
def test_bars_that_a_witness_lacks(tmp_path: Path, missing: tuple[int, ...]) -> None:
    edition = small(tmp_path, written(*TEXT), witnesses={"W": without(*missing)})
    lawful(edition, tmp_path)
    assert bars_taken(edition, "W").count("|") == 2 * (5 - len(missing))


def test_a_missing_bar_stands_in_the_lemma_and_other_readings_inside_it(tmp_path: Path) -> None:
    text = mei("c5/1", "d5/1", "e5/1")
    edition = small(
        tmp_path,
        text,
        witnesses={"A": mei("c5/1", "e5/1"), "B": mei("c5/1", "d#5/1", "e5/1")},
    )
    assert told(next(edition.root.iter(tag("section")))) == (
        "|c5/1| app{lem{|app{lem{d5/1} B{d#5/1}}|} A{}} |e5/1|"
    )
    lawful(edition, tmp_path)


def test_bars_missing_and_added_are_drawn_as_the_text(tmp_path: Path) -> None:
    more = mei("g4/1", *TEXT[:2], "c5/1", *TEXT[2:], "e5/1")
    edition = small(tmp_path, written(*TEXT), witnesses={"A": without(2, 4), "B": more})
    before, after = draw(edition.base()), draw(edition.layered)
    assert after.said == before.said == ""
    assert after.lost == before.lost == ()


@pytest.mark.parametrize(
    ("bars", "at"),
    [
        (["g4/1"], 0),
        (["g4/1", "a4/1"], 0),
        (["g4/1"], 2),
        (["g4/1", "a4/1", "b4/1"], 3),
        (["g4/1", "a4/1"], 5),
    ],
)
def test_bars_that_only_a_witness_has(tmp_path: Path, bars: list[str], at: int) -> None:
    more = [*TEXT[:at], *bars, *TEXT[at:]]
    edition = small(tmp_path, mei(*TEXT), witnesses={"W": mei(*more), "V": mei(*more[1:])})
    lawful(edition, tmp_path)
    assert bars_taken(edition, "W").count("|") == 2 * len(more)


def test_an_upbeat_counted_as_bar_1(tmp_path: Path) -> None:
    text, other = mei("g4/4", *TEXT, first=0), mei("g4/4", "c5/4 b4/4 e5/2", *TEXT[1:], first=1)
    edition = small(tmp_path, text, witnesses={"W": other})
    lawful(edition, tmp_path)
    taken = parse(extract_witness(edition.layered, "W")[1])
    assert [m.get("n") for m in taken.iter(tag("measure"))] == ["1", "2", "3", "4", "5", "6"]


@pytest.mark.parametrize(("first", "last"), [(0, 0), (1, 3), (2, 4), (4, 4)])
def test_some_bars_of_a_part_only(tmp_path: Path, first: int, last: int) -> None:
    text = mei(*((bar, "c4/2 d4/2") for bar in TEXT), signs=SIGNS)
    other = changed.part(text.replace(b'dur="2" pname="g"', b'dur="2" pname="a"'), 1)
    edition = small(tmp_path, text, witnesses={"W": changed.excerpt(other, first, last)})
    lawful(edition, tmp_path)
    assert bars_taken(edition, "W").count("|") == 2 * (last - first + 1)


def test_overlapping_variants_and_one_inside_another(tmp_path: Path) -> None:
    edition = small(
        tmp_path,
        written(*TEXT),
        [reading("r1", place(1), "A"), reading("r2", place(1, 2), "B")],
        {
            "A": written("a=c5/4 b=d5/2 d=f5/4", *TEXT[1:]),
            "B": written("a=c5/4 b=d5/4 c=a5/2", *TEXT[1:], signs={}),
            "C": written("a=c5/4 b=b4/1", TEXT[1], "g=c5/2 k=g5/2", *TEXT[3:]),
        },
    )
    lawful(edition, tmp_path)


@pytest.mark.parametrize(
    "signs",
    [
        "",
        '<slur startid="#a" endid="#d"/>',
        '<slur startid="#a" endid="#b"/><slur startid="#c" endid="#e"/>',
        '<slur startid="#b" endid="#n"/>',
        '<slur startid="#a" endid="#e"/><slur startid="#e" endid="#f"/>',
        '<slur startid="#a" endid="#e" curvedir="below"/>',
        '<hairpin form="cres" startid="#c" endid="#g"/>',
        '<hairpin form="dim" staff="1" tstamp="3" tstamp2="2m+1"/>',
        '<dynam staff="1" tstamp="1">p</dynam>',
        '<dynam startid="#b" endid="#f">cresc.</dynam>',
        '<tempo startid="#a">Lento</tempo><fermata startid="#d"/><trill startid="#d" endid="#f"/>',
        '<octave startid="#a" endid="#d" dis="8" dis.place="above"/>',
        '<tie startid="#d" endid="#e"/>',
        '<fing startid="#a">2</fing><fing startid="#a">4</fing>',
    ],
)
@pytest.mark.parametrize("other_notes", [False, True])
def test_signs_that_cross_the_border_of_a_variant(
    tmp_path: Path, signs: str, other_notes: bool
) -> None:
    bars = ("a=c5/4 b=d#5/4 c=e5/4 d=g5/4", "e=g5/2 f=f5/2", *TEXT[2:]) if other_notes else TEXT
    own = {1: signs, 3: SIGNS[3], 4: SIGNS[4]}
    edition = small(
        tmp_path,
        written(*TEXT),
        [reading("r1", place(1), "W")],
        {"W": mei(*bars, signs=own), "V": without(2)},
    )
    lawful(edition, tmp_path)


TIED = ("a=c5/2 b=d5/2", "c=d5/2 d=e5/2")
BY_ELEMENT = mei(*TIED, signs={1: '<tie startid="#b" endid="#c"/>'})
BY_ATTRIBUTE = mei(
    'a=c5/2 <note xml:id="b" dur="2" pname="d" oct="5" tie="i"/>',
    '<note xml:id="c" dur="2" pname="d" oct="5" tie="t"/> d=e5/2',
)


@pytest.mark.parametrize("text", [BY_ELEMENT, BY_ATTRIBUTE, mei(*TIED)])
@pytest.mark.parametrize("other", [BY_ELEMENT, BY_ATTRIBUTE, mei(*TIED)])
@pytest.mark.parametrize("note", ["", "b", "c"])
def test_ties_by_attribute_and_by_element(
    tmp_path: Path, text: bytes, other: bytes, note: str
) -> None:
    """One of the notes that are tied has a dot over it in the witness, so that it is copied."""
    dotted = other.replace(f'xml:id="{note}"'.encode(), f'xml:id="{note}" artic="stacc"'.encode())
    edition = small(tmp_path, text, witnesses={"W": dotted})
    lawful(edition, tmp_path)


def test_witnesses_that_agree_but_write_it_otherwise(tmp_path: Path) -> None:
    """They share no copy where one of them leaves to its own music what the other says itself."""
    silent = '<note dur="4" pname="f" oct="5" accid.ges="s"/>'
    edition = small(
        tmp_path,
        mei("g5/4 g5/4 g5/2", *TIED),
        witnesses={
            "A": mei("f#5/4 f5/4 g5/2", *TIED, signs={2: '<tie startid="#b" endid="#c"/>'}),
            "B": mei(
                f"e5/4 {silent} g5/2",
                'a=c5/2 <note xml:id="b" dur="2" pname="d" oct="5" tie="i"/>',
                '<note xml:id="c" dur="2" pname="d" oct="5" tie="t"/> d=e5/2',
            ),
        },
    )
    lawful(edition, tmp_path)


@pytest.mark.parametrize(
    ("text", "other"),
    [
        ("(c5/4 d5/4 e5/4) g5/2", "(c5/4 b4/4 e5/4) g5/2"),
        ("c5/4 d5/4 g5/2", "(c5/4 d5/4 e5/4) g5/2"),
        ("c5/2 ~b4/8 c5/2", "~d5/8 c5/2 ~b4/16 c5/2"),
        ("c5/2 d5/2", "c5/2 d5/2 // c4/2 b3/2"),
        ("c5/2 d5/2 // c4/2 b3/2", "c5/2 e5/2"),
        ("c5/2 r/2 // c4/2 b3/2", "c5/2 r/4 r/4 // c4/2 a3/2"),
        ("c5/4 f#5/4 f5/4 g5/4", "c5/4 g5/4 f#5/4 g5/4"),  # carried, then printed
        ("f#5/4 f5/4 fn5/4 f5/4", "e5/4 f#5/4 fn5/4 f5/4"),
        ("c4+e4/2 g5/2", "c4+e4+g4/2 g5/2"),
        ("<mRest/>", "c5/1"),
        ("c5/1", "r/2 r/2"),
    ],
)
def test_notes_of_every_sort(tmp_path: Path, text: str, other: str) -> None:
    edition = small(
        tmp_path, mei("g4/1", text, "g4/1"), witnesses={"W": mei("g4/1", other, "g4/1")}
    )
    lawful(edition, tmp_path)


def test_what_sounds_only_by_an_accidental_that_the_witness_lacks(tmp_path: Path) -> None:
    """The second F of the witness says how it sounds; the text's takes it from the note before."""
    silent = '<note dur="4" pname="f" oct="5" accid.ges="s"/>'
    edition = small(
        tmp_path,
        mei("f#5/4 f5/4 g5/2"),
        witnesses={"W": mei(f"e5/4 {silent} g5/2")},
    )
    lawful(edition, tmp_path)


def test_other_voice_numbers_another_key_and_another_meter(tmp_path: Path) -> None:
    two = tuple(f"{bar} // c4/2 d4/2" for bar in TEXT)
    text = mei(*two, signs=SIGNS)
    other = text.replace(b'pname="g" oct="5"', b'pname="a" oct="5"')
    sounds = {
        e.get("{http://www.w3.org/XML/1998/namespace}id", ""): "n" for e in parse(text).iter()
    }
    keyed = changed.in_another_key(
        other.replace(b"<note dur", b'<note accid.ges="n" dur'), "2s", sounds
    )
    halves = other.replace(b'meter.count="4" meter.unit="4"', b'meter.count="2" meter.unit="2"')
    halves = halves.replace(b'tstamp="3" tstamp2="2m+1"', b'tstamp="2" tstamp2="2m+1.5"')
    edition = small(
        tmp_path,
        text,
        witnesses={"V": changed.voices_renumbered(other), "K": keyed, "M": halves},
    )
    lawful(edition, tmp_path)


MELODY = tuple(
    " ".join(f"{step}5/4" for step in steps)
    for steps in ("cdef", "gfed", "egcb", "abcd", "fage", "dcbg", "afdb", "cegf")
)


@pytest.mark.parametrize("by", [-1, 1, 2])
def test_a_witness_that_is_written_in_another_octave(tmp_path: Path, by: int) -> None:
    other = mei(MELODY[0], "g5/4 f5/4 e#5/4 c5/4", *MELODY[2:4], *MELODY[5:])
    edition = small(tmp_path, mei(*MELODY), witnesses={"W": changed.octave_higher(other, by)})
    assert edition.collations["W", 1].beside.shifts[1].semitones == 12 * by
    lawful(edition, tmp_path)


def test_a_witness_that_is_written_a_fifth_higher(tmp_path: Path) -> None:
    text = mei(*MELODY[:4], "c#5/4 d5/4 c5/4 bb4/4", *MELODY[4:])
    passage = small(tmp_path / "text", text).score.movements[0].passage
    higher = transposed(passage, {1: Move(4, 7)}).mei.replace(b'oct="6"', b'oct="7"', 1)
    edition = small(tmp_path, text, witnesses={"W": higher})
    assert edition.collations["W", 1].beside.shifts[1].semitones == 7
    lawful(edition, tmp_path)


def test_a_bar_divided_by_a_bar_line_and_two_bars_joined(tmp_path: Path) -> None:
    halves = [*MELODY[:3], "a5/4 b5/4", "c5/4 d5/4", *MELODY[4:]]
    joined = [*MELODY[:3], f"{MELODY[3]} {MELODY[4]}", *MELODY[5:]]
    edition = small(
        tmp_path, mei(*MELODY), witnesses={"H": mei(*halves), "J": mei(*joined)}, strict=False
    )
    lawful(edition, tmp_path)
    assert bars_taken(edition, "H").count("|") == 2 * len(halves)
    assert bars_taken(edition, "J").count("|") == 2 * len(joined)


def test_a_staff_that_the_text_has_not_in_every_bar(tmp_path: Path) -> None:
    text = mei(("c5/1", "c4/1"), ("d5/1", "d4/1")).replace(
        b'<staff n="2"><layer n="1"><note dur="1" pname="d" oct="4"/></layer></staff>', b""
    )
    edition = small(tmp_path, text, witnesses={"W": mei(("c5/1", "c4/1"), ("d5/1", "d4/1"))})
    assert text.count(b"<staff ") == 3
    lawful(edition, tmp_path)


@pytest.mark.parametrize("broken", ['li n="x"', 'li n="1"><num unit="step" value="1"/></li'])
def test_a_header_that_was_broken_by_hand_is_refused_in_words(tmp_path: Path, broken: str) -> None:
    edition = small(tmp_path, mei("c5/1"), witnesses={"W": mei("d5/1")})
    spoilt = edition.layered.replace(
        b'<li n="1"/>', f"<{broken}>".encode().replace(b'"x">', b'"x"/>')
    )
    with pytest.raises(NotLayeredError, match="the encoding of W cannot be read"):
        extract_witness(spoilt, "W")


def test_several_movements_in_one_file_or_one_of_them(tmp_path: Path) -> None:
    edition = small(
        tmp_path,
        [mei("c5/1"), mei("d5/1", "e5/1"), mei("f5/1")],
        witnesses={"W": [mei("c#5/1"), mei("d5/1", "e#5/1")]},
    )
    lawful(edition, tmp_path)
    both = witness_document(edition.layered, "W")
    assert [told(section) for section in parse(both).iter(tag("section"))] == [
        "|c#5/1|",
        "|d5/1| |e#5/1|",
    ]
    assert_valid(both)
    assert witness_document(edition.layered, "W", 2) == extract_witness(edition.layered, "W")[2]


def test_what_no_decision_tells_says_so(tmp_path: Path) -> None:
    proposed: Row = reading("r1", place(1), "W") | {"status": "proposed"}
    edition = small(
        tmp_path,
        mei("c5/1", "d5/1"),
        [proposed, reading("r2", place(2), "W")],
        {"W": mei("c#5/1", "d#5/1")},
    )
    (open_fork, answered) = edition.root.iter(tag("app"))
    assert open_fork.get("corresp") == "#decision-.W.1"
    assert open_fork.get("resp") == "#agent-.collation"
    assert answered.get("corresp") == "#decision-r2"
    (annot,) = [a for a in edition.root.iter(tag("annot")) if a.get("type") == "open"]
    assert annot.get("plist") == f"#{open_fork.get('{http://www.w3.org/XML/1998/namespace}id')}"
    assert "".join(annot.itertext()).strip() == (
        "Found by comparison; nothing is decided about this in W yet."
    )
    lawful(edition, tmp_path)


def test_where_all_is_told_nothing_is_open(tmp_path: Path) -> None:
    edition = small(
        tmp_path,
        written(*TEXT),
        [reading("r1", place(1, to={"bar": 5}), "W")],
        {"W": changed.changed(written(*TEXT), random.Random(7), changed.NOTES, 6)},
    )
    assert not [a for a in edition.root.iter(tag("annot")) if a.get("type") == "open"]
    lawful(edition, tmp_path)


KINDS = st.sampled_from([changed.NOTES, changed.SIGNS, changed.BARS, changed.FRAME, changed.ALL])


@settings(deadline=None, max_examples=40, suppress_health_check=list(HealthCheck))
@given(data=st.data(), kinds=KINDS, seed=st.integers(0, 10**6), count=st.integers(0, 9))
def test_the_law(
    data: st.DataObject, kinds: tuple[changed.Change, ...], seed: int, count: int
) -> None:
    """Two witnesses changed in any way, one of them partial, and records of all kinds."""
    chance = random.Random(seed)
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        bars = data.draw(generated.bars)
        base = data.draw(generated.written(bars, data.draw(st.booleans())))
        copy = data.draw(generated.written(data.draw(generated.copies(bars)), False))
        witnesses = {
            "V": changed.changed(copy, chance, kinds, count),
            "W": changed.changed(changed.plain(base), chance, kinds, count),
        }
        if data.draw(st.booleans()):
            first = chance.randrange(len(bars))
            witnesses["W"] = changed.excerpt(witnesses["W"], first, first + chance.randrange(3))
        music = {f"f{n}": data.draw(generated.written(bars[:n], False)) for n in (1, 2)}
        bare = small(folder, base, [], witnesses, music, strict=False)
        passage = bare.score.movements[0].passage
        counts = {
            bar.index + 1: sum(
                e.number is not None for e in passage.events_in.get((1, bar.index), ())
            )
            for bar in passage.bars
        }
        rows = data.draw(generated.records(len(bars), counts, [f"music/{n}.mei" for n in music]))
        edition = small(folder, base, rows, witnesses, music, strict=False)
        note(edition.layered.decode())
        lawful(edition, folder)
