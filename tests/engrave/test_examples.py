"""Examples: what stands above what, with which signs, as a reader of the commentary sees it.

Code points of the music face: Standard Music Font Layout (SMuFL) 1.4, tables "Noteheads",
"String techniques", "Clefs"; values from memory, and as Verovio's own face names them.
"""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction
from pathlib import Path

import pytest
from lxml import etree

from pipeline.collation.model import Decision
from pipeline.engrave.examples import example_wanted
from pipeline.score.model import Moment, Passage
from tests.engrave.decided import decision, engraved, example, glyphs, words
from tests.score.drawn import mei, read

G_CLEF, F_CLEF, BLACK_HEAD, DIAMOND = "\ue050", "\ue062", "\ue0a4", "\ue0db"
DOWN_BOW, UP_BOW = "\ue610", "\ue612"


@pytest.fixture
def text(tmp_path: Path) -> Passage:
    return read(
        tmp_path,
        mei(
            "a=c5/4 b=d5/4 c=e5/4 d=f5/4",
            "e=g5/4 f=a5/4 g=b5/4 h=c6/4",
            "i=c5/1",
            extra={0: '<slur startid="#a" endid="#d"/>'},
        ),
    )


def other(tmp_path: Path, *bars: str, meter: str = "4/4") -> Passage:
    return read(tmp_path, mei(*bars, meter=meter), name="other.mei")


def reading(text: Passage, witness: Passage, first: int = 0, last: int = 0) -> Decision:
    return decision(
        text, first, last, {"S": witness}, kind="reading", lemma=["A"], readings=[VARIANT]
    )


VARIANT = {"witnesses": ["S"]}
ONE_TOUCHED = [{"name": "x", "fingers": "1 touch 4"}]


def corners(markup: str) -> int:
    """How many corners stand above differing notes."""
    root = etree.fromstring(markup)
    return len(list(root.iter("{http://www.w3.org/2000/svg}polyline")))


def test_text_and_reading_stand_in_one_system_with_their_labels(
    text: Passage, tmp_path: Path
) -> None:
    witness = other(tmp_path, "c5/4 d5/4 e5/4 g5/4", "g5/1", "c5/1")
    made = example(text, reading(text, witness))
    assert len(made.systems) == 1
    assert {"Text", "S"} <= set(words(made.systems[0]))
    assert glyphs(made.systems[0]).count(G_CLEF) == 2
    assert glyphs(made.systems[0]).count(BLACK_HEAD) == 8


def test_the_differing_notes_stand_between_corners(text: Passage, tmp_path: Path) -> None:
    witness = other(tmp_path, "c5/4 d5/4 e5/4 g5/4", "g5/1", "c5/1")
    assert corners(example(text, reading(text, witness)).systems[0].markup) == 2


def test_a_slur_that_differs_gets_no_corners(text: Passage, tmp_path: Path) -> None:
    witness = other(tmp_path, "c5/4 d5/4 e5/4 f5/4", "g5/1", "c5/1")
    assert corners(example(text, reading(text, witness)).systems[0].markup) == 0


def test_where_everything_differs_there_is_nothing_to_point_out(
    text: Passage, tmp_path: Path
) -> None:
    witness = other(tmp_path, "c5/1", "g4/4 f4/4 e4/4 d4/4", "c5/1")
    assert corners(example(text, reading(text, witness, 1, 1)).systems[0].markup) == 0


def test_a_reading_with_more_bars_has_a_system_of_its_own(text: Passage, tmp_path: Path) -> None:
    bars = "c5/4 d5/4 e5/4 f5/4", "g5/4 a5/4 b5/4 c6/4", "c5/1", "d5/1"
    longer = other(tmp_path, *bars)
    made = example(text, reading(text, longer, 2, 2))
    assert [set(words(s)) & {"Text", "S"} for s in made.systems] == [{"Text"}, {"S"}]


def test_a_witness_without_the_bars_has_nothing_to_show(text: Passage, tmp_path: Path) -> None:
    shorter = other(tmp_path, "c5/4 d5/4 e5/4 f5/4", "c5/1")
    made = example(text, reading(text, shorter, 1, 1))
    assert [set(words(s)) & {"Text", "S"} for s in made.systems] == [{"Text"}]


def test_a_reading_in_another_meter_has_a_system_of_its_own(text: Passage, tmp_path: Path) -> None:
    other_meter = other(tmp_path, "c5/2.", "c5/2.", "c5/2.", meter="3/4")
    assert len(example(text, reading(text, other_meter)).systems) == 2


def test_an_ossia_stands_above_the_text_on_a_smaller_staff(text: Passage, tmp_path: Path) -> None:
    ossia = other(tmp_path, "c6/1")
    decided = decision(text, 2, 2, played=ossia, kind="ossia", music={"file": "other.mei"})
    picture = example(text, decided).systems[0]
    assert {"ossia", "Text"} <= set(words(picture))
    smaller, larger = sorted(sizes_of(picture.markup, G_CLEF))
    assert smaller < larger


def sizes_of(markup: str, glyph: str) -> list[float]:
    root = etree.fromstring(markup)
    return [
        float(t.get("font-size", "0"))
        for t in root.iter("{http://www.w3.org/2000/svg}text")
        for sign in t.text or ""
        if sign == glyph
    ]


def test_each_fingering_has_a_staff_and_the_editors_digits_stand_in_brackets(
    text: Passage,
) -> None:
    made = example(
        text,
        decision(
            text, 0, 0, kind="fingering",
            alternatives=[
                {"name": "a", "fingers": "1, 2, 3, 4"},
                {"name": "b", "by": "veldt-school", "fingers": "1, none, open, thumb"},
                {"name": "c", "by": "morell", "fingers": "1, 2, 3, 4"},
            ],
        ),
    )  # fmt: skip
    shown = words(made.systems[0])
    assert {"a", "b", "c"} <= set(shown)
    assert sorted(w for w in shown if w[0] in "[(") == sorted(
        ["[1]", "[2]", "[3]", "[4]", "(1)", "(0)", "(T)"]
    )
    assert [w for w in shown if w in {"1", "2", "3", "4"}].count("2") == 1


@pytest.mark.parametrize(
    ("fingers", "named"),
    [
        ("1 on D, 2, 3, 4", ["sul D"]),
        ("1 on D, 2, 1 on A, 2", ["III", "II"]),
        ("1 on D, 2 on D, 1 on A, 2", ["III", "II"]),
        ("1 on III, 2, 1 on II, 2", ["III", "II"]),
        ("1, 2, 3, 4", []),
        ([["1 on G", "4 on D"], 1, 1, 1], ["III/IV"]),
    ],
)
def test_a_run_on_one_string_is_named_in_words_single_notes_by_number(
    text: Passage, fingers: object, named: list[str]
) -> None:
    alternatives = [{"name": "x", "fingers": fingers}]
    decided = decision(text, 0, 0, kind="fingering", by="morell", alternatives=alternatives)
    shown = words(example(text, decided).systems[0])
    assert [w for w in shown if "sul" in w or "I" in w] == named


def test_a_string_that_the_text_names_is_not_named_again(tmp_path: Path) -> None:
    own = mei("a=c5/4 d5/4 e5/4 f5/4", extra={0: '<dir startid="#a">sul G</dir>'})
    text = read(tmp_path, own)
    alternatives = [{"name": "x", "fingers": "1 on G, 2, 3, 4"}]
    made = example(text, decision(text, 0, 0, kind="fingering", alternatives=alternatives))
    assert [w for w in words(made.systems[0]) if "sul" in w] == ["sul G"]


def test_a_stopped_harmonic_shows_the_touching_finger_over_the_stopping_one(
    tmp_path: Path,
) -> None:
    harmonic = mei("h=e5+a5/4 r/4 r/2").replace(
        b'pname="a" oct="5"', b'pname="a" oct="5" head.shape="diamond"'
    )
    text = read(tmp_path, harmonic)
    made = example(
        text,
        decision(
            text, 0, 0, kind="fingering", alternatives=[{"name": "x", "fingers": "1 touch 4"}]
        ),
    )
    assert {"[1]", "[4]"} <= set(words(made.systems[0]))
    assert DIAMOND in glyphs(made.systems[0])


def test_the_texts_own_fingering_is_shown_above_the_alternatives(tmp_path: Path) -> None:
    own = mei("a=c5/1", extra={0: '<fing startid="#a">2</fing>'})
    text = read(tmp_path, own)
    made = example(
        text,
        decision(text, 0, 0, kind="fingering", alternatives=[{"name": "x", "fingers": "3"}]),
    )
    assert {"Text", "x", "2", "[3]"} <= set(words(made.systems[0]))
    assert words(made.systems[0]).count("2") == 1


def test_a_divided_slur_is_kept_and_the_bow_signs_stand_above(text: Passage) -> None:
    made = example(
        text,
        decision(
            text, 0, 0, kind="bowing",
            alternatives=[{"name": "x", "divide_after": 2, "signs": {1: "down"}}],
        ),
    )  # fmt: skip
    picture = made.systems[0]
    assert glyphs(picture).count(DOWN_BOW) == 1
    assert glyphs(picture).count(UP_BOW) == 1
    assert picture.markup.count("stroke-dasharray") == 0


def test_a_division_without_a_known_direction_is_shown_by_broken_slurs(text: Passage) -> None:
    made = example(
        text,
        decision(text, 0, 0, kind="bowing", alternatives=[{"name": "x", "divide_after": 2}]),
    )
    assert DOWN_BOW not in glyphs(made.systems[0])
    assert made.systems[0].markup.count("stroke-dasharray") == 2


def test_an_opposite_bowing_is_drawn_with_its_signs_the_other_way(text: Passage) -> None:
    printed = {"name": "x", "divide_after": 2, "signs": {1: "down"}}
    made = example(
        text,
        decision(
            text, 0, 0, kind="bowing", alternatives=[printed, {"name": "y", "opposite": True}]
        ),
    )
    assert glyphs(made.systems[0]).count(DOWN_BOW) == 2
    assert glyphs(made.systems[0]).count(UP_BOW) == 2


def test_the_bar_number_stands_at_the_beginning(text: Passage, tmp_path: Path) -> None:
    witness = other(tmp_path, "c5/1", "g5/4 a5/4 b5/4 d6/4", "c5/1")
    assert "2" in words(example(text, reading(text, witness, 1, 1)).systems[0])


def test_the_meter_is_shown_only_where_it_begins(text: Passage, tmp_path: Path) -> None:
    four = "\ue084"
    witness = other(tmp_path, "c5/1", "g5/4 a5/4 b5/4 d6/4", "c5/1")
    assert four in glyphs(example(text, reading(text, witness, 0, 0)).systems[0])
    assert four not in glyphs(example(text, reading(text, witness, 1, 1)).systems[0])


def test_a_place_in_the_piano_has_its_own_clef_and_no_violin(tmp_path: Path) -> None:
    two = mei(("c5/1", "c3/1"), labels=("Violin", "Piano")).replace(
        b'<staffDef n="2" lines="5" clef.shape="G" clef.line="2" >',
        b'<staffDef n="2" lines="5" clef.shape="F" clef.line="4">',
    )
    text = read(tmp_path, two)
    made = example(
        text,
        decision(
            text, 0, 0, staff=2, kind="bowing", alternatives=[{"name": "x", "signs": {1: "up"}}]
        ),
    )
    assert F_CLEF in glyphs(made.systems[0])
    assert G_CLEF not in glyphs(made.systems[0])


def test_a_long_place_is_broken_into_lines_no_wider_than_asked_for(tmp_path: Path) -> None:
    text = read(tmp_path, mei(*["c5/8 d5/8 e5/8 f5/8 g5/8 a5/8 b5/8 c6/8"] * 9))
    made = example(
        text,
        decision(text, 0, 8, kind="fingering", alternatives=[{"name": "x", "fingers": "1"}]),
    )
    assert len(made.systems) > 1
    assert all(system.width_mm <= 130.5 for system in made.systems)
    assert all(system.width_mm > 120 for system in made.systems[:-1])


@pytest.mark.parametrize(
    ("kind", "fields", "wanted"),
    [
        ("remark", {}, False),
        ("fingering", {"alternatives": [{"name": "x", "fingers": "1"}]}, True),
        ("bowing", {"alternatives": [{"name": "x"}]}, True),
        ("reading", {"lemma": ["A"], "readings": [{"witnesses": "L", "says": "lost"}]}, False),
    ],
)
def test_an_example_is_wanted_where_notes_or_signs_are_spoken_of(
    text: Passage, kind: str, fields: dict[str, object], wanted: bool
) -> None:
    decided = decision(text, 0, 0, kind=kind, **fields)
    assert example_wanted(decided) is wanted
    assert bool(engraved(text, decided).value) is wanted


def test_a_reading_like_the_text_needs_no_example(text: Passage, tmp_path: Path) -> None:
    same = read(tmp_path, text.mei, name="same.mei")
    assert not example_wanted(reading(text, same))


def test_a_mark_that_is_lost_is_a_problem_of_its_record(tmp_path: Path) -> None:
    lost = mei("a=c5/1", extra={0: '<slur xml:id="lost" startid="#a" endid="#a"/>'})
    text = read(tmp_path, lost)
    outcome = engraved(
        text,
        decision(text, 0, 0, kind="bowing", alternatives=[{"name": "x", "signs": {1: "up"}}]),
    )
    told = [(str(p.origin), p.code) for p in outcome.problems]
    assert ("records/all.yaml:3:1", "lost-in-engraving") in told


def test_the_picture_describes_itself_and_has_no_ids(text: Passage) -> None:
    made = example(
        text, decision(text, 0, 0, kind="bowing", alternatives=[{"name": "x", "signs": {1: "up"}}])
    )
    root = etree.fromstring(made.systems[0].markup)
    assert root.get("aria-label") == 'Bar 1, "bowing" & text'
    assert root.get("role") == "img"
    assert not list(root.iterfind(".//*[@id]"))


def test_a_digit_of_the_text_that_a_fingering_keeps_is_not_the_editors(tmp_path: Path) -> None:
    own = mei("a=c5/4 b=d5/4 c=e5/4 d=f5/4", extra={0: '<fing startid="#b">2</fing>'})
    text = read(tmp_path, own)
    alternatives = [{"name": "kept", "fingers": "1, 2, 3, 4"}]
    shown = words(
        example(text, decision(text, 0, 0, kind="fingering", alternatives=alternatives)).systems[0]
    )
    assert shown.count("2") == 2, "once in the text, once in the fingering that keeps it"
    assert [w for w in shown if w.startswith("[")] == ["[1]", "[3]", "[4]"]


def test_a_reading_that_witnesses_share_has_the_texts_signs_outside_the_place(
    tmp_path: Path,
) -> None:
    text = read(tmp_path, mei("a=c5/4 b=d5/4 c=e5/2", extra={0: '<dir startid="#c">dolce</dir>'}))
    witness = read(
        tmp_path,
        mei("a=c5/4 b=f5/4 c=e5/2", extra={0: '<dir startid="#c">molto</dir>'}),
        name="other.mei",
    )
    decided = reading(text, witness)
    one_note = replace(
        decided.span,
        start=Moment(0, Fraction(1)),
        end=Moment(0, Fraction(2)),
        events=decided.span.events[1:2],
        whole_bars=False,
    )
    (comparison,) = decided.comparisons

    def shown(*witnesses: str) -> list[str]:
        version = replace(comparison.version, witnesses=witnesses)
        compared = replace(comparison, version=version)
        made = example(text, replace(decided, span=one_note, comparisons=(compared,)))
        return [word for word in words(made.systems[0]) if word in {"dolce", "molto"}]

    assert shown("E", "S") == ["dolce", "dolce"]
    assert sorted(shown("S")) == ["dolce", "molto"]
