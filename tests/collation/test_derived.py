"""Ossias that are computed: they sound the text, in its rhythm, and say where they cannot."""

from __future__ import annotations

import tempfile
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pipeline.checks.rules import RULES
from pipeline.collation.model import Version
from pipeline.problems import in_reading_order
from pipeline.score.model import Event, MarkingKind, Passage
from pipeline.score.pitch_names import scientific
from pipeline.strings.derivations import DERIVATIONS
from pipeline.strings.harmonics import sounding
from pipeline.strings.instruments import INSTRUMENTS
from tests.collation.small_edition import line, small_edition
from tests.score.drawn import mei, read

VIOLIN = INSTRUMENTS["violin"]

SLUR = '<slur startid="#p" endid="#q"/>'
MELODY = ("p=a5/4. d6/8 e6/4 r/4", "f#6/4_ f#6/8 e6/8 (3:2 d6/8 e6/8 f#6/8) q=e6/4")


def passage(*bars: str, key: str = "0", slurs: bool = False) -> Passage:
    with tempfile.TemporaryDirectory() as folder:
        drawn = mei(*bars, key=key, extra={0: SLUR} if slurs else None)
        return read(Path(folder), drawn, "base-")


def record(derive: str, place: str = "bar: 1, to: {bar: 2}", extra: str = "") -> str:
    return (
        f"- id: o1\n  kind: ossia\n  place: {{movement: 1, {place}}}\n  by: editor\n"
        f"  date: 2026-03-01\n  reason: because\n  music: {{derive: {derive}}}\n"
        f"  sounds: same\n{extra}"
    )


def derived(derive: str, text: Passage, place: str = "bar: 1, to: {bar: 2}") -> Version:
    material, problems = small_edition(record(derive, place), text=text)
    assert problems == ()
    (decision,) = material.decisions
    assert decision.music is not None
    assert [
        line(problem)
        for rule in RULES
        if rule.code in {"ossia-sounds-different", "ossia-length"}
        for problem in rule.problems(material)
    ] == []
    return decision.music


def told(derive: str, text: Passage, place: str = "bar: 1, to: {bar: 2}") -> list[str]:
    material, problems = small_edition(record(derive, place), text=text)
    assert material.decisions[0].music is None
    return [line(problem) for problem in in_reading_order(problems)]


def written(events: tuple[Event, ...]) -> str:
    """The notes as written: value, stopped + <touched>, circle, ties."""
    return " ".join(
        event.written
        + ":"
        + (
            "+".join(
                f"<{scientific(head.pitch)}>" if head.shape == "diamond" else scientific(head.pitch)
                for head in event.heads
            )
            or "r"
        )
        + "".join(f"'{sign}" for sign in event.articulations)
        + ("~" if event.heads and event.heads[0].tie in {"i", "m"} else "")
        for event in events
    )


WRITTEN = [
    (
        "touched fourth",
        "4.:A3+<D4> 8:D4+<G4> 4:E4+<A4> 4:r 4:F♯4+<B4>~ 8:F♯4+<B4> 8:E4+<A4> 8:D4+<G4> 8:E4+<A4> "
        "8:F♯4+<B4> 4:E4+<A4>",
    ),
    (
        "touched fifth",
        "4.:D4+<A4> 8:G4+<D5> 4:A4+<E5> 4:r 4:B4+<F♯5>~ 8:B4+<F♯5> 8:A4+<E5> 8:G4+<D5> 8:A4+<E5> "
        "8:B4+<F♯5> 4:A4+<E5>",
    ),
    (
        "best for smallest stretch",
        "4.:<A4> 8:<G4> 4:<E5> 4:r 4:<F♯4>~ 8:<F♯4> 8:<E5> 8:<G4> 8:<E5> 8:<F♯4> 4:<E5>",
    ),
]


@pytest.mark.parametrize(("derive", "notes"), WRITTEN)
def test_written_in_the_rhythm_of_the_text(derive: str, notes: str) -> None:
    version = derived(derive, passage(*MELODY, slurs=True))
    assert version.origin == "derived"
    assert written(version.passage.events) == notes


def test_a_natural_harmonic_that_sounds_where_it_is_touched_has_its_circle() -> None:
    version = derived("best for brilliance", passage("a5/2 e6/2"), "bar: 1")
    assert written(version.passage.events) == "2:A5'harm 2:E6'harm"


def test_slurs_tuplets_and_bars_stay() -> None:
    text = passage(*MELODY, slurs=True)
    version = derived("touched fourth", text)
    (slur,) = [m for m in version.passage.markings if m.kind is MarkingKind.SLUR]
    assert (slur.start, slur.end) == (text.markings[0].start, text.markings[0].end)
    assert [e.tuplet for e in version.passage.events] == [e.tuplet for e in text.events]
    assert [e.onset for e in version.passage.events] == [e.onset for e in text.events]
    assert [bar.n for bar in version.passage.bars] == ["1", "2"]


def test_strings_and_fingers_stand_above() -> None:
    markings = derived("best for smallest stretch", passage(*MELODY)).passage.markings
    words = [(m.start.bar, m.content) for m in markings if m.kind is MarkingKind.WORDS]
    digits = [m.content for m in markings if m.kind is MarkingKind.FINGERING]
    assert words[:4] == [(0, "III"), (0, "II"), (1, "III"), (1, "II")]
    assert digits[:4] == ["4", "3", "4", "2"]


def test_accidentals_are_printed_where_the_bar_needs_them() -> None:
    """F sharp is in the key, and understood later in the bar once it is printed."""
    in_key = derived("touched fourth", passage("f#6/2 f#6/2", key="1s"), "bar: 1")
    without = derived("touched fourth", passage("f#6/2 f#6/2"), "bar: 1")
    signs = [[head.accidental for e in v.passage.events for head in e.heads] for v in
             (in_key, without)]  # fmt: skip
    assert signs == [["", "", "", ""], ["s", "", "", ""]]


def test_a_text_in_harmonics_is_derived_from_what_it_sounds() -> None:
    text = passage("a5/2 e6/2")
    fourths = derived("touched fourth", text, "bar: 1").passage
    fifths = derived("touched fifth", fourths, "bar: 1").passage
    assert written(fifths.events) == "2:D4+<A4> 2:A4+<E5>"


def test_notes_outside_the_place_stay() -> None:
    version = derived("touched fourth", passage("a5/4 d6/4 e6/4 f6/4"), "bar: 1, note: 2")
    assert written(version.passage.events) == "4:A5 4:D4+<G4> 4:E6 4:F6"


@pytest.mark.parametrize("derive", sorted(DERIVATIONS))
@given(st.lists(st.integers(86, 93), min_size=1, max_size=4))
@settings(max_examples=6, deadline=None)
def test_what_is_derived_sounds_the_text(derive: str, midi: list[int]) -> None:
    """Every note of it, whatever the derivation."""
    names = ("cn", "c#", "dn", "d#", "en", "fn", "f#", "gn", "g#", "an", "a#", "bn")
    text = passage(" ".join(f"{names[m % 12]}{m // 12 - 1}/4" for m in midi))
    material, problems = small_edition(record(derive, "bar: 1"), text=text)
    music = material.decisions[0].music
    if music is None:
        assert {problem.code for problem in problems} == {"derivation-impossible"}
        return
    sounds = [sounding(event, VIOLIN) for event in music.passage.events]
    assert len(sounds) == len(midi)
    assert all(m in tone for m, (tone,) in zip(midi, sounds, strict=True))


IMPOSSIBLE = [
    # text, derivation, what is told
    (
        "c#7/4 g4/4 r/2", "touched major sixth",
        ["7:11 error derivation-impossible: movement 1, bar 1, note 2: g′ cannot be sounded as a "
         "touched major sixth on the violin > Ways there are: natural g′ on G."],
    ),
    (
        "f4/2 a5/2", "touched fourth",
        ["7:11 error derivation-impossible: movement 1, bar 1, note 1: f′ cannot be sounded as a "
         "touched fourth on the violin > Leave this note out of the place, or write the notes "
         "into a file."],
    ),
    (
        "g#4/1", "touched octave",
        ["7:11 error derivation-impossible: movement 1, bar 1, note 1: g♯′ cannot be sounded as a "
         "touched octave on the violin within reach: it would span 155 mm > Leave this note out of "
         "the place, or write the notes into a file."],
    ),
    (
        "d4+a4/1", "natural where possible",
        ["7:11 error derivation-impossible: movement 1, bar 1, note 1: 2 tones sound together "
         "here > Leave this note out of the place, or write the notes into a file."],
    ),
    (
        "r/1", "touched fourth",
        ["7:11 error derivation-impossible: there is no note here that `touched fourth` could be "
         "derived from > Correct the place of the record."],
    ),
    (
        "a5/1", "touched fith",
        ["7:11 error derivation-unknown: music cannot be derived by `touched fith` > Did you mean "
         "`touched fifth`?"],
    ),
    (
        "a5/1", "louder",
        ["7:11 error derivation-unknown: music cannot be derived by `louder` > Derivations are "
         "`touched minor third`, `touched major third`, `touched fourth`, `touched fifth`, "
         "`touched major sixth`, `touched octave`, `natural where possible`, `best for smallest "
         "stretch`, `best for brilliance` and `best for fewest moves`."],
    ),
]  # fmt: skip


@pytest.mark.parametrize(("drawn", "derive", "expected"), IMPOSSIBLE)
def test_what_cannot_be_derived(drawn: str, derive: str, expected: list[str]) -> None:
    assert told(derive, passage(drawn), "bar: 1") == expected
