"""Ossias and traditions above the text of the small edition, bar for bar."""

from __future__ import annotations

import pytest

from tests.checks.asking import asked, record
from tests.collation.letters import music

OSSIA = ("music: {file: o.mei}",)
SAME = ("music: {file: o.mei}", "sounds: same")

LENGTHS = [
    ("ossia", "bar: 1", "4:C5 4:D5 2:F5", []),
    (
        "ossia", "bar: 1", "4:C5 4:D5 4:F5",
        ["7:3 error ossia-length: movement 1, bar 1: bar 1 lasts 4 quarter notes (4 beats) in the "
         "text, 3 quarter notes (3 beats) in the ossia > Correct the notes in `o.mei`, or the "
         "place of the record."],
    ),
    (
        "tradition", "bar: 1, to: {bar: 2}", "1:C5 | 4.:C5",
        ["7:3 error ossia-length: movement 1, bars 1 to 2: bar 2 lasts 4 quarter notes (4 beats) "
         "in the text, 1.5 quarter notes (1.5 beats) in the tradition > Correct the notes in "
         "`o.mei`, or the place of the record."],
    ),
    (
        "ossia", "bar: 1, to: {bar: 2}", "1:C5",
        ["7:3 error ossia-length: movement 1, bars 1 to 2: the ossia has 1 bar, the place that it "
         "stands above has 2 > Correct the notes in `o.mei`, or the place of the record."],
    ),
]  # fmt: skip


@pytest.mark.parametrize(("kind", "place", "drawn", "expected"), LENGTHS)
def test_length(kind: str, place: str, drawn: str, expected: list[str]) -> None:
    fragments = {"o.mei": music(drawn, file="o.mei")}
    assert asked("ossia-length", record(kind, "o1", place, *OSSIA), {}, fragments) == expected


TEXT = music("2:A5 2:E6 | 2:C5~ 4:=C5 4:r", numbers="1 2")
DIFFERENT = "7:3 error"
REMEDY = " > Correct the notes of the ossia, or write `sounds: different`."

SOUNDS = [
    # stopped and touched note, a fourth apart, sound two octaves above the stopped one
    ("bar: 1", "2:A3+D4<> 2:E4+A4<>", []),
    ("bar: 1", "2:D5+A5<> 2:E4+A4<>", ["at bar 1, beat 1 the text sounds a″, the ossia a‴"]),
    (
        "bar: 1", "2:A3+Eb4<> 2:E4+A4<>",
        ["at bar 1, beat 1 the text sounds a″, the ossia no harmonic"],
    ),
    (
        "bar: 1", "4:A5 4:A5 2:r",
        [
            "at bar 1, beat 1 it lasts 1 instead of 2 quarter notes; "
            "at bar 1, beat 2 the text sounds nothing, the ossia a″; "
            "at bar 1, beat 3 the text sounds e‴, the ossia nothing",
        ],
    ),
    (
        "bar: 1", "8:C4 8:D4 8:E4 8:F4 2:G4",
        [
            "at bar 1, beat 1 the text sounds a″, the ossia c′; "
            "at bar 1, beat 1.5 the text sounds nothing, the ossia d′; "
            "at bar 1, beat 2 the text sounds nothing, the ossia e′; and 2 more places",
        ],
    ),
    ("bar: 2", "2.:C5 4:r", []),
    ("bar: 2", "4:C5~ 2:=C5 4:r", []),
]  # fmt: skip


def chords_with_touched_upper_notes(drawn: str):
    """In these ossias the diamond belongs to the upper note of a chord only."""
    from dataclasses import replace

    passage = music(drawn, file="o.mei")
    events = tuple(
        replace(e, heads=(replace(e.heads[0], shape=""), *e.heads[1:])) if len(e.heads) == 2 else e
        for e in passage.events
    )
    return replace(passage, events=events)


@pytest.mark.parametrize(("place", "drawn", "expected"), SOUNDS)
def test_sounds_the_same(place: str, drawn: str, expected: list[str]) -> None:
    found = asked(
        "ossia-sounds-different",
        record("ossia", "o1", place, *SAME),
        {},
        {"o.mei": chords_with_touched_upper_notes(drawn)},
        text=TEXT,
    )
    number = place[-1]
    assert found == [
        f"8:3 error ossia-sounds-different: movement 1, bar {number}: the ossia is said to sound "
        f"as the text does, but {what}{REMEDY}"
        for what in expected
    ]


def test_an_ossia_that_claims_nothing_may_sound_as_it_likes() -> None:
    fragments = {"o.mei": music("1:C4", file="o.mei")}
    records = record("ossia", "o1", "bar: 1", *OSSIA)
    assert asked("ossia-sounds-different", records, {}, fragments, text=TEXT) == []


def test_a_natural_harmonic_may_be_on_the_string_that_gives_the_note() -> None:
    """D4 touched on G sounds D5; touched at the middle of the D string it would be D5 as well."""
    fragments = {"o.mei": music("1:D4<>", file="o.mei")}
    records = record("ossia", "o1", "bar: 1", *SAME)
    text = music("1:D5", numbers="1")
    assert asked("ossia-sounds-different", records, {}, fragments, text=text) == []


TRADITIONS = [
    (
        "tradition-without-origin",
        ("music: {file: o.mei}", "note: played so"),
        ["1:3 error tradition-without-origin: movement 1, bar 1: the tradition `t1` does not say "
         "where it comes from > Add `origin:` with what is known, if only that it is not known."],
    ),
    ("tradition-without-origin", ("music: {file: o.mei}", "origin: a pupil"), []),
    (
        "tradition-without-note",
        ("music: {file: o.mei}", "origin: a pupil"),
        ["1:3 error tradition-without-note: movement 1, bar 1: the tradition `t1` has no note to "
         "be printed beside it > Add `note:` with a few words that say it is not the composer's."],
    ),
    ("tradition-without-note", ("music: {file: o.mei}", "note: played so"), []),
    (
        "tradition-by-composer",
        ("by: composer", "music: {file: o.mei}"),
        ["6:3 error tradition-by-composer: movement 1, bar 1: the tradition `t1` is given to "
         "`composer`, who is the composer > Name who brought it in; if it is the composer's own, "
         "make it an `ossia`."],
    ),
    ("tradition-by-composer", ("by: school", "music: {file: o.mei}"), []),
]  # fmt: skip


@pytest.mark.parametrize(("code", "lines", "expected"), TRADITIONS)
def test_traditions(code: str, lines: tuple[str, ...], expected: list[str]) -> None:
    assert asked(code, record("tradition", "t1", "bar: 1", *lines), {}) == expected
