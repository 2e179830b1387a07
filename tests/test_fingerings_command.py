"""`apparatus fingerings` as a player meets it: what the hand does, and what could be tried."""

from __future__ import annotations

from pathlib import Path

import pytest
from typer.main import get_command
from typer.testing import CliRunner, Result

from pipeline.cli import app
from pipeline.strings.fingering_search import Weights

EXAMPLE = Path(__file__).parent.parent / "example_edition"


def ask(record: str, *options: str) -> Result:
    return CliRunner().invoke(app, ["fingerings", str(EXAMPLE), record, *options])


def test_what_the_hand_does_in_two_fingerings() -> None:
    answer = ask("I-015-hand")
    assert answer.exit_code == 0
    assert answer.stdout.splitlines() == [
        "I-015-hand: 9 notes or chords on the violin",
        "",
        "  fingering  moves  travel mm  under slurs  widest in one place mm  widest double stop mm"
        "  changes of string  inferred",
        "  pos. I     0      0          0            91                      34                   "
        "  3                  7",
        "  pos. III   3      150        3            62                      30                   "
        "  0",
    ]


def test_the_written_fingering_stands_in_the_ranking() -> None:
    told = ask("I-015-hand", "--suggest", "3").stdout
    assert "  1: [open on A, 1 on E], [1, 2], [3 on D, 4 on A], [2, 3], " in told
    assert "  pos. I: would have rank 1, at a cost of " in told
    assert "  pos. III: costs " in told
    assert "more than the first and beyond the 3 shown" in told
    assert "They never enter the edition." in told


def test_dearer_moves_and_one_string() -> None:
    free = ask("I-031-hand", "--suggest", "1", "--move", "0").stdout
    dear = ask("I-031-hand", "--suggest", "1", "--move", "500").stdout
    assert _moves(dear) < _moves(free)
    on_g = ask("I-003-hand", "--suggest", "1", "--on", "G").stdout
    (fingers,) = (line for line in on_g.splitlines() if line.startswith("  1: "))
    assert fingers.startswith("  1: 1 on G, ")
    assert " on D" not in fingers
    assert "open" not in fingers


def test_the_weights_of_the_command_are_those_of_the_search() -> None:
    """They stand twice, so that `--help` can show them without loading the search."""
    options = {o.name: o.default for o in get_command(app).commands["fingerings"].params}  # type: ignore[attr-defined]
    weights = Weights()
    assert {
        "move": weights.move,
        "travel": weights.travel,
        "stretch": weights.stretch,
        "string_change": weights.string,
        "height": weights.height,
    }.items() <= options.items()


def _moves(told: str) -> int:
    (row,) = (line for line in told.splitlines() if line.startswith("  1     "))
    return int(row.split()[2])


def test_without_open_strings_some_chords_cannot_be_taken() -> None:
    told = ask("I-045-chords", "--suggest", "1", "--no-open-strings").stdout
    assert "No complete fingering could be found under these wishes.\n" in told
    assert (
        "  bar 46, note 1, g+d′+b♭′+g″: every way to take it needs an open string or another string"
        in told
    )


def test_a_stretch_comes_with_a_caution() -> None:
    told = ask("I-053-octaves").stdout
    assert "an ordinary hand reaches 65 mm" in told
    assert told.rstrip().endswith("or a physician where it hurts.")
    assert "physician" not in ask("I-015-hand").stdout


def test_a_record_of_another_kind_has_only_suggestions() -> None:
    told = ask("I-031-lower-octave", "--suggest", "1").stdout
    assert "The record has no fingering of its own." in told
    assert "  1: " in told


CALLS = [
    (["--on", "C"], 1, "the violin has no string `C`"),
    (["--suggest", "-1"], 2, "Invalid value for '--suggest'"),
    (["--suggest", "1", "--move", "nan"], 2, "Invalid value for '--move'"),
    (["--suggest", "1", "--travel", "inf"], 2, "A weight is a finite number."),
]


@pytest.mark.parametrize(("options", "code", "said"), CALLS)
def test_what_is_wrong_with_a_call(options: list[str], code: int, said: str) -> None:
    answer = ask("I-015-hand", *options)
    assert answer.exit_code == code
    assert said in answer.stderr
    assert answer.stdout == ""


def test_an_unknown_record() -> None:
    answer = ask("I-015-hnd")
    assert answer.exit_code == 1
    assert "Did you mean `I-015-hand`?" in answer.stderr


def test_nothing_enters_the_edition() -> None:
    records = {file: file.read_bytes() for file in (EXAMPLE / "records").iterdir()}
    ask("I-015-hand", "--suggest", "2")
    assert {file: file.read_bytes() for file in (EXAMPLE / "records").iterdir()} == records
