"""One file of records into located records: each that is right, and a problem for all else.

A file that is no YAML is cut where its records begin, so that a slip in one record does not hide
the others from the editor.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from dataclasses import replace
from itertools import islice, pairwise
from types import MappingProxyType
from typing import cast

from pipeline.edition.fit import fit
from pipeline.edition.model import FiledRecord, Origins
from pipeline.edition.plain_values import Plain, plain
from pipeline.edition.quoting import listed, printable, quoted
from pipeline.edition.records import MAY_BE_EMPTY, RECORD_OF_KIND, EditorialRecord, Record
from pipeline.edition.suggestions import closest
from pipeline.edition.yaml_positions import Keyed, Node, Scalar, Sequence, read_yaml
from pipeline.problems import Origin, Outcome, Problem, error, warning

MAX_CUTS = 10_000
"""Most records of a malformed file that are read one by one."""

_OF_ALIASES = frozenset({"unknown-alias", "too-many-values"})
_COMMON_KEYS = frozenset(EditorialRecord.model_fields)
_BEGINS_RECORD = re.compile(r"^- ", re.MULTILINE)


def read_record_file(text: str, file: str) -> Outcome[tuple[FiledRecord, ...]]:
    """Return the records of one file in the order in which they stand in it."""
    whole = read_yaml(text, file)
    if whole.problems:
        return _cut_and_read(text, file, whole.problems)
    if whole.value is None or (isinstance(whole.value, Scalar) and whole.value.text is None):
        return Outcome((), (_without_records(file),))
    if not isinstance(whole.value, Sequence):
        return Outcome((), (_no_list(whole.value, file),))
    return _read_records(whole.value, file)


def _read_records(root: Sequence, file: str) -> Outcome[tuple[FiledRecord, ...]]:
    if not root.items:
        return Outcome((), (_without_records(file),))
    filed: list[FiledRecord] = []
    problems: list[Problem] = []
    for node in root.items:
        outcome = read_record(node, file)
        problems.extend(outcome.problems)
        if outcome.value is not None:
            filed.append(outcome.value)
    return Outcome(tuple(filed), tuple(problems))


def read_record(
    node: Node, file: str, left_out: Mapping[str, object] = MappingProxyType({})
) -> Outcome[FiledRecord]:
    """Return one record. `left_out` holds the values of keys that this file need not have."""
    if not isinstance(node, Keyed):
        problem = error(
            "not-a-record",
            Origin(file, node.line, node.col),
            "an entry here is not a record",
            "A record begins with `- id:` and has its other keys below.",
        )
        return Outcome(None, (problem,))
    written = replace(plain(node, file), may_be_empty=MAY_BE_EMPTY)
    keys = cast(dict[str, object], written.value)
    if left_out:
        given = {key: value for key, value in keys.items() if value is not None}
        keys = {**left_out, **given}
        written = replace(written, value=keys)
    model = RECORD_OF_KIND.get(str(keys.get("kind")))
    if model is None:
        return Outcome(None, _placed(_unknown_kind(keys, written), keys))
    fitted = fit(model, written)
    if fitted.value is None:
        return Outcome(None, _placed(fitted.problems, keys))
    return Outcome(FiledRecord(cast(Record, fitted.value), Origins(written.keys)))


def _placed(problems: tuple[Problem, ...], keys: dict[str, object]) -> tuple[Problem, ...]:
    """Return the problems with the movement and bar of the record, where it names them."""
    place = keys.get("place")
    written = place if isinstance(place, dict) else {}
    movement, bar = written.get("movement"), written.get("bar")
    if not (isinstance(movement, str) and movement.isdigit() and isinstance(bar, str)):
        return problems
    named = f"movement {printable(movement)}, bar {printable(bar[:12])}"
    return tuple(replace(problem, place=named) for problem in problems)


def _unknown_kind(keys: dict[str, object], written: Plain) -> tuple[Problem, ...]:
    """Return the problem with `kind`, and those with the keys that every kind has."""
    kinds = [*RECORD_OF_KIND]
    if "kind" not in keys:
        kind = error(
            "missing-key",
            written.value_origin(()),
            "a record needs `kind`",
            f"Add `kind`: {listed(kinds)}.",
        )
    elif isinstance(keys["kind"], str):
        near = closest(keys["kind"], kinds)
        kind = error(
            "unknown-record-kind",
            written.value_origin(("kind",)),
            f"{quoted(keys['kind'])} is no kind of record",
            f"Did you mean `{near}`?" if near else f"Kinds are {listed(kinds, 'and')}.",
        )
    else:
        kind = error(
            "unknown-record-kind",
            written.value_origin(("kind",)),
            "`kind` is no single word",
            f"Kinds are {listed(kinds, 'and')}.",
        )
    rest = fit(EditorialRecord, written.with_keys(_COMMON_KEYS)).problems
    return (*(() if ("kind",) in written.empty() else (kind,)), *rest)


def _cut_and_read(
    text: str, file: str, found: tuple[Problem, ...]
) -> Outcome[tuple[FiledRecord, ...]]:
    """Read record by record, each cut out at its `- ` in the first column.

    Only what fails alone is told from the cuts; where no cut fails, what the whole file failed by.
    Aliases are not followed, for what they repeat may stand in another cut.
    """
    cuts = list(islice(_cuts(text), MAX_CUTS + 1))
    if len(cuts) > MAX_CUTS or any(p.code == "too-many-values" for p in found):
        return Outcome((), found)
    filed: list[FiledRecord] = []
    malformed: list[Problem] = []
    problems: list[Problem] = []
    for first_line, cut in cuts:
        node = read_yaml(cut, file, first_line, most_repeated=0)
        if isinstance(node.value, Sequence):
            outcome = _read_records(node.value, file)
            filed.extend(outcome.value or ())
            problems.extend(outcome.problems)
        malformed.extend(p for p in node.problems if p.code not in _OF_ALIASES)
    return Outcome(tuple(filed), (*(malformed or found), *problems))


def _cuts(text: str) -> Iterator[tuple[int, str]]:
    """Yield each record's text with the number of its first line; what precedes comes first."""
    starts = [0, *(match.start() for match in _BEGINS_RECORD.finditer(text)), len(text)]
    line = 1
    for start, end in pairwise(starts):
        if end > start:
            yield line, text[start:end]
        line += text.count("\n", start, end)


def _without_records(file: str) -> Problem:
    return warning(
        "no-records",
        Origin(file),
        "there is no record in this file",
        "Add a record, or remove the file.",
    )


def _no_list(root: Node, file: str) -> Problem:
    return error(
        "not-a-list",
        Origin(file, root.line, root.col),
        "a file of records is a list of them",
        "Begin each record with `- ` in the first column, and indent its other keys by two spaces.",
    )
