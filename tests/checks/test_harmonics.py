"""Harmonics that do not exist and stretches that few hands reach, as the editor is told."""

from __future__ import annotations

import pytest

from pipeline.score.model import Marking, MarkingKind
from pipeline.strings.hand_faults import CAUTION
from tests.checks.asking import asked, record
from tests.collation.letters import music, sign

OVER = (
    " > Over a stopped note touch a minor third, major third, fourth, fifth, major sixth or octave."
)
PLACE = "7:3 {} movement 1, bar 1: "

EXIST = [
    # what the ossia has, what is told
    ("1:A3+D4<^>", []),
    ("1:G3+C4<^>", []),  # the open string written where the stopped note stands
    ("1:D5<>", []),
    ("1:D5'harm", []),
    ("1:A3+D4", []),  # an ordinary double stop
    ("1:A3+Eb4<^>", ["bar 1, note 1: e♭′ touched over a sounds no harmonic on the violin"]),
    ("1:G#3<>", ["bar 1, note 1: no string has a node where g♯ is touched on the violin"]),
    ("1:G#4'harm", ["bar 1, note 1: g♯′ is no natural harmonic on the violin"]),
    (
        "2:A3+B3<^> 2:G#3<>",
        [
            "bar 1, note 1: b touched over a sounds no harmonic on the violin",
            "bar 1, note 2: no string has a node where g♯ is touched on the violin",
        ],
    ),
]


@pytest.mark.parametrize(("drawn", "expected"), EXIST)
def test_a_harmonic_that_does_not_exist(drawn: str, expected: list[str]) -> None:
    fragments = {"o.mei": music(drawn, file="o.mei")}
    found = asked("no-such-harmonic", ossia(), {}, fragments)
    head = PLACE.format("error no-such-harmonic:")
    assert found == [f"{head}{message}{OVER}" for message in expected]


def words(content: str, start: str) -> Marking:
    return sign(MarkingKind.WORDS, start, content=content)


def ossia() -> str:
    return record("ossia", "o1", "bar: 1", "music: {file: o.mei}")


def test_in_the_text_it_is_a_warning() -> None:
    text = music("2:A3+D4<^> 2:A3+Eb4<^>", numbers="7")
    assert asked("no-such-harmonic-in-text", "", {}, {}, text) == [
        "score/movement-1.mei:1:1 warning no-such-harmonic-in-text: movement 1, bar 7, note 2: "
        f"e♭′ touched over a sounds no harmonic on the violin{OVER} If the sources have "
        "it so, say so in a remark."
    ]
    assert asked("no-such-harmonic-in-text", "", {}, {}, music("1:A3+D4<^>", numbers="1")) == []


REACHED = [
    # a touched fourth near the nut: 78 mm; a fifth over the same note, 103 mm; an octave, 155 mm
    ("1:Ab3+Db4<^>", "", []),
    ("1:Ab3+Eb4<^>", "wide-harmonics",
     ["warning wide-harmonics: movement 1, bar 1: bar 1, note 1 puts the fingers 103 mm apart, for "
      f"wide hands only > {CAUTION}"]),
    ("2:Ab3+Eb4<^> 2:Ab3+Eb4<^>", "wide-harmonics",
     ["warning wide-harmonics: movement 1, bar 1: bar 1, note 1 puts the fingers 103 mm apart, for "
      f"wide hands only; and 1 more note > {CAUTION}"]),
    ("1:Ab3+Ab4<^>", "harmonic-beyond-reach",
     ["error harmonic-beyond-reach: movement 1, bar 1: bar 1, note 1: the fingers would be 155 mm "
      f"apart at the least > Write it another way. {CAUTION}"]),
]  # fmt: skip


@pytest.mark.parametrize(("drawn", "code", "expected"), REACHED)
def test_what_hands_reach(drawn: str, code: str, expected: list[str]) -> None:
    fragments = {"o.mei": music(drawn, file="o.mei")}
    for rule in ("wide-harmonics", "harmonic-beyond-reach"):
        told = [f"7:3 {message}" for message in expected] if rule == code else []
        assert asked(rule, ossia(), {}, fragments) == told


def test_a_string_that_is_named_counts() -> None:
    """F♯4 with C♯5 touched: 58 mm on the G string, 87 mm on the D string."""
    drawn = "1:F#4+C#5<^>"
    on_g = {"o.mei": music(drawn, words("sul G", "0:0"), file="o.mei")}
    on_d = {"o.mei": music(drawn, words("sul D", "0:0"), file="o.mei")}
    assert asked("wide-harmonics", ossia(), {}, on_g) == []
    (told,) = asked("wide-harmonics", ossia(), {}, on_d)
    assert "bar 1, note 1 puts the fingers 87 mm apart" in told


def test_a_proposed_ossia_is_not_warned_of() -> None:
    fragments = {"o.mei": music("1:Ab3+Eb4<^>", file="o.mei")}
    proposed = record("ossia", "o1", "bar: 1", "music: {file: o.mei}", "status: proposed")
    assert asked("wide-harmonics", proposed, {}, fragments) == []


def test_an_ossia_sounds_on_the_string_that_is_named() -> None:
    """Touched at d″: on G (2/3) it sounds d″, on A (1/4) a‴ (facts of the nodes, Helmholtz)."""
    text = music("1:D5", numbers="1")
    same = record("ossia", "o1", "bar: 1", "music: {file: o.mei}", "sounds: same")
    on_g = {"o.mei": music("1:D5<>", words("sul G", "0:0"), file="o.mei")}
    on_a = {"o.mei": music("1:D5<>", words("II", "0:0"), file="o.mei")}
    assert asked("ossia-sounds-different", same, {}, on_g, text) == []
    (told,) = asked("ossia-sounds-different", same, {}, on_a, text)
    assert "the text sounds d″, the ossia a‴" in told
