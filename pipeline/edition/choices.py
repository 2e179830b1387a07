"""READ: a player's own copy, one YAML file of choices and own records, beside an edition.

In: the file that a player wrote or the reading copy saved. Out: what is chosen of the edition's
records, and the player's own fingerings, bowings and ossias, each located in that file. The
edition itself is never changed: `joined` gives a new one, which holds the player's records too.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from datetime import date
from pathlib import Path
from typing import Annotated, Any, Literal, TypeAlias, cast

from pydantic import BeforeValidator, Field, PlainValidator, WithJsonSchema

from pipeline.edition.files import read_text
from pipeline.edition.fit import fit
from pipeline.edition.head import Agent, Role
from pipeline.edition.model import Edition, FiledRecord, Origins
from pipeline.edition.plain_values import plain
from pipeline.edition.quoting import printable, quoted
from pipeline.edition.record_files import read_record
from pipeline.edition.records import Bowing, FingeringRecord, Ossia, Record
from pipeline.edition.strict import (
    AgentId,
    Day,
    Prose,
    RecordId,
    Strict,
    UnfitError,
    yes_or_no,
)
from pipeline.edition.yaml_positions import Keyed, Node, Sequence, read_yaml
from pipeline.problems import Origin, Outcome, Problem, error, has_errors, in_reading_order

SETTLED_DAYS = 7
"""Days before a performance by which fingerings and bowings should stand: a fingering is not
learned anew just before the stage (common practice, no source; the file may say otherwise)."""

Takes: TypeAlias = tuple[str, ...] | bool
"""Names of alternatives, the first above the staff; or whether the record is shown at all."""


INSTEAD = ("instead",)
"""What is taken of an ossia or a tradition that is played, and printed, in place of the text."""


class Player(Agent):
    """Whose copy it is. A player is among the agents of a joined edition only."""

    role: Literal[Role.PERFORMER] = Role.PERFORMER


class PlayerHead(Strict, title="player"):
    """Who the player is."""

    id: AgentId = Field(description="id of the player, unlike those of the edition's agents")
    name: Prose = Field(min_length=1, description="name as the legend prints it")


def read_takes(written: object) -> Takes:
    """Return yes or no for these words alone, else the names that were written."""
    if isinstance(written, list | tuple):
        names = [name.strip() for name in written if isinstance(name, str) and name.strip()]
        if not names or len(names) < len(written):
            raise UnfitError(
                "`takes` is a list without names" if not names else "an entry is no name",
                "Write the names of alternatives, or `no` where nothing is to be shown.",
            )
        if len(set(names)) < len(names):
            raise UnfitError("an alternative is named twice", "Name each alternative once.")
        return tuple(names)
    if isinstance(written, bool):
        return written
    if not isinstance(written, str | int | float) or not str(written).strip():
        raise UnfitError(
            "`takes` is a name, a list of names, `yes` or `no`", "Write for example `takes: yes`."
        )
    try:
        return yes_or_no(written)
    except UnfitError:
        return (str(written).strip(),)


class Choice(Strict):
    """What the player takes of one record of the edition."""

    of: RecordId = Field(description="id of a record of the edition")
    takes: Annotated[
        Takes,
        PlainValidator(read_takes),
        WithJsonSchema(
            {
                "anyOf": [
                    {"type": ["boolean", "number"]},
                    {"type": "string", "minLength": 1},
                    {"type": "array", "items": {"type": "string", "minLength": 1}, "minItems": 1},
                ]
            }
        ),
    ] = Field(description="names of alternatives; or yes, no or, of an ossia, instead")
    date: Day = Field(description="day of the choice as year-month-day")
    reason: Prose = Field(default_factory=dict, description="why, for the player alone")


OwnRecord = Annotated[FingeringRecord | Bowing | Ossia, Field(discriminator="kind")]

_KINDS = ("fingering", "bowing", "ossia")
"""What a player may add; the text is the editor's."""


def _days(value: object) -> object:
    return int(value) if isinstance(value, str) and value.isascii() and value.isdigit() else value


class Choices(Strict, title="player's own copy"):
    """All of a file of choices. In its records `by` and `reason` may be left out."""

    player: PlayerHead = Field(description="whose copy it is")
    performance: Day | None = Field(None, description="day of a performance")
    settled_days: Annotated[int, BeforeValidator(_days)] = Field(
        SETTLED_DAYS,
        ge=0,
        le=366,
        description="days before the performance by which fingerings and bowings stand",
    )
    choices: tuple[Choice, ...] = Field((), description="what the player takes of the edition")
    records: tuple[OwnRecord, ...] = Field((), description="the player's own records")


@dataclass(frozen=True)
class Taken:
    """One choice: of which record, what, where it was written, and on which day if it says so."""

    of: str
    takes: Takes
    origin: Origin
    day: date | None = None
    reason: Mapping[str, str] = field(default_factory=dict)


@dataclass(frozen=True)
class OwnCopy:
    """What a player wants otherwise. Without a player it holds choices alone, as of a command."""

    taken: tuple[Taken, ...] = ()
    records: tuple[FiledRecord, ...] = ()
    player: PlayerHead | None = None
    player_origin: Origin | None = None
    performance: date | None = None
    settled_days: int = SETTLED_DAYS

    @property
    def file(self) -> str | None:
        """The file it was read from, as problems name it."""
        return self.player_origin.file if self.player_origin else None


def read_choices(path: Path) -> Outcome[OwnCopy]:
    """Return what stands in a file of choices, with all its problems; None where any is an error.

    Problems name the file as it was given.
    """
    shown = printable(str(path))
    text = read_text(path.parent, path.name)
    if text.value is None:
        return Outcome(None, tuple(_in_file(problem, shown) for problem in text.problems))
    root = read_yaml(text.value, shown)
    if root.problems:
        return Outcome(None, root.problems)
    if not isinstance(root.value, Keyed):
        problem = error(
            "wrong-value",
            Origin(shown),
            "a player's own copy has keys, not a list or a word",
            "Begin it with `player:`, then `choices:` and `records:`.",
        )
        return Outcome(None, (problem,))
    return _read(root.value, shown)


def _in_file(problem: Problem, shown: str) -> Problem:
    return replace(problem, origin=replace(problem.origin, file=shown))


def _read(root: Keyed, file: str) -> Outcome[OwnCopy]:
    written = plain(_without_records(root), file)
    head = fit(Choices, written)
    player = head.value.player.id if head.value else _player_id(written.value)
    nodes = next((value for key, value in root.entries if key.text == "records"), None)
    records = _read_own(nodes, file, player)
    problems = [*head.problems, *records.problems]
    if head.value is None:
        return Outcome(None, in_reading_order(problems))
    origins = Origins(written.keys)
    taken = tuple(
        Taken(one.of, one.takes, origins.at("choices", index, "of"), one.date, one.reason)
        for index, one in enumerate(head.value.choices)
    )
    problems += _chosen_twice(taken)
    if has_errors(problems):
        return Outcome(None, in_reading_order(problems))
    own = OwnCopy(
        taken,
        records.value or (),
        head.value.player,
        origins.at("player", "id"),
        head.value.performance,
        head.value.settled_days,
    )
    return Outcome(own, in_reading_order(problems))


def _without_records(root: Keyed) -> Keyed:
    """Return the keys with empty lists for records, which are read one by one."""
    entries = tuple(
        (key, Sequence((), value.line, value.col, 1) if _holds_records(key.text, value) else value)
        for key, value in root.entries
    )
    return root._replace(entries=entries)


def _holds_records(key: str | None, value: Node) -> bool:
    return key == "records" and isinstance(value, Sequence)


def _player_id(value: object) -> str | None:
    """Return the player's id from a head that has faults elsewhere."""
    player = cast(dict[str, Any], value).get("player")
    found = player.get("id") if isinstance(player, dict) else None
    return found if isinstance(found, str) else None


_NO_REASON = {"en": "Entered in a player’s own copy."}
"""What the layered file says where a player gives no reason; a decision there has one."""


def _read_own(
    nodes: Node | None, file: str, player: str | None
) -> Outcome[tuple[FiledRecord, ...]]:
    if not isinstance(nodes, Sequence):
        return Outcome(())
    filed: dict[str, FiledRecord] = {}
    problems: list[Problem] = []
    for node in nodes.items:
        read = read_record(node, file, {"by": player or "player", "reason": _NO_REASON})
        problems += read.problems
        if read.value is None:
            continue
        problems += _not_own(read.value, player)
        earlier = filed.setdefault(read.value.record.id, read.value)
        if earlier is not read.value:
            problems.append(_id_taken(read.value, earlier))
    return Outcome(tuple(filed.values()), tuple(problems))


def _not_own(filed: FiledRecord, player: str | None) -> tuple[Problem, ...]:
    record = filed.record
    if record.kind not in _KINDS:
        message = f"a player's own copy holds fingerings, bowings and ossias, no {record.kind}"
        remedy = "Remove it; what concerns the text belongs into the edition's records."
        return (error("not-for-a-player", filed.origins.at("kind"), message, remedy),)
    if player is not None and record.by != player:
        message = f"{quoted(record.id)} is by {quoted(record.by)}, but this is the copy of "
        return (
            error(
                "not-for-a-player",
                filed.origins.at("by"),
                f"{message}{quoted(player)}",
                f"Write `by: {player}`, or leave `by` out.",
            ),
        )
    return ()


def _id_taken(one: FiledRecord, earlier: FiledRecord) -> Problem:
    at = earlier.origins.at("id")
    return error(
        "duplicate-record-id",
        one.origins.at("id"),
        f"{quoted(one.record.id)} is a record in {at.file}, line {at.line}, already",
        "Give this record an id of its own.",
    )


def _chosen_twice(taken: tuple[Taken, ...]) -> list[Problem]:
    first: dict[str, Taken] = {}
    problems = []
    for one in taken:
        earlier = first.setdefault(one.of, one)
        if earlier is not one:
            message = f"{quoted(one.of)} is chosen in line {earlier.origin.line} already"
            problems.append(
                error("chosen-twice", one.origin, message, "Keep the choice that holds.")
            )
    return problems


def joined(edition: Edition, own: OwnCopy) -> Outcome[Edition]:
    """Return a new edition that holds the player and the player's records as well.

    Of a record that was chosen of, what was chosen is `printed`. The value is None where an id of
    the player's is one of the edition's.
    """
    edition = replace(edition, records=_as_chosen(edition.records, own.taken))
    if own.player is None or own.player_origin is None:
        return Outcome(edition)
    known = {filed.record.id: filed for filed in edition.records}
    problems = [
        _id_taken(one, known[one.record.id]) for one in own.records if one.record.id in known
    ]
    key = own.player.id
    if key in edition.head.agents:
        message = f"{quoted(key)} is an agent of the edition"
        remedy = "Give the player an id of its own; what is marked here is not the edition's."
        problems.append(error("player-is-agent", own.player_origin, message, remedy))
    if problems:
        return Outcome(None, in_reading_order(problems))
    agents = {**edition.head.agents, key: Player(name=own.player.name)}
    origins = {**edition.head_origins.by_path, ("agents", key): own.player_origin}
    return Outcome(
        replace(
            edition,
            head=edition.head.model_copy(update={"agents": agents}),
            head_origins=Origins(origins),
            records=(*edition.records, *own.records),
        )
    )


def _as_chosen(
    records: tuple[FiledRecord, ...], taken: tuple[Taken, ...]
) -> tuple[FiledRecord, ...]:
    """Return the records, alternatives printed as they were chosen where they can be."""
    names = {one.of: one.takes for one in taken if not isinstance(one.takes, bool)}
    return tuple(
        replace(filed, record=_printing(filed.record, names[filed.record.id]))
        if filed.record.id in names
        else filed
        for filed in records
    )


def _printing(record: Record, names: tuple[str, ...]) -> Record:
    if not isinstance(record, FingeringRecord | Bowing):
        return record
    if not {one.name for one in record.alternatives}.issuperset(names):
        return record
    return record.model_copy(update={"printed": names})
