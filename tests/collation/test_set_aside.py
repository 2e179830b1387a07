"""Notation that differs without another meaning is counted, each kind by itself, and never told.

Each row is a bar of the text, the same bar as a witness writes it, and what is counted. What is
music is told by the collation and leaves the counts alone. The works of the corpus are read from
MusicXML as the music21 package carries them.
"""

from __future__ import annotations

import random
from collections.abc import Callable
from pathlib import Path

import pytest
from lxml import etree

from pipeline.collation.beside import BarPair, Beside, Obstacle, Shift
from pipeline.collation.collate import collate
from pipeline.collation.collated import SetAside
from pipeline.collation.laying import lay_beside
from pipeline.collation.set_aside import set_aside
from pipeline.problems import Origin
from pipeline.score.model import Passage
from pipeline.score.read import read_passage
from tests.collation.letters import music, told
from tests.corpus import SMALL, corpus_file
from tests.score.drawn import document

MEI = "{http://www.music-encoding.org/ns/mei}"
XML_ID = "{http://www.w3.org/XML/1998/namespace}id"
HEAD = (
    '<scoreDef keysig="1s" meter.count="4" meter.unit="4"><staffGrp>'
    '<staffDef n="1" lines="5" clef.shape="G" clef.line="2"/></staffGrp></scoreDef>'
)


def written(folder: Path, name: str, *bars: str, head: str = HEAD) -> Passage:
    """Return bars whose first layer or whole content is written out in MEI."""
    content = "".join(
        bar if bar.startswith("<measure") else f'<measure n="{n}">{_staff(bar)}</measure>'
        for n, bar in enumerate(bars, 1)
    )
    (folder / name).write_bytes(document(f"{head}<section>{content}</section>"))
    read = read_passage(folder, name, Origin("edition.yaml"))
    assert read.value is not None, read.problems
    return read.value


def _staff(bar: str) -> str:
    layers, _, beside = bar.partition("§")
    inside = "".join(
        f'<layer n="{n}">{layer}</layer>' for n, layer in enumerate(layers.split("//"), 1)
    )
    return f'<staff n="1">{inside}</staff>{beside}'


def beside_of(text: Passage, reading: Passage) -> Beside:
    """Return both bar by bar, whatever they hold."""
    pairs = tuple(BarPair(bar.index, bar.index) for bar in text.bars)
    return Beside(reading, {staff.n: staff.n for staff in text.staves}, pairs)


def counted(text: Passage, reading: Passage) -> dict[str, int]:
    beside = beside_of(text, reading)
    return {kind.name: n for kind, n in set_aside(text, beside).items()}


def differing(text: Passage, reading: Passage) -> list[str]:
    return [told(d) for d in collate(text, beside_of(text, reading), "E", 1).differences]


def note(step: str, octave: int, dur: str = "8", more: str = "", inside: str = "") -> str:
    return f'<note pname="{step}" oct="{octave}" dur="{dur}" {more}>{inside}</note>'


C, D, E, F = (note(step, 5) for step in "cdef")
REST = '<rest dur="2"/>'
Q = note("c", 5, "4", 'xml:id="q"') + note("d", 5, "4", 'xml:id="r"') + REST
LOW = note("e", 4, "2") + note("f", 4, "2")
LOW_DOWN = "".join(note(step, 4, "2", 'stem.dir="down"') for step in "ef")
SPANNED = note("c", 5, "8", 'xml:id="c"') + D + E + note("f", 5, "8", 'xml:id="f"') + REST
BEAMED = f"<beam>{C}{D}{E}{F}</beam>{REST}"

NOTATION = [
    # stems: one that says otherwise; one that says what is usual anyway; whole notes have none
    (Q, Q.replace('xml:id="q"', 'xml:id="q" stem.dir="up"'), {"STEM": 1}),
    (Q, Q.replace('xml:id="q"', 'xml:id="q" stem.dir="down"'), {}),
    (LOW, LOW_DOWN, {"STEM": 2}),
    (note("c", 5, "1"), note("c", 5, "1", 'stem.dir="up"'), {}),
    (f"{LOW}//{LOW}", f"{LOW_DOWN}//{LOW}", {"STEM": 2}),
    # beams: one in two, none at all, two in one; by element, attribute or span
    (BEAMED, f"<beam>{C}{D}</beam><beam>{E}{F}</beam>{REST}", {"BEAM": 1}),
    (BEAMED, f"{C}{D}{E}{F}{REST}", {"BEAM": 1}),
    (f"{BEAMED[:-len(REST)]}{BEAMED[:-len(REST)]}", f"{C}{D}{E}{F}{C}{D}{E}{F}", {"BEAM": 2}),
    (BEAMED, "".join(note(s, 5, "8", f'beam="{b}1"') for s, b in zip("cdef", "immt", strict=True))
     + REST, {}),
    (BEAMED, f"<beam>{C}<beam>{D}{E}</beam>{F}</beam>{REST}", {}),
    (BEAMED, f'{SPANNED}§<beamSpan startid="#c" endid="#f"/>', {}),
    (BEAMED, f'{SPANNED}§<beamSpan plist="#c #f"/>', {"BEAM": 1}),
    # a clef, from the second note on, and back again at once
    (Q, Q.replace('<note pname="d"', '<clef shape="C" line="3"/><note pname="d"'), {"CLEF": 1}),
    (Q, Q.replace(REST, f'<clef shape="F" line="4"/>{REST}'), {"CLEF": 1}),
    (Q, f'{Q}<clef shape="F" line="4"/>', {}),
    # the order of a chord's notes; brackets around an accidental
    (f'<chord dur="1">{note("c", 5)}{note("e", 5)}</chord>',
     f'<chord dur="1">{note("e", 5)}{note("c", 5)}</chord>', {"CHORD": 1}),
    (note("c", 5, "1", "", '<accid accid="s"/>'),
     note("c", 5, "1", "", '<accid accid="s" enclose="paren"/>'), {"BRACKET": 1}),
    # silence
    ("<mRest/>", '<rest dur="1"/>', {"REST": 1}),
    (Q, Q.replace(REST, '<rest dur="4"/><rest dur="4"/>'), {"REST": 1}),
    (Q, Q.replace(REST, '<space dur="2"/>'), {"REST": 1}),
    (f"{Q}//<mRest/>", Q, {"REST": 1}),
    # sides
    (f'{Q}§<dynam startid="#q" place="below">p</dynam>',
     f'{Q}§<dynam startid="#q" place="above">p</dynam>', {"SIDE": 1}),
    (f'{Q}§<dynam startid="#q">p</dynam>', f'{Q}§<dynam startid="#q" place="below">p</dynam>', {}),
    (f'{Q}§<dynam startid="#q">p</dynam>', f'{Q}§<dynam tstamp="1" place="above">p</dynam>',
     {"SIDE": 1}),
    (f'{Q}§<slur startid="#q" endid="#r"/>',
     f'{Q}§<slur startid="#q" endid="#r" curvedir="below"/>', {"SIDE": 1}),
    (f'{Q}§<slur startid="#q" endid="#r"/>',
     f'{Q}§<slur startid="#q" endid="#r" curvedir="above"/>', {}),
    (f'{Q}§<fermata startid="#q" form="norm"/>', f'{Q}§<fermata startid="#q" form="inv"/>', {}),
    (f'{Q}§<fermata startid="#q" place="above"/>', f'{Q}§<fermata startid="#q" form="inv"/>',
     {"SIDE": 1}),
    (note("c", 5, "1", "", '<artic artic="upbow"/>'),
     note("c", 5, "1", "", '<artic artic="upbow" place="below"/>'), {"SIDE": 1}),
    (note("c", 5, "2", "", '<artic artic="stacc"/>') + REST,
     note("c", 5, "2", "", '<artic artic="stacc" place="below"/>') + REST, {"SIDE": 1}),
    # the sound is all the same, and nothing else is
    (f'<measure n="1" right="dbl">{_staff(Q)}</measure>', Q, {"BAR_LINE": 1}),
    (f'<measure n="1" right="single">{_staff(Q)}</measure>', Q, {}),
    (Q, f'<measure n="13">{_staff(Q)}</measure>', {"BAR_NUMBER": 1}),
]  # fmt: skip


@pytest.mark.parametrize(("text", "reading", "expected"), NOTATION)
def test_notation_is_counted_by_its_kind_and_never_told(
    text: str, reading: str, expected: dict[str, int], tmp_path: Path
) -> None:
    one = written(tmp_path, "text.mei", text)
    other = written(tmp_path, "witness.mei", reading)
    assert counted(one, other) == expected
    assert counted(other, one) == expected
    assert differing(one, other) == []


MUSIC = [
    # what is music, or follows from it, is told; nothing is counted
    (Q, Q.replace('pname="d"', 'pname="e"')),
    (Q, Q.replace('pname="d" oct="5"', 'pname="d" oct="4"')),
    (BEAMED, f"<beam>{C}{D}{E}</beam>{note('f', 5, '16')}<rest dur=\"16\"/>{REST}"),
    (BEAMED, f"<beam>{C}<rest dur=\"8\"/>{E}{F}</beam>{REST}"),
    (BEAMED, BEAMED.replace(E, note("e", 4))),
    (Q, Q.replace(REST, note("e", 5, "2"))),
    (Q, f"{Q}//{note('g', 4, '1')}"),
    (f'{Q}§<slur startid="#q" endid="#r" curvedir="above"/>', Q),
    (f'{Q}§<dynam startid="#q" place="above">p</dynam>',
     f'{Q}§<dynam startid="#q" place="below">f</dynam>'),
    # an enharmonic spelling is another reading
    (note("c", 5, "1", 'accid="s"'), note("d", 5, "1", 'accid="f"')),
    # a clef that alters the sound of all that stands under it
    (Q, f'<clef shape="C" line="3"/>{note("d", 4, "4")}{note("e", 4, "4")}{REST}'),
]  # fmt: skip


@pytest.mark.parametrize(("text", "reading"), MUSIC)
def test_music_that_differs_is_told_and_leaves_the_counts_alone(
    text: str, reading: str, tmp_path: Path
) -> None:
    one = written(tmp_path, "text.mei", text)
    other = written(tmp_path, "witness.mei", reading)
    assert counted(one, other) == {}
    assert differing(one, other) != []


def test_breaks_count_between_bars_only(tmp_path: Path) -> None:
    bar = _staff(LOW)
    bars = [f'<measure n="{n}">{bar}</measure>' for n in range(1, 5)]
    text = written(tmp_path, "text.mei", bars[0], bars[1], f"{bars[2]}<sb/>", bars[3])
    head = f"<pb/>{HEAD}"
    witness = written(
        tmp_path, "witness.mei", f"{bars[0]}<sb/>", bars[1], f"{bars[2]}<sb/><pb/>", bars[3],
        head=head,
    )  # fmt: skip
    assert counted(text, witness) == {"BREAK": 2}


def test_a_repeat_sign_is_no_mere_kind_of_bar_line(tmp_path: Path) -> None:
    text = written(tmp_path, "text.mei", f'<measure n="1" right="rptend">{_staff(Q)}</measure>')
    assert counted(text, written(tmp_path, "witness.mei", Q)) == {}


def test_a_repeat_sign_before_the_first_bar_changes_nothing(tmp_path: Path) -> None:
    text = written(tmp_path, "text.mei", f'<measure n="1" left="rptstart">{_staff(Q)}</measure>')
    witness = written(tmp_path, "witness.mei", Q)
    assert counted(text, witness) == {"BAR_LINE": 1}
    assert differing(text, witness) == []


def test_a_meter_as_a_sign_or_in_figures_counts_once(tmp_path: Path) -> None:
    text = written(tmp_path, "text.mei", Q, Q.replace("xml:id", "label"))
    sign = HEAD.replace("meter.count", 'meter.sym="common" meter.count')
    witness = written(tmp_path, "witness.mei", Q, Q.replace("xml:id", "label"), head=sign)
    assert counted(text, witness) == {"METER": 1}


def test_another_meter_is_no_mere_notation(tmp_path: Path) -> None:
    text = written(tmp_path, "text.mei", Q)
    cut = HEAD.replace('count="4" meter.unit="4"', 'count="2" meter.unit="2"')
    assert counted(text, written(tmp_path, "witness.mei", Q, head=cut)) == {}


def test_a_key_signature_counts_where_its_steps_sound_the_same(tmp_path: Path) -> None:
    sharp = note("f", 5, "2", 'accid.ges="s"') + note("c", 5, "2")
    spelled = note("f", 5, "2", 'accid="s"') + note("c", 5, "2")
    plain = note("f", 5, "2") + note("c", 5, "2")
    no_key = HEAD.replace("1s", "0")
    text = written(tmp_path, "text.mei", sharp)
    assert counted(text, written(tmp_path, "a.mei", spelled, head=no_key)) == {"KEY": 1}
    assert counted(text, written(tmp_path, "b.mei", plain, head=no_key)) == {}


def test_the_key_of_a_transposing_part_is_not_counted(tmp_path: Path) -> None:
    text = written(tmp_path, "text.mei", LOW.replace('pname="f"', 'pname="d"'))
    witness = written(
        tmp_path,
        "witness.mei",
        LOW.replace('pname="f"', 'pname="d"'),
        head=HEAD.replace("1s", "3s"),
    )
    beside = beside_of(text, witness)
    transposed = Beside(witness, beside.staves, beside.pairs, {1: Shift(1, 2)})
    assert SetAside.KEY in set_aside(text, beside)
    assert set_aside(text, transposed) == {}


def test_an_octave_sign_counts_where_the_sound_is_left(tmp_path: Path) -> None:
    high = note("c", 6, "2", 'xml:id="a"') + note("d", 6, "2", 'xml:id="b"')
    low = high.replace('oct="6"', 'oct="5"')
    sign = '§<octave staff="1" startid="#a" endid="#b" dis="8" dis.place="above"/>'
    text = written(tmp_path, "text.mei", high)
    assert counted(text, written(tmp_path, "sign.mei", low + sign)) == {"OCTAVE_SIGN": 1}
    assert counted(text, written(tmp_path, "higher.mei", high + sign)) == {}
    assert differing(text, written(tmp_path, "higher.mei", high + sign)) == [
        "octave sign added 0:0-0:2 . | 8 above@0:0-0:2"
    ]


def test_a_part_in_another_clef_counts_it_once(tmp_path: Path) -> None:
    alto = HEAD.replace('"G" clef.line="2"', '"C" clef.line="3"')
    text = written(tmp_path, "text.mei", LOW, LOW, LOW)
    assert counted(text, written(tmp_path, "witness.mei", LOW, LOW, LOW, head=alto)) == {"CLEF": 1}


def test_only_paired_bars_count() -> None:
    text, reading = music("1:C5 | 1:r | 1:r"), music("1:C5 | 2:r 2:r | 2:r 2:r", numbers="1 2 9")
    pairs = (BarPair(0, 0), BarPair(1, 1), BarPair(2, None), BarPair(None, 2))
    assert set_aside(text, Beside(reading, {1: 1}, pairs)) == {SetAside.REST: 1}


def test_music_without_mei_is_counted_by_what_it_says_itself() -> None:
    text, reading = music("1:r | 1:C5", numbers="1 2"), music("2:r 2:r | 1:C5", numbers="0 1")
    assert counted(text, reading) == {"REST": 1, "BAR_NUMBER": 2}


def test_nothing_is_counted_where_nothing_can_be_compared() -> None:
    text = music("1:r")
    beside = Beside(music("2:r 2:r"), {1: 1}, (BarPair(0, 0),), obstacle=Obstacle.EMPTY)
    assert set_aside(text, beside) == {}


# --- works of the corpus -------------------------------------------------------------------------

Planting = Callable[[etree._Element, random.Random], int]


def _flip_stems(root: etree._Element, chance: random.Random) -> int:
    other = {"up": "down", "down": "up"}
    notes = [e for e in root.iter(f"{MEI}note", f"{MEI}chord") if e.get("stem.dir") in other]
    whole = {"1", "breve"}
    chosen = chance.sample([e for e in notes if e.get("dur") not in whole], 12)
    for one in chosen:
        one.set("stem.dir", other[one.get("stem.dir", "")])
    return len(chosen)


def _take_beams_away(root: etree._Element, chance: random.Random) -> int:
    beams = [
        beam
        for beam in root.iter(f"{MEI}beam")
        if beam.getparent().tag == f"{MEI}layer"
        and not any(e.get("grace") for e in beam.iter())
        and not list(beam.iter(f"{MEI}beam"))[1:]
    ]
    chosen = chance.sample(beams, min(7, len(beams)))
    for beam in chosen:
        for child in reversed(list(beam)):
            beam.addnext(child)
        beam.getparent().remove(beam)
    return len(chosen)


def _break_lines(root: etree._Element, chance: random.Random) -> int:
    measures = list(root.iter(f"{MEI}measure"))[1:]
    chosen = chance.sample([m for m in measures if not _after_break(m)], 4)
    for measure in chosen:
        measure.addprevious(etree.Element(f"{MEI}sb"))
    return len(chosen)


def _after_break(measure: etree._Element) -> bool:
    before = measure.getprevious()
    return before is not None and before.tag in {f"{MEI}sb", f"{MEI}pb"}


def _count_bars_from_zero(root: etree._Element, _: random.Random) -> int:
    measures = list(root.iter(f"{MEI}measure"))
    for measure in measures:
        measure.set("n", f"{measure.get('n')}bis")
    return len(measures)


def _turn_chords(root: etree._Element, chance: random.Random) -> int:
    chords = [c for c in root.iter(f"{MEI}chord") if len(c.findall(f"{MEI}note")) == 2]
    chosen = chance.sample(chords, min(5, len(chords)))
    for chord in chosen:
        first, second = chord.findall(f"{MEI}note")
        second.addnext(first)
    return len(chosen)


def _turn_sides(root: etree._Element, chance: random.Random) -> int:
    other = {"above": "below", "below": "above"}
    count = 0
    for attribute, name in (("curvedir", "slur"), ("place", "dynam"), ("place", "hairpin")):
        signs = [e for e in root.iter(f"{MEI}{name}") if e.get(attribute) in other]
        for one in chance.sample(signs, min(4, len(signs))):
            one.set(attribute, other[one.get(attribute, "")])
            count += 1
    return count


def _split_rests(root: etree._Element, chance: random.Random) -> int:
    half = {"2": "4", "4": "8", "8": "16"}
    rests = [
        rest
        for rest in root.iter(f"{MEI}rest")
        if rest.get("dur") in half and not rest.get("dots") and rest.getparent().tag != f"{MEI}beam"
    ]
    silences = {rest.getparent(): rest for rest in rests}  # one a layer: rests may touch
    chosen = chance.sample(list(silences.values()), min(6, len(silences)))
    for rest in chosen:
        rest.set("dur", half[rest.get("dur", "")])
        rest.addnext(etree.Element(f"{MEI}rest", dur=rest.get("dur", "")))
    return len(chosen)


def _change_clefs(root: etree._Element, _: random.Random) -> int:
    """Put two layers far from each other into an odd clef, each all alone."""
    layers = [
        layer
        for layer in root.iter(f"{MEI}layer")
        if len(layer.getparent()) == 1 and list(layer.iter(f"{MEI}note"))
    ]
    chosen = [layers[len(layers) // 5], layers[len(layers) // 2]]
    for layer in chosen:
        staff = layer.getparent()
        before = [
            clef
            for clef in root.iter(f"{MEI}clef", f"{MEI}staffDef")
            if clef.get("clef.shape") or clef.get("shape")
        ]
        shape, line = _clef_before(before, staff)
        layer.insert(0, etree.Element(f"{MEI}clef", shape="C", line="1"))
        layer.append(etree.Element(f"{MEI}clef", shape=shape, line=line))
    return len(chosen)


def _clef_before(clefs: list[etree._Element], staff: etree._Element) -> tuple[str, str]:
    """Return the clef in force at the end of that bar of a staff."""
    root = staff.getroottree().getroot()
    order = {element: n for n, element in enumerate(root.iter())}
    end = max(order[one] for one in staff.iter())
    found = ("", "")
    for clef in clefs:
        holder = next(clef.iterancestors(f"{MEI}staff", f"{MEI}staffDef"), clef)
        if order[clef] <= end and holder.get("n") == staff.get("n"):
            found = (
                clef.get("shape") or clef.get("clef.shape", ""),
                clef.get("line") or clef.get("clef.line", ""),
            )
    return found


PLANTED: list[tuple[Planting, SetAside]] = [
    (_flip_stems, SetAside.STEM),
    (_take_beams_away, SetAside.BEAM),
    (_break_lines, SetAside.BREAK),
    (_count_bars_from_zero, SetAside.BAR_NUMBER),
    (_turn_chords, SetAside.CHORD),
    (_turn_sides, SetAside.SIDE),
    (_split_rests, SetAside.REST),
    (_change_clefs, SetAside.CLEF),
]


@pytest.fixture(scope="module", params=SMALL)
def work(request: pytest.FixtureRequest) -> Passage:
    file = corpus_file(request.param)
    read = read_passage(file.parent, file.name, Origin("edition.yaml"))
    assert read.value is not None, read.problems
    return read.value


@pytest.mark.parametrize(("plant", "kind"), PLANTED, ids=[kind.name for _, kind in PLANTED])
def test_what_is_planted_in_a_work_is_counted_exactly(
    work: Passage, plant: Planting, kind: SetAside, tmp_path: Path
) -> None:
    root = etree.fromstring(work.mei)
    count = plant(root, random.Random(7))
    (tmp_path / "planted.mei").write_bytes(etree.tostring(root))
    reading = read_passage(tmp_path, "planted.mei", Origin("edition.yaml")).value
    assert reading is not None
    beside = lay_beside(work, reading)
    assert set_aside(work, beside) == ({kind: count} if count else {})
    assert collate(work, beside, "E", 1).differences == ()


def test_real_changes_in_a_work_add_to_no_count(work: Passage, tmp_path: Path) -> None:
    root = etree.fromstring(work.mei)
    chance = random.Random(11)
    notes = [n for n in root.iter(f"{MEI}note") if not n.get("tie") and not n.get("grace")]
    for note_element in chance.sample(notes, 10):
        steps = "cdefgab"
        note_element.set("pname", steps[(steps.index(note_element.get("pname", "")) + 2) % 7])
    slurs = list(root.iter(f"{MEI}slur", f"{MEI}dynam", f"{MEI}hairpin"))
    for marking in chance.sample(slurs, min(5, len(slurs))):
        marking.getparent().remove(marking)
    (tmp_path / "changed.mei").write_bytes(etree.tostring(root))
    reading = read_passage(tmp_path, "changed.mei", Origin("edition.yaml")).value
    assert reading is not None
    beside = lay_beside(work, reading)
    assert set(set_aside(work, beside)) <= {SetAside.CHORD}
    assert len(collate(work, beside, "E", 1).differences) >= 10


def test_a_passage_beside_itself_differs_in_nothing(work: Passage) -> None:
    assert set_aside(work, lay_beside(work, work)) == {}
