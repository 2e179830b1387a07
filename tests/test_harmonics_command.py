"""`apparatus harmonics` as a player meets it: tables, a way through, and what is wrong."""

from __future__ import annotations

from pathlib import Path

import pytest
from typer.testing import CliRunner, Result

from pipeline.cli import app
from pipeline.strings.instruments import read_instruments

EXAMPLE = Path(__file__).parent.parent / "example_edition"


def ask(*arguments: str) -> Result:
    return CliRunner().invoke(app, ["harmonics", *arguments])


def test_a_pitch_on_the_violin() -> None:
    answer = ask("F6")
    assert answer.exit_code == 0
    assert answer.stdout.splitlines()[:3] == [
        "F6 on the violin",
        "  string  touched      stopped  at   node  partial  cents  touch cents  stopped mm  "
        "touched mm  span mm  position    fingers        reached by",
        "  D       octave       F5       F6   1/2   2        0      0            190         "
        "259         69       ninth       1-4, 1-3       every hand",
    ]


def test_stretches_wider_than_ones_own_are_left_out() -> None:
    wide, narrow = ask("C#6").stdout, ask("C♯6", "--max-span", "60").stdout
    assert "a wide hand" in wide
    assert wide.rstrip().endswith("or a physician where it hurts.")
    assert "a wide hand" not in narrow
    assert "physician" not in narrow


def test_another_instrument() -> None:
    assert ask("A4", "--instrument", "cello").stdout.startswith("A4 on the cello\n")


REFUSED = [
    (
        ["H5"],
        2,
        "H5 is no pitch; write a letter, `#` or `b` where it needs one, and the octave, C4 being "
        "middle C: A5, C#6, Bb4. For an edition, name a record as well.\n",
    ),
    (
        ["A5", "--instrument", "voila"],
        2,
        "The strings of `voila` are not known. Did you mean `viola`?\n",
    ),
    (
        ["G3"],
        1,
        "violin:1:1: error no-harmonic: G3 is not sounded by any harmonic: the lowest is G4, the "
        "octave of the open G string\n"
        "    Name the pitch that is to sound, not the one that is stopped.\n1 error, 0 warnings\n",
    ),
    (
        ["C#6", "--max-span", "40"],
        1,
        "--max-span:1:1: error no-harmonic: no way to sound C♯6 keeps within 40 mm\n"
        "    Allow a wider span.\n1 error, 0 warnings\n",
    ),
    (
        [str(EXAMPLE), "I-035-hnad"],
        1,
        "edition.yaml:1:1: error unknown-record: no record `I-035-hnad` could be read in this "
        "edition\n    Did you mean `I-035-hand`?\n1 error, 0 warnings\n",
    ),
    (
        ["no-such-folder", "I-035-hand"],
        2,
        "no-such-folder is not a folder; name the folder that holds edition.yaml.\n",
    ),
]


@pytest.mark.parametrize(("arguments", "code", "message"), REFUSED)
def test_what_cannot_be_answered(arguments: list[str], code: int, message: str) -> None:
    answer = ask(*arguments)
    assert (answer.exit_code, answer.stderr, answer.stdout) == (code, message, "")


def test_a_passage_of_the_example_edition() -> None:
    answer = ask(str(EXAMPLE), "I-035-hand", "--aim", "fewest-moves")
    assert answer.exit_code == 0
    lines = answer.stdout.splitlines()
    assert "bar 35, note 1 sounds A5" in lines
    start = lines.index("A way through, fewest moves")
    assert lines[start + 2].split()[:7] == ["bar", "35,", "note", "1", "A5", "D", "natural"]
    assert any(line.startswith("4 moves of the hand, 282 mm in all;") for line in lines)


def test_notes_that_sound_no_harmonic_are_named() -> None:
    """Movement 1, bar 45: chords, of which no single pitch can be sought."""
    answer = ask(str(EXAMPLE), "I-045-chords")
    assert answer.exit_code == 0
    assert "bar 45, note 1: 3 tones sound together here" in answer.stdout


def test_a_slip_in_the_data_of_an_instrument_is_told(monkeypatch: pytest.MonkeyPatch) -> None:
    slip = read_instruments("violin: {strings: [E5, A5]}", "pipeline/strings/instruments.yaml")
    monkeypatch.setattr("pipeline.strings.instruments.INSTRUMENT_PROBLEMS", slip.problems)
    answer = CliRunner().invoke(app, ["check", str(EXAMPLE)])
    assert answer.exit_code == 1
    assert (
        "pipeline/strings/instruments.yaml:1:9: error missing-key: an instrument needs `bow`"
        in answer.stdout
    )
