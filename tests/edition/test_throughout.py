"""How an editor writes what a record speaks of throughout, and what score a part belongs to."""

from __future__ import annotations

import jsonschema
import pytest

from pipeline.edition.fit import fit
from pipeline.edition.head import EditionHead
from pipeline.edition.kinds_of_difference import Change, DifferenceKind
from pipeline.edition.plain_values import plain
from pipeline.edition.record_files import read_record_file
from pipeline.edition.records import Emendation, Reading
from pipeline.edition.schema import head_schema, record_schema
from pipeline.edition.yaml_positions import read_yaml
from tests.edition.right_records import HEAD, RECORDS, with_line
from tests.edition.test_schema import loaded

RECORD = jsonschema.Draft202012Validator(record_schema())
EDITION = jsonschema.Draft202012Validator(head_schema())

FINGERING, SLUR, TIE = DifferenceKind.FINGERING, DifferenceKind.SLUR, DifferenceKind.TIE


def with_throughout(written: str) -> str:
    return with_line(RECORDS["reading"], "status:", f"status: superseded\nthroughout: {written}")


def read(written: str) -> Reading | Emendation:
    outcome = read_record_file(with_throughout(written), "r.yaml")
    assert outcome.problems == ()
    ((filed,),) = (outcome.value or (),)
    assert isinstance(filed.record, Reading)
    return filed.record


def test_a_record_that_does_not_say_throughout_speaks_of_everything() -> None:
    outcome = read_record_file(RECORDS["emendation"], "r.yaml")
    ((filed,),) = (outcome.value or (),)
    assert isinstance(filed.record, Emendation)
    assert not filed.record.systematic
    assert all(filed.record.speaks_of(kind, c) for kind in DifferenceKind for c in Change)


@pytest.mark.parametrize(
    ("written", "spoken_of", "not_spoken_of"),
    [
        ("fingering", [(FINGERING, Change.MISSING), (FINGERING, Change.OTHERWISE)],
         [(SLUR, Change.MISSING)]),
        ("fingering missing", [(FINGERING, Change.MISSING)], [(FINGERING, Change.OTHERWISE)]),
        ("[slur divided, tie]", [(SLUR, Change.DIVIDED), (TIE, Change.ADDED)],
         [(SLUR, Change.JOINED), (FINGERING, Change.MISSING)]),
        ("notes missing", [(DifferenceKind.NOTES_MISSING, Change.MISSING)],
         [(DifferenceKind.NOTES_ADDED, Change.ADDED)]),
        ("slur ends elsewhere", [(SLUR, Change.ENDS_ELSEWHERE)], [(SLUR, Change.STARTS_ELSEWHERE)]),
    ],
)  # fmt: skip
def test_kinds_and_changes(
    written: str,
    spoken_of: list[tuple[DifferenceKind, Change]],
    not_spoken_of: list[tuple[DifferenceKind, Change]],
) -> None:
    record = read(written)
    assert record.systematic
    assert all(record.speaks_of(*one) for one in spoken_of)
    assert not any(record.speaks_of(*one) for one in not_spoken_of)
    assert RECORD.is_valid(loaded(with_throughout(written)))


@pytest.mark.parametrize(
    ("written", "message", "remedy"),
    [
        ("fingerings", "`fingerings` is no kind of difference", "Did you mean `fingering`?"),
        ("[slur, missing fingering]", "`missing fingering` is no kind of difference",
         "Kinds are `pitch`, `accidental`, `rhythm`, `notes added`, `notes missing`, `tie`, "
         "`articulation`, `bow sign`, `slur`, `dynamic`, `hairpin`, `tempo`, `words`, "
         "`fingering`, `ornament`, `octave sign`, `note head`, `meter`, `repeat sign`, "
         "`ending` and `other`; a change may follow, as in `fingering missing`: `otherwise`, "
         "`missing`, `added`, `starts elsewhere`, `ends elsewhere`, `moved`, `divided` or "
         "`joined`."),
        ("slur mising", "`slur mising` is no kind of difference", "Did you mean `slur missing`?"),
        ("[]", "`throughout` is empty", "Write at least one entry."),
    ],
)  # fmt: skip
def test_what_is_no_kind_is_told_and_marked_while_typing(
    written: str, message: str, remedy: str
) -> None:
    (problem,) = read_record_file(with_throughout(written), "r.yaml").problems
    assert (problem.message, problem.remedy) == (message, remedy)
    assert problem.origin.line == 7
    assert not RECORD.is_valid(loaded(with_throughout(written)))


def test_only_readings_and_emendations_speak_of_something_throughout() -> None:
    remark = with_line(RECORDS["remark"], "status:", "throughout: slur")
    (problem,) = read_record_file(remark, "r.yaml").problems
    assert problem.message == "`throughout` is no key of a remark record"
    assert problem.remedy == "`throughout` belongs to a record of kind `reading` or `emendation`."


def head_with(part: str) -> list[tuple[str, str]]:
    node = read_yaml(HEAD.replace("copied_from: A, principal: no", part), "edition.yaml").value
    assert node is not None
    fitted = fit(EditionHead, plain(node, "edition.yaml"))
    return [(problem.message, problem.remedy) for problem in fitted.problems]


def test_a_printed_part_names_its_score() -> None:
    assert head_with("part_of: A") == []
    assert EDITION.is_valid(loaded(HEAD.replace("principal: no", "part_of: A")))


def test_a_score_is_no_part() -> None:
    written = HEAD.replace("principal: yes", "part_of: E1")
    node = read_yaml(written, "edition.yaml").value
    assert node is not None
    (problem,) = fit(EditionHead, plain(node, "edition.yaml")).problems
    assert problem.message == "a witness of kind `autograph` is no part of a score"
    assert problem.remedy == (
        "Remove `part_of`; a witness that has it is of kind `printed part` or `copy`."
    )
    assert written.splitlines()[problem.origin.line - 1].strip() == "part_of: E1"


def test_a_part_has_one_score() -> None:
    ((message, _),) = head_with("part_of: [A, B]")
    assert message == "`part_of` is a list; a text is needed here"
