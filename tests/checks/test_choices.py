"""A player's own copy beside the edition: what cannot be chosen, and what is changed too late."""

from __future__ import annotations

from pathlib import Path

import pytest

from pipeline.checks.choices import alternatives_of, instead_of_text
from pipeline.checks.run import check
from pipeline.edition.choices import OwnCopy, Taken, read_choices
from pipeline.problems import Origin
from tests.checks.asking import WITNESSES, asked, record
from tests.collation.letters import music
from tests.collation.small_edition import line, small_edition

HAND = record(
    "fingering",
    "hand",
    "bar: 1",
    "alternatives: [{name: low, fingers: '1, 2, 3, 4'}, {name: high, fingers: '2, 3, 4, 4'}]",
)
BOW = record("bowing", "bow", "bar: 1", "alternatives: [{name: down, signs: {1: down}}]")
OLD = record("remark", "old", "bar: 1", "status: superseded", "superseded_by: hand")
OPEN = record("remark", "open", "bar: 1", "status: proposed")
NOTE = record("remark", "note", "bar: 1")
OSSIA = record("ossia", "easier", "bar: 1", "music: {file: x.mei}")
ALL = HAND + BOW + OLD + OPEN + NOTE + OSSIA

PLAYER = "player: {id: rovelin, name: Ida Rovelin}\n"


def copy(tmp_path: Path, text: str) -> OwnCopy:
    file = tmp_path / "my.yaml"
    file.write_text(PLAYER + text, encoding="utf-8")
    found = read_choices(file)
    assert found.value is not None, found.problems
    return found.value


def choice(of: str, takes: str) -> str:
    return f"choices:\n  - {{of: {of}, takes: {takes}, date: 2026-11-02}}\n"


def own_record(day: str = "2026-11-02", lines: str = "") -> str:
    return (
        "records:\n  - id: mine\n    kind: fingering\n    place: {movement: 1, bar: 1}\n"
        f"    date: {day}\n    alternatives: [{{name: own, fingers: '1, 1, 2, 3'}}]\n{lines}"
    )


CASES = [
    ("choice-of-nothing", choice("hadn", "no"),
     ["my.yaml:3:6 error choice-of-nothing: there is no record `hadn` in this edition > Did you "
      "mean `hand`?"]),
    ("choice-of-nothing", choice("quite-another", "no"),
     ["my.yaml:3:6 error choice-of-nothing: there is no record `quite-another` in this edition > "
      "Name a record, or remove the choice."]),
    ("choice-of-nothing", choice("hand", "no"), []),
    ("choice-not-in-force", choice("old", "no"),
     ["my.yaml:3:6 error choice-not-in-force: movement 1, bar 1: `old` is superseded by `hand` > "
      "Look at `hand` and choose there, or remove the choice."]),
    ("choice-not-in-force", choice("open", "no"),
     ["my.yaml:3:6 error choice-not-in-force: movement 1, bar 1: `open` is only proposed; the part "
      "does not show it > Remove the choice until it is decided."]),
    ("choice-not-in-force", choice("hand", "high"), []),
    ("choice-without-alternatives", choice("note", "no"),
     ["my.yaml:3:6 error choice-without-alternatives: movement 1, bar 1: `note` is of kind "
      "`remark`; there is nothing to choose > Choose of a fingering, a bowing, an ossia or a "
      "tradition."]),
    ("choice-without-alternatives", choice("easier", "high"),
     ["my.yaml:3:6 error choice-without-alternatives: movement 1, bar 1: `easier` is one ossia, "
      "without alternatives > Write `takes: yes`, `takes: no`, or `takes: instead` of the text."]),
    ("choice-without-alternatives", choice("easier", "yes"), []),
    ("choice-without-alternatives", choice("easier", "instead"), []),
    ("choice-of-no-alternative", choice("hand", "[low, hihg]"),
     ["my.yaml:3:6 error choice-of-no-alternative: movement 1, bar 1: `hand` has no alternative "
      "`hihg` > Did you mean `high`?"]),
    ("choice-of-no-alternative", choice("hand", "[high, low]"), []),
    ("changed-before-performance", "performance: 2026-11-07\n" + choice("hand", "high"),
     ["my.yaml:4:6 warning changed-before-performance: movement 1, bar 1: this fingering was "
      "changed 5 days before the performance of 2026-11-07 > Keep what the hand knows until then, "
      "and change it afterwards."]),
    ("changed-before-performance", "performance: 2026-11-02\n" + own_record(),
     ["my.yaml:7:5 warning changed-before-performance: movement 1, bar 1: this fingering was "
      "changed on the day of the performance of 2026-11-02 > Keep what the hand knows until then, "
      "and change it afterwards."]),
    ("changed-before-performance", "performance: 2026-11-03\n" + choice("bow", "down"),
     ["my.yaml:4:6 warning changed-before-performance: movement 1, bar 1: this bowing was changed "
      "1 day before the performance of 2026-11-03 > Keep what the hand knows until then, and "
      "change it afterwards."]),
    ("changed-before-performance", "performance: 2026-11-09\n" + choice("hand", "high"), []),
    ("changed-before-performance", "performance: 2026-11-01\n" + choice("hand", "high"), []),
    ("changed-before-performance", choice("hand", "high"), []),
    ("changed-before-performance", "performance: 2026-11-03\n" + choice("easier", "yes"), []),
    ("changed-before-performance",
     "performance: 2026-11-03\nsettled_days: 1\n" + choice("hand", "high"), []),
]  # fmt: skip


@pytest.mark.parametrize(("code", "text", "expected"), CASES)
def test_a_choice_is_judged_where_it_was_written(
    tmp_path: Path, code: str, text: str, expected: list[str]
) -> None:
    found = asked(code, ALL, own=copy(tmp_path, text))
    assert [one.removeprefix(f"{tmp_path}/") for one in found] == expected


def test_an_edition_by_itself_has_no_choices() -> None:
    for code in {case[0] for case in CASES}:
        assert asked(code, ALL) == []


def test_a_choice_on_the_command_line_is_judged_alike() -> None:
    named = OwnCopy(taken=(Taken("hand", ("third",), Origin("--choose")),))
    assert asked("choice-of-no-alternative", ALL, own=named) == [
        "--choose:1:1 error choice-of-no-alternative: movement 1, bar 1: `hand` has no alternative "
        "`third` > Its alternatives are `low` and `high`."
    ]


def test_own_records_are_checked_like_all_others(tmp_path: Path) -> None:
    short = own_record().replace("1, 1, 2, 3", "1, 1, 2")
    (found,) = asked("fingering-count", ALL, own=copy(tmp_path, short))
    assert found.removeprefix(f"{tmp_path}/").startswith(
        "my.yaml:7:32 error fingering-count: movement 1, bar 1: `own` has 3 entries for 4 notes"
    )


def test_a_player_need_not_write_in_every_language_nor_be_named_in_a_record(tmp_path: Path) -> None:
    two = "languages: [en, de]"
    for code in ("missing-translation", "agent-unused", "unknown-language"):
        own = copy(tmp_path, own_record(lines="    reason: {fr: la main}\n"))
        alone = asked(code, HAND, own=own)
        assert alone == asked(code, HAND), (code, two)
    assert asked("agent-unused", HAND, own=copy(tmp_path, "")) == asked("agent-unused", HAND)


def test_the_editor_may_have_a_copy_of_her_own(tmp_path: Path) -> None:
    own = copy(tmp_path, "")
    assert own.player is not None
    named = own.player.model_copy(update={"name": {"": "Ilse Brand"}})
    same = OwnCopy(player=named, player_origin=own.player_origin)
    assert asked("agents-of-one-name", HAND, own=same) == []


ONE_BOW = record("bowing", "bow", "bar: 1", "alternatives: [{name: one, join: yes}]")
OWN_TWO = (
    "records:\n  - id: mine\n    kind: bowing\n    place: {movement: 1, bar: 1}\n"
    "    date: 2026-11-02\n    alternatives: [{name: two, divide_after: 2}]\n"
)


def test_own_bowing_contradicts_the_printed_one_until_that_is_left_out(tmp_path: Path) -> None:
    beside = copy(tmp_path, OWN_TWO)
    (found,) = asked("bowings-contradict", ONE_BOW, own=beside)
    assert "`bow` joins what this one divides" in found
    instead = copy(tmp_path, choice("bow", "no") + OWN_TWO)
    assert asked("bowings-contradict", ONE_BOW, own=instead) == []


def test_what_is_shown_of_the_records_that_were_chosen_of(tmp_path: Path) -> None:
    text = (
        "choices:\n"
        "  - {of: hand, takes: [high, low], date: 2026-11-02}\n"
        "  - {of: bow, takes: no, date: 2026-11-02}\n"
        "  - {of: easier, takes: yes, date: 2026-11-02}\n"
        "  - {of: hadn, takes: no, date: 2026-11-02}\n"
    )
    own = copy(tmp_path, text)
    material, _ = small_edition(HAND + BOW + NOTE, own=own)
    assert alternatives_of(own.taken, material.decisions) == {"hand": ("high", "low"), "bow": ()}
    unknown = (Taken("hand", ("third",), Origin("--choose")),)
    assert alternatives_of(unknown, material.decisions) == {}


def test_an_ossia_can_be_taken_instead_of_the_text(tmp_path: Path) -> None:
    text = (
        "choices:\n"
        "  - {of: easier, takes: instead, date: 2026-11-02}\n"
        "  - {of: hand, takes: high, date: 2026-11-02}\n"
    )
    own = copy(tmp_path, text)
    easier = music("4:C5 4:C5 4:C5 4:C5", numbers="1", file="x.mei")
    material, _ = small_edition(HAND + OSSIA, fragments={"x.mei": easier}, own=own)
    assert instead_of_text(own.taken, material.decisions) == {"easier"}
    assert alternatives_of(own.taken, material.decisions) == {"hand": ("high",)}


def test_remarks_keep_their_numbers_whatever_a_player_adds(tmp_path: Path) -> None:
    own = copy(tmp_path, choice("hand", "no") + own_record())
    alone, _ = small_edition(HAND + BOW + NOTE)
    beside, _ = small_edition(HAND + BOW + NOTE, own=own)
    assert [d.id for d in beside.decisions_of_edition] == [d.id for d in alone.decisions]
    assert {d.id for d in beside.decisions} == {"hand", "bow", "note", "mine"}


def test_all_of_a_right_copy_passes(tmp_path: Path) -> None:
    own = copy(tmp_path, choice("hand", "no") + own_record())
    alone, _ = small_edition(HAND, WITNESSES)
    beside, _ = small_edition(HAND, WITNESSES, own=own)
    assert [line(p) for p in check(beside)] == [line(p) for p in check(alone)]
