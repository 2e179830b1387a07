"""Fingerings that a hand cannot take, or only with a stretch, on music for the violin."""

from __future__ import annotations

import pytest

from pipeline.score.model import Passage
from pipeline.strings.hand_faults import CAUTION
from tests.checks.asking import asked, record
from tests.collation.letters import music
from tests.collation.small_edition import HEAD

TEXT = music("4:C5 4:D5 4:E5 4:F3 | 2:A3+D5 2:A3+B4 | 1:B4+G5 | 1:A3+C4", numbers="1 2 3 4")


def fingering(place: str, fingers: str, *more: str, against: str = "") -> str:
    """Return a record whose entries stand on line 9, from column 15 on."""
    own = ["alternatives:", "  - name: first", f"    fingers: {fingers}"]
    if against:
        own.append(f"    speaks_against: {against}")
    return record("fingering", "f1", place, *own, *more)


CASES = [
    (
        "not-on-the-string",
        fingering("bar: 1", "[2 on E, 3 on A, open, 1]"),
        ["9:17 error not-on-the-string: movement 1, bar 1: `first`, bar 1, note 1, c″: c″ is not "
         "on the E string: it is below its open e″ > Name a lower string, or correct the note.",
         "9:39 error not-on-the-string: movement 1, bar 1: `first`, bar 1, note 4, f: f is below "
         "the lowest string of the violin, g > Correct the note or the instrument of the edited "
         "staff."],
    ),
    ("not-on-the-string", fingering("bar: 1, to: {note: 3}", "[2 on A, 3, open]"), []),
    (
        "not-an-open-string",
        fingering("bar: 1, to: {note: 3}", "[2, open, open on A]"),
        ["9:20 error not-an-open-string: movement 1, bar 1 to note 3: `first`, bar 1, note 2, d″: "
         "d″ is marked as an open string, but the open strings sound g, d′, a′ and e″ > Write the "
         "finger that stops it.",
         "9:26 error not-an-open-string: movement 1, bar 1 to note 3: `first`, bar 1, note 3, e″: "
         "e″ is marked as an open string, but the open string sounds a′ > Write the finger that "
         "stops it."],
    ),
    ("not-an-open-string", fingering("bar: 1, to: {note: 3}", "[2, 3, open]"), []),
    (
        "not-on-neighbouring-strings",
        fingering("bar: 4", "[[1, 3]]"),
        ["9:17 error not-on-neighbouring-strings: movement 1, bar 4: `first`, bar 4, note 1, "
         "a+c′: a and c′ do not lie on neighbouring strings with these fingers > Correct the "
         "fingers or the strings; notes on one string cannot sound together."],
    ),
    ("not-on-neighbouring-strings", fingering("bar: 3", "[[1, 2]]"), []),
    (
        "finger-on-two-places",
        fingering("bar: 3", "[[1, 1]]"),
        ["9:17 error finger-on-two-places: movement 1, bar 3: `first`, bar 3, note 1, b′+g″: "
         "finger 1 would be on two places at once: semitone 2 of the A string and semitone 3 of "
         "the E string > Give one of the two notes to another finger or to another string."],
    ),
    ("finger-on-two-places", fingering("bar: 3", "[[1, 2]]"), []),
    (
        "span-beyond-reach",
        fingering("bar: 2, to: {note: 1}", "[[1, 4]]"),
        ["9:17 error span-beyond-reach: movement 1, bar 2 to note 1: `first`, bar 2, note 1, "
         "a+d″: the span from finger 1 to finger 4 would be 128 mm; no hand is known to reach "
         "beyond 120 mm > Choose other fingers, another string, or leave a note out."],
    ),
    ("span-beyond-reach", fingering("bar: 2, note: 2", "[[1, 4]]"), []),
    (
        "stretch-without-a-word",
        fingering("bar: 2, note: 2", "[[1, 4]]"),
        ["9:17 warning stretch-without-a-word: movement 1, bar 2, note 2: `first`, bar 2, note 2, "
         "a+b′: the span from finger 1 to finger 4 is 97 mm; an ordinary hand reaches 85 mm > Say "
         f"so under `speaks_against`, or choose another fingering. {CAUTION}"],
    ),
    (
        "stretch-without-a-word",
        fingering("bar: 2, note: 2", "[[1, 4]]", against="asks for a wide hand"),
        [],
    ),
    ("stretch-without-a-word", fingering("bar: 2, note: 2", "[[1, 4]]", "status: proposed"), []),
    ("stretch-without-a-word", fingering("bar: 3", "[[1, 2]]"), []),
]  # fmt: skip


@pytest.mark.parametrize(("code", "records", "expected"), CASES)
def test_left_hand(code: str, records: str, expected: list[str]) -> None:
    assert asked(code, records, {}, text=TEXT) == expected


def crossed() -> Passage:
    return music("1:B4+D5", numbers="1")


def test_a_third_that_crosses_the_fingers() -> None:
    (told,) = asked(
        "finger-below-lower-finger", fingering("bar: 1", "[[1, 3]]"), {}, text=crossed()
    )
    assert told.startswith(
        "9:17 error finger-below-lower-finger: movement 1, bar 1: `first`, bar 1, note 1, b′+d″: "
        "finger 3 (semitone 5 of the A string) would be below finger 1 (semitone 9 of the D string)"
    )
    right = fingering("bar: 1", "[[3, 1]]")
    assert asked("finger-below-lower-finger", right, {}, text=crossed()) == []


def test_what_another_rule_tells_is_not_told_twice() -> None:
    wrong_count = fingering("bar: 1", "[2 on E, 3]")
    assert asked("not-on-the-string", wrong_count, {}, text=TEXT) == []


def test_an_unknown_instrument_has_no_hand() -> None:
    lute = HEAD.replace("violin", "lute")
    assert asked("not-on-the-string", fingering("bar: 1", "[2 on E, 3 on A, open, 1]"), {},
                 text=TEXT, head=lute) == []  # fmt: skip
