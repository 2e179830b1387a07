"""The short notation for fingerings, as a player would say it."""

from __future__ import annotations

import pytest

from pipeline.edition.fingers import THUMB, Finger, Fingering, entries_of, read_entry
from pipeline.edition.strict import UnfitError


def fingers(*each: Finger) -> Fingering:
    return Fingering(fingers=each)


@pytest.mark.parametrize(
    ("written", "meant"),
    [
        ("1", fingers(Finger(digit="1"))),
        (4, fingers(Finger(digit="4"))),
        ("open", fingers(Finger(digit="0"))),
        ("0", fingers(Finger(digit="0"))),
        ("thumb", fingers(Finger(digit=THUMB))),
        ("T on A", fingers(Finger(digit=THUMB, string="A"))),
        ("3 on d", fingers(Finger(digit="3", string="D"))),
        ("2 on IV", fingers(Finger(digit="2", string="IV"))),
        ("none", fingers()),
        (".", fingers()),
        (["1 on D", "4"], fingers(Finger(digit="1", string="D"), Finger(digit="4"))),
        ("[1 on D, 4]", fingers(Finger(digit="1", string="D"), Finger(digit="4"))),
        ("touch 3 on A", fingers(Finger(digit="3", string="A", natural=True))),
        ("1 touch 4", fingers(Finger(digit="1", touched="4"))),
        ("thumb touch 3 on I", fingers(Finger(digit=THUMB, touched="3", string="I"))),
        ("7", fingers(Finger(digit="7"))),  # read as written; that no hand has it is for the check
    ],
)
def test_an_entry_is_read_as_it_is_said(written: object, meant: Fingering) -> None:
    assert read_entry(written) == meant


@pytest.mark.parametrize(
    ("written", "message"),
    [
        ("2 of D", "`2 of D` is no fingering"),
        ("3 on H", "`3 on H` is no fingering"),
        ("index", "`index` is no fingering"),
        ("-1", "`-1` is no fingering"),
        ("1.5", "`1.5` is no fingering"),
        ("1 2", "`1 2` has no commas"),
        ("", "an entry between two commas is empty"),
        ([], "a double stop is empty"),
        ("[1, 4", "the bracket of `[1, 4` is not closed"),
        ({"finger": "1"}, "a finger is written as a word or a digit"),
        ([["1"]], "a finger is written as a word or a digit"),
    ],
)
def test_what_no_player_would_say_is_told(written: object, message: str) -> None:
    with pytest.raises(UnfitError) as told:
        read_entry(written)
    assert str(told.value) == message
    assert told.value.remedy


def test_a_line_is_cut_at_commas_outside_double_stops() -> None:
    assert entries_of("1, 2 on D, [1 on D, 4], none") == ["1", "2 on D", "[1 on D, 4]", "none"]
    assert entries_of(3) == ["3"]
    assert entries_of(["1", ["1", "4"]]) == ["1", ["1", "4"]]
