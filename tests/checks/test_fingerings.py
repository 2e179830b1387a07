"""Fingerings that no hand takes, beside those that one does. Bar 1 is C5 D5 E5 F5, bar 4 is G5."""

from __future__ import annotations

import pytest

from tests.checks.asking import asked, record
from tests.collation.letters import music
from tests.collation.small_edition import HEAD

CELLO = HEAD.replace("instrument: violin", "instrument: cello")


def fingering(place: str, fingers: str, *more: str) -> str:
    """Return a record whose entries stand on line 9, from column 16 on."""
    return record(
        "fingering", "f1", place,
        "alternatives:", "  - name: first", f"    fingers: {fingers}", *more,
    )  # fmt: skip


CASES = [
    (
        "no-such-finger",
        fingering("bar: 1", "[1, 5, 3, 12]"),
        ["9:20 error no-such-finger: movement 1, bar 1: there is no finger 5 > Fingers are 1 to 4, "
         "`open` or 0 for the open string, `thumb` or T for the thumb.",
         "9:26 error no-such-finger: movement 1, bar 1: there is no finger 12 > Fingers are 1 to "
         "4, `open` or 0 for the open string, `thumb` or T for the thumb."],
    ),
    (
        "no-such-finger",
        fingering("bar: 4", "[1 touch 6]"),
        ["9:17 error no-such-finger: movement 1, bar 4: there is no finger 6 > Fingers are 1 to 4, "
         "`open` or 0 for the open string, `thumb` or T for the thumb."],
    ),
    ("no-such-finger", fingering("bar: 1", "[open, 0, 4, none]"), []),
    (
        "thumb-not-played",
        fingering("bar: 4", "thumb"),
        ["9:7 error thumb-not-played: movement 1, bar 4: the thumb does not play on the violin > "
         "Write a digit from 1 to 4."],
    ),
    ("thumb-not-played", fingering("bar: 4", "1"), []),
    (
        "no-such-string",
        fingering("bar: 1", "1 on C, 2 on V, 3 on IV, 4 on e"),
        ["9:7 error no-such-string: movement 1, bar 1: the violin has no C string > Its strings "
         "are `G`, `D`, `A` and `E`, or I to IV from the highest to the lowest.",
         "9:7 error no-such-string: movement 1, bar 1: the violin has no V string > Its strings "
         "are `G`, `D`, `A` and `E`, or I to IV from the highest to the lowest."],
    ),
    (
        "fingering-count",
        fingering("bar: 1", "1, 2 on A, none"),
        ["9:7 error fingering-count: movement 1, bar 1: `first` has 3 entries for 4 notes:\n"
         "        notes    c″  d″      e″    f″\n"
         "        entries  1   2 on A  none > Write one entry for each note or chord, grace notes "
         "included; `none` where no digit is to stand."],
    ),
    (
        "fingering-count",
        fingering("bar: 4", "[[1 on D, 4], touch 3 on A]"),
        ["9:7 error fingering-count: movement 1, bar 4: `first` has 2 entries for 1 note:\n"
         "        notes    g″\n"
         "        entries  [1 on D, 4]  touch 3 on A > Write one entry for each note or chord, "
         "grace notes included; `none` where no digit is to stand."],
    ),
    ("fingering-count", fingering("bar: 1", "1, 2, 3, 4"), []),
    (
        "more-fingers-than-notes",
        fingering("bar: 4", "[[1, 3]]"),
        ["9:17 error more-fingers-than-notes: movement 1, bar 4: `[1, 3]` is 2 fingers for 1 note, "
         "g″ > Write one finger for each note of the chord, from the lowest to the highest."],
    ),
    (
        "no-such-alternative",
        fingering("bar: 4", "1", "printed: [first, frst, other]"),
        ["10:20 error no-such-alternative: movement 1, bar 4: no alternative is called `frst` > "
         "Did you mean `first`?",
         "10:26 error no-such-alternative: movement 1, bar 4: no alternative is called `other` > "
         "Alternatives are `first`."],
    ),
    ("no-such-alternative", fingering("bar: 4", "1", "printed: first"), []),
    (
        "fingering-without-digit",
        fingering("bar: 1", "none, none, none, none"),
        ["7:3 error fingering-without-digit: movement 1, bar 1: the fingering `f1` prints no digit "
         "at all > Write a digit, name another alternative under `printed`, or write "
         "`composer_fingering: left out`."],
    ),
    (
        "fingering-without-digit",
        fingering("bar: 1", "none, none, none, none", "composer_fingering: left out"),
        [],
    ),
    ("fingering-without-digit", fingering("bar: 1", "none, 1, none, none"), []),
    (
        "fingering-without-digit",
        fingering("bar: 1", "none, none, none, none", "status: proposed"),
        [],
    ),
]  # fmt: skip


@pytest.mark.parametrize(("code", "records", "expected"), CASES)
def test_fingerings(code: str, records: str, expected: list[str]) -> None:
    assert asked(code, records) == expected


def test_the_thumb_and_the_c_string_of_the_cello() -> None:
    records = fingering("bar: 1", "thumb, T, 1 on C, 4 on IV")
    assert asked("thumb-not-played", records, head=CELLO) == []
    assert asked("no-such-string", records, head=CELLO) == []


def test_two_fingers_on_a_double_stop() -> None:
    chord = music("1:C5+E5", numbers="1")
    assert asked("more-fingers-than-notes", fingering("bar: 1", "[[1, 2]]"), {}, text=chord) == []


def test_a_grace_note_wants_its_entry() -> None:
    grace = music("g8:D5 1:C5", numbers="1")
    records = fingering("bar: 1", "1")
    (told,) = asked("fingering-count", records, {}, text=grace)
    assert "        notes    d″  c″\n        entries  1 >" in told
    assert asked("fingering-count", fingering("bar: 1", "2, 1"), {}, text=grace) == []


def test_a_fingering_for_the_accompanist() -> None:
    duo = music("1:C5", numbers="1", labels=("Violin", "Piano"))
    records = fingering("bar: 1, staff: 2", "1")
    assert asked("not-on-edited-staff", records, {}, text=duo) == [
        "3:32 warning not-on-edited-staff: movement 1, bar 1, staff 2: this fingering is on staff "
        "2; the part shows staff 1 > Correct the staff, or make the record a `remark` if staff 2 "
        "is meant."
    ]
    assert asked("not-on-edited-staff", fingering("bar: 1", "1"), {}, text=duo) == []
