"""Bowings of records carried out on four slurred notes, C5 to F5, and what follows them.

That dividing one slur into k strokes turns what follows k - 1 times is arithmetic; that a slur
divided in performance keeps the bow on the string is common practice, no source.
"""

from __future__ import annotations

import pytest
from pydantic import TypeAdapter, ValidationError

from pipeline.edition.records import Bowing, BowingAlternative
from pipeline.score.model import Passage
from pipeline.strings.bowing import in_effect, opposite_of
from tests.collation.letters import music, slur
from tests.strings.bowed import carried_out, drawn, troubles

FOUR = music("4:C5 4:D5 4:E5 4:F5 | 4:G5 4:A5 4:B5 4:C6", slur("0:0", "0:3"))
TWO_SLURS = music(
    "4:C5 4:D5 4:E5 4:F5 | 4:G5 4:A5 4:B5 4:C6", slur("0:0", "0:3"), slur("1:0", "1:3")
)
WITH_REST = music("4:C5 4:D5 4:r 4:F5 | 4:G5 4:A5 4:B5 4:C6", slur("0:0", "0:3"))
GRACED = music("4:C5 g8:D5 4:D5 4:E5 4:F5", slur("0:0", "0:3"))
SIGNED = music("4:C5'dnbow 4:D5 4:E5 4:F5 | 2:G5'dnbow 2:A5", slur("0:0", "0:3"))
PLUCKED = music("4:C5'lhpizz 4:D5'lhpizz 2:E5")

CARRIED_OUT: list[tuple[Passage, int, int, dict[str, object], str]] = [
    (FOUR, 1, 4, {"signs": {1: "down"}}, "D(C5 D5 E5 F5)"),
    (FOUR, 1, 4, {"divide_after": 2, "signs": {1: "down"}}, "D(C5 D5) u(E5 F5)"),
    (FOUR, 1, 4, {"divide_after": [1, 2, 3], "signs": {1: "up"}}, "U(C5) d(D5) u(E5) d(F5)"),
    (FOUR, 1, 4, {"divide_after": 2, "signs": {3: "down"}}, "u(C5 D5) D(E5 F5)"),
    (FOUR, 1, 4, {"divide_after": 2}, "?(C5 D5) ?(E5 F5)"),
    (FOUR, 1, 5, {"divide_after": 2, "signs": {1: "down"}}, "D(C5 D5) u(E5 F5) d(G5)"),
    (FOUR, 5, 8, {"join": True, "signs": {1: "up"}}, "U(G5 A5 B5 C6)"),
    (FOUR, 4, 5, {"join": True, "signs": {1: "up"}}, "?(C5 D5 E5 F5 G5)"),
    (FOUR, 2, 3, {"divide_after": 1, "signs": {2: "up"}}, "d(C5 D5) U(E5 F5)"),
    (TWO_SLURS, 1, 8, {"divide_after": [2, 6], "signs": {1: "down"}},
     "D(C5 D5) u(E5 F5) d(G5 A5) u(B5 C6)"),
    (TWO_SLURS, 1, 8, {"join": True, "signs": {1: "down"}}, "D(C5 D5 E5 F5 G5 A5 B5 C6)"),
    (SIGNED, 1, 4, {"divide_after": 2}, "D(C5 D5) u(E5 F5)"),
    (SIGNED, 1, 4, {"divide_after": 2, "signs": {1: "up"}}, "U(C5 D5) d(E5 F5)"),
    (GRACED, 1, 5, {"divide_after": 1, "signs": {1: "up"}}, "U(C5) d(gD5 D5 E5 F5)"),
    (PLUCKED, 1, 2, {"signs": {1: "up"}}, ""),
]  # fmt: skip


@pytest.mark.parametrize(("text", "first", "last", "alternative", "strokes"), CARRIED_OUT)
def test_an_alternative_carried_out(
    text: Passage, first: int, last: int, alternative: dict[str, object], strokes: str
) -> None:
    assert drawn(carried_out(text, first, last, **alternative).strokes) == strokes


@pytest.mark.parametrize(
    ("text", "alternative", "signs"),
    [
        (FOUR, {"divide_after": [1, 3], "signs": {1: "up"}}, {1: "up", 2: "down", 4: "up"}),
        (FOUR, {"divide_after": [1, 3], "signs": {2: "up"}}, {2: "up", 4: "down"}),
        (FOUR, {"divide_after": [1, 3], "signs": {4: "up"}}, {2: "down", 4: "up"}),
        (FOUR, {"divide_after": [1, 3]}, {}),
        (FOUR, {"join": True, "signs": {1: "down"}}, {1: "down"}),
        # The second slur turns the bow as well, although no sign stands there.
        (TWO_SLURS, {"divide_after": [2, 6], "signs": {1: "down"}}, {1: "down", 3: "up", 7: "up"}),
        (FOUR, {"divide_after": 9, "signs": {1: "down", 9: "up"}}, {1: "down"}),
    ],
)
def test_the_signs_that_are_printed(
    text: Passage, alternative: dict[str, object], signs: dict[int, str]
) -> None:
    assert carried_out(text, **alternative).signs == signs


@pytest.mark.parametrize("divisions", [[], [2], [1, 2], [1, 2, 3]])
def test_a_slur_in_k_strokes_turns_what_follows_k_minus_1_times(divisions: list[int]) -> None:
    done = carried_out(FOUR, 1, 4, divide_after=divisions, signs={1: "down"})
    assert done.turns == len(divisions) == len(done.strokes) - 1


AMISS = [
    (FOUR, {"divide_after": 2, "signs": {1: "down", 3: "down"}},
     ["note 3 (1): signs do not match the division of a slur"]),
    (FOUR, {"divide_after": [1, 2], "signs": {1: "down", 3: "up"}},
     ["note 3 (1): signs do not match the division of a slur"]),
    (FOUR, {"divide_after": 2, "signs": {1: "down", 3: "up"}}, []),
    (FOUR, {"signs": {1: "down", 3: "up"}}, ["note 3 (1): a sign stands within a stroke"]),
    (FOUR, {"divide_after": 2, "signs": {1: "down", 4: "up"}},
     ["note 4 (3): a sign stands within a stroke"]),
    (FOUR, {"join": True, "signs": {1: "down", 5: "up"}},
     ["note 5 (1): a sign stands within a stroke"]),
    (TWO_SLURS, {"signs": {1: "down", 5: "down"}},
     ["note 5 (1): two signs do not hold without a retake"]),
    (TWO_SLURS, {"divide_after": 2, "signs": {1: "down", 5: "up"}},
     ["note 5 (1): two signs do not hold without a retake"]),
    (TWO_SLURS, {"divide_after": 2, "signs": {1: "down", 5: "down"}}, []),
    (FOUR, {"signs": {5: "down", 6: "down"}}, []),  # told so on single notes: taken back
    (FOUR, {"signs": {5: "down", 8: "down"}},
     ["note 8 (5): two signs do not hold without a retake"]),
    (WITH_REST, {"divide_after": 2, "signs": {1: "down", 3: "down"}}, []),  # a rest is between
    (GRACED, {"divide_after": 2, "signs": {1: "down"}},
     ["note 2 (3): the bow changes within one sound"]),
    (GRACED, {"divide_after": 1, "signs": {1: "down", 2: "up"}}, []),
    (GRACED, {"divide_after": 1, "signs": {1: "down", 2: "up", 3: "down"}},
     ["note 3 (2): a sign stands within a stroke"]),
    (GRACED, {"divide_after": 1, "signs": {1: "down", 3: "up"}}, []),
    (PLUCKED, {"signs": {2: "down", 3: "up"}}, ["note 2 (2): a sign stands at a plucked note"]),
]  # fmt: skip


@pytest.mark.parametrize(("text", "alternative", "expected"), AMISS)
def test_what_is_amiss(text: Passage, alternative: dict[str, object], expected: list[str]) -> None:
    assert troubles(carried_out(text, **alternative)) == expected


@pytest.mark.parametrize(
    ("text", "first", "last", "alternative", "expected"),
    [
        (SIGNED, 1, 4, {"divide_after": 2, "signs": {1: "up"}},
         ["note 4 (4): a sign of the text just after does not agree"]),
        (SIGNED, 1, 4, {"divide_after": 2, "signs": {1: "down"}}, []),
        (SIGNED, 5, 6, {"signs": {1: "down"}},
         ["note 1 (1): a sign of the text just before does not agree"]),
        (SIGNED, 5, 6, {"signs": {1: "up"}}, []),
    ],
)  # fmt: skip
def test_beside_the_signs_of_the_text(
    text: Passage, first: int, last: int, alternative: dict[str, object], expected: list[str]
) -> None:
    assert troubles(carried_out(text, first, last, **alternative)) == expected


def test_a_rest_between_lets_the_bow_be_taken_back() -> None:
    assert carried_out(WITH_REST, divide_after=2, signs={1: "down", 3: "down"}).retakes == (1,)
    assert carried_out(WITH_REST, divide_after=2, signs={1: "down", 3: "up"}).retakes == ()


RECORD = TypeAdapter(Bowing)
USUAL = {
    "id": "b", "kind": "bowing", "by": "editor", "date": "2026-03-01", "reason": "because",
    "place": {"movement": 1, "bar": 1},
}  # fmt: skip
ONE = {"name": "one", "divide_after": [2], "signs": {1: "down", 3: "up"}}
TWO = {"name": "two", "signs": {1: "up"}}
OPPOSITE = {"name": "three", "opposite": True}


def record(*alternatives: dict[str, object], **more: object) -> Bowing:
    return RECORD.validate_python({**USUAL, "alternatives": list(alternatives), **more})


@pytest.mark.parametrize(
    ("written", "divided", "signs"),
    [
        (record(ONE, TWO, OPPOSITE), (2,), {1: "up", 3: "down"}),
        (record(ONE, TWO, OPPOSITE, printed="two"), (), {1: "down"}),
        (record(OPPOSITE, TWO), (), {1: "down"}),
        (record(ONE, TWO, OPPOSITE, printed=["three", "two"]), (), {1: "down"}),
    ],
)
def test_the_opposite_of_what_is_printed(
    written: Bowing, divided: tuple[int, ...], signs: dict[int, str]
) -> None:
    (computed,) = (one for one in in_effect(written) if one.opposite)
    assert (computed.divide_after, computed.signs) == (divided, signs)


def test_the_opposite_twice_is_the_model() -> None:
    model = BowingAlternative.model_validate(ONE)
    blank = BowingAlternative.model_validate(OPPOSITE)
    twice = opposite_of(opposite_of(model, blank), blank)
    assert (twice.divide_after, twice.signs) == (model.divide_after, model.signs)


@pytest.mark.parametrize(
    ("alternatives", "told"),
    [
        ([ONE, {**OPPOSITE, "signs": {1: "up"}}], "an `opposite` bowing has `signs` of its own"),
        ([ONE, {**OPPOSITE, "divide_after": 2}],
         "an `opposite` bowing has `divide_after` of its own"),
        ([ONE, {**OPPOSITE, "join": True}], "an `opposite` bowing has `join` of its own"),
        ([OPPOSITE], "there is no bowing with a sign that this one could be the opposite of"),
        ([{"name": "one", "divide_after": 2}, OPPOSITE],
         "there is no bowing with a sign that this one could be the opposite of"),
    ],
)  # fmt: skip
def test_an_opposite_of_nothing_is_refused(
    alternatives: list[dict[str, object]], told: str
) -> None:
    with pytest.raises(ValidationError, match=told):
        record(*alternatives)
