"""What witnesses have alike stands together, in reading order, with the records that answer it.

Text and A: bar 1 C5 D5 E5 F5, bar 2 G5 A5 B5, bar 3 C6, bar 4 G5.
"""

from __future__ import annotations

from collections.abc import Mapping

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pipeline.collation.collated import BarDifference, Departure
from pipeline.score.model import Marking, MarkingKind, Passage
from tests.collation.letters import dynamic, music, sign, slur
from tests.collation.small_edition import COMMON, small_edition

NOTES = "4:C5 4:D5 4:E5 4:F5 | 4:G5 4:A5 2:B5 | 2:C6 2:r | 1:G5"
SLURRED = slur("0:0", "0:3")


def witness(siglum: str, drawn: str = NOTES, *markings: Marking) -> Passage:
    return music(drawn, *markings, file=f"{siglum}.mei")


def departures_of(
    witnesses: Mapping[str, Passage], records: str = "", text: Passage | None = None
) -> list[str]:
    material, _ = small_edition(records, witnesses, text=text or music(NOTES))
    return [spoken(departure) for departure in material.departures]


def spoken(departure: Departure) -> str:
    """Return `pitch 0 E S: r1`: kind, bar index, witnesses, records; (r1) if only proposed."""
    first = departure.differences[0]
    if isinstance(first, BarDifference):
        what = f"{first.change} {first.at}"
    else:
        change = "" if first.change == "otherwise" else f" {first.change}"
        what = f"{first.kind}{change} {first.start.bar}"
    names = " ".join(departure.answers) or " ".join(f"({one})" for one in departure.proposed)
    return f"{what} {' '.join(departure.witnesses)}: {names or 'open'}"


def reading(id_: str, place: str, lemma: str, readings: str, status: str = "accepted") -> str:
    common = COMMON.replace(", ", "\n  ")
    return (
        f"- id: {id_}\n  kind: reading\n  place: {{movement: 1, {place}}}\n  {common}\n"
        f"  status: {status}\n  lemma: {lemma}\n  readings: [{readings}]\n  reason: r\n"
    )


MISREAD = NOTES.replace("D5", "B4")


def test_witnesses_that_have_the_same_stand_together() -> None:
    both = {"E": witness("E", MISREAD), "S": witness("S", MISREAD)}
    assert departures_of(both) == ["pitch 0 E S: open"]


def test_witnesses_that_differ_otherwise_stand_apart() -> None:
    apart = {"E": witness("E", MISREAD), "S": witness("S", NOTES.replace("D5", "A4"))}
    assert departures_of(apart) == ["pitch 0 E: open", "pitch 0 S: open"]


def test_what_differs_besides_does_not_part_witnesses() -> None:
    """Both have B4 for D5, and S has a dot above it."""
    dotted = NOTES.replace("4:D5", "4:B4'stacc")
    assert departures_of({"E": witness("E", MISREAD), "S": witness("S", dotted)}) == [
        "pitch 0 E S: open",
        "articulation added 0 S: open",
    ]


def test_two_words_at_one_moment_are_two_things() -> None:
    words = [sign(MarkingKind.WORDS, "0:0", content=content) for content in ("dolce", "sul G")]
    one_each = {siglum: witness(siglum, NOTES, words[n]) for n, siglum in enumerate(("E", "S"))}
    assert departures_of(one_each, text=music(NOTES, *words)) == [
        "words missing 0 E: open",
        "words missing 0 S: open",
    ]


def test_two_digits_of_one_chord_are_two_things() -> None:
    """The witness has another digit on one note of the chord, and none on the other."""
    one, three, two = (sign(MarkingKind.FINGERING, "0:0", content=digit) for digit in "132")
    record = reading("r1", "bar: 1", "A", "{witnesses: E}").replace(
        "  lemma", "  throughout: [fingering missing]\n  lemma"
    )
    has = {"E": witness("E", NOTES, two)}
    assert departures_of(has, record, music(NOTES, one, three)) == [
        "fingering 0 E: open",
        "fingering missing 0 E: r1",
    ]


def test_everything_stands_in_reading_order() -> None:
    changed = "4:C5 4:B4 4:E5 4:F5 | 4:G5 4:F5 2:B5 | 2:C6 2:r | 1:A5"
    loud = [dynamic("0:0", "p"), dynamic("1:0", "f")]
    assert departures_of({"E": witness("E", changed, *loud)}) == [
        "dynamic added 0 E: open",
        "pitch 0 E: open",
        "dynamic added 1 E: open",
        "pitch 1 E: open",
        "pitch 3 E: open",
    ]


BOTH = {"E": witness("E", MISREAD), "S": witness("S", MISREAD)}


@pytest.mark.parametrize(
    ("records", "expected"),
    [
        (reading("r1", "bar: 1", "A", "{witnesses: [E, S]}"), ["pitch 0 E S: r1"]),
        (reading("r1", "bar: 1", "A", "{witnesses: E}"), ["pitch 0 E: r1", "pitch 0 S: open"]),
        (
            reading("r1", "bar: 1", "A", "{witnesses: [E, S]}", "proposed"),
            ["pitch 0 E S: (r1)"],
        ),
        (reading("r1", "bar: 1", "A", "{witnesses: [E, S]}", "superseded"), ["pitch 0 E S: open"]),
        (
            reading("r1", "bar: 1", "A", "{witnesses: E}")
            + reading("r2", "bar: 1", "A", "{witnesses: S}", "proposed"),
            ["pitch 0 E: r1", "pitch 0 S: (r2)"],
        ),
        (
            reading("r1", "bar: 1, note: 2", "A", "{witnesses: E}")
            + reading("r2", "bar: 1, note: 2", "A", "{witnesses: S}"),
            ["pitch 0 E: r1", "pitch 0 S: r2"],
        ),
        (reading("r1", "bar: 1, note: 3", "A", "{witnesses: [E, S]}"), ["pitch 0 E S: open"]),
    ],
)
def test_records_that_answer(records: str, expected: list[str]) -> None:
    assert departures_of(BOTH, records) == expected


def test_a_place_that_cuts_a_slur_speaks_of_it_where_it_begins_or_ends() -> None:
    shorter = {"E": witness("E", NOTES, slur("0:0", "0:2"))}
    text = music(NOTES, SLURRED)
    for place in ("bar: 1", "bar: 1, note: 1", "bar: 1, note: 4"):
        told = departures_of(shorter, reading("r1", place, "A", "{witnesses: E}"), text)
        assert told == ["slur ends elsewhere 0 E: r1"], place


def test_a_place_without_the_witness_in_its_readings_answers_nothing() -> None:
    lemma = reading("r1", "bar: 1", "[A, S]", "{witnesses: E}")
    assert departures_of(BOTH, lemma) == ["pitch 0 E: r1", "pitch 0 S: open"]


BARS = NOTES.split(" | ")
ADDED = " | ".join([*BARS[:2], "2:D4 2:E4", *BARS[2:]])


def test_bars_lacking_alike_stand_together_whatever_the_witnesses_have_besides() -> None:
    lacking = " | ".join(BARS[:1] + BARS[2:])
    witnesses = {"E": witness("E", lacking), "S": witness("S", lacking.replace("C5", "D4"))}
    assert departures_of(witnesses) == ["pitch 0 S: open", "bars missing 1 E S: open"]


def test_bars_added_alike_stand_together_and_others_apart() -> None:
    other = ADDED.replace("2:D4 2:E4", "2:D4 2:F4")
    same = {"E": witness("E", ADDED), "S": witness("S", ADDED)}
    assert departures_of(same) == ["bars added 1 E S: open"]
    assert departures_of({**same, "S": witness("S", other)}) == [
        "bars added 1 E: open",
        "bars added 1 S: open",
    ]


@pytest.mark.parametrize(
    ("place", "answered"),
    [
        ("bar: 2", True),
        ("bar: 1, to: {bar: 3}", True),
        ("bar: 1", False),
        ("bar: 3", False),
        ("bar: 2, note: 1", False),
    ],
)
def test_added_bars_are_answered_at_the_bar_before_them(place: str, answered: bool) -> None:
    record = reading("r1", place, "A", "{witnesses: E}")
    told = departures_of({"E": witness("E", ADDED)}, record)
    assert told == [f"bars added 1 E: {'r1' if answered else 'open'}"]


def test_added_bars_described_at_the_bar_after_them() -> None:
    record = reading("r1", "bar: 3", "A", "{witnesses: E, says: a bar more before it}")
    assert departures_of({"E": witness("E", ADDED)}, record) == ["bars added 1 E: r1"]


PITCHES = st.sampled_from(["C5", "D5", "E5", "F5"])


@given(st.lists(st.tuples(*[PITCHES] * 4), min_size=3, max_size=3))
def test_a_departure_is_one_thing_of_each_of_its_witnesses(bars: list[tuple[str, ...]]) -> None:
    """Each witness's differences are in the departures once, whoever shares them."""
    witnesses = {
        siglum: witness(siglum, " | ".join([" ".join(f"4:{p}" for p in bar), *BARS[1:]]))
        for siglum, bar in zip("AES", bars, strict=True)
    }
    material, _ = small_edition("", witnesses, text=music(NOTES))
    for (siglum, _), collation in material.collations.items():
        told = [
            difference
            for departure in material.departures
            for name, difference in zip(departure.witnesses, departure.differences, strict=True)
            if name == siglum
        ]
        assert told == list(collation.differences)
