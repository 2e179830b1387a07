"""A player's choices by date: what one copy has otherwise than another, or than the edition.

In: two files of choices, or an edition and one of them. Out: rows by the day on which each was
chosen or written, as lines or JSON. Nothing is printed here.
"""

from __future__ import annotations

import json
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from datetime import date
from pathlib import Path

from pipeline.desk.columns import columns
from pipeline.desk.plain_words import NOTHING, plain_words
from pipeline.edition.changes import Turn
from pipeline.edition.choices import OwnCopy, Taken, Takes, read_choices
from pipeline.edition.fingers import as_written
from pipeline.edition.model import Edition
from pipeline.edition.places import Place
from pipeline.edition.read import read_edition
from pipeline.edition.records import Bowing, FingeringRecord, Ossia, Record
from pipeline.problems import Outcome
from pipeline.typeset.places import bars_of_place
from pipeline.typeset.wording import Wording, languages, wording_of

_FALLBACK = "en"


@dataclass(frozen=True)
class DatedChange:
    """One choice or own record. Sides are None where there is none; `place` where it is known."""

    day: date | None
    id: str
    own: bool
    turn: Turn | None
    before: str | None
    after: str | None
    place: Place | None = None

    @property
    def became(self) -> str:
        """What became of it; `kept` where only the day of the choice is another."""
        return self.turn.value if self.turn else "kept"


def dated_changes(old: Path, new: Path) -> Outcome[tuple[DatedChange, ...]]:
    """Return what a copy has otherwise than another, or than the edition in a folder, by day."""
    after = read_choices(new)
    if old.is_dir():
        edition = read_edition(old)
        if after.value is None or edition.value is None:
            return Outcome(None, (*edition.problems, *after.problems))
        return Outcome(_by_day(_against(edition.value, after.value)))
    before = read_choices(old)
    if before.value is None or after.value is None:
        return Outcome(None, (*before.problems, *after.problems))
    return Outcome(_by_day(_between(before.value, after.value)))


def choice_lines(changes: Iterable[DatedChange], language: str | None) -> tuple[str, ...]:
    """Return the choices in columns, the earliest first."""
    say = _wording(language).say
    rows = [
        (
            change.day.isoformat() if change.day else "",
            f"{change.place.movement}/{bars_of_place(change.place)}" if change.place else "",
            change.id,
            plain_words(say(f"changes.turns.{change.became}")),
            change.before or NOTHING,
            change.after or NOTHING,
        )
        for change in changes
    ]
    if not rows:
        return (plain_words(say("changes.no_choices")),)
    names = ("fields.date", "columns.bar", "columns.record", "columns.what", "columns.was",
             "columns.now")  # fmt: skip
    return tuple(columns([plain_words(say(f"changes.{name}")) for name in names], rows))


def choices_json(changes: Iterable[DatedChange]) -> str:
    """Return the choices as one JSON object, ending in a line break; keys are only ever added."""
    rows = [
        {
            "date": change.day.isoformat() if change.day else None,
            "id": change.id,
            "own_record": change.own,
            "turn": change.became,
            "before": change.before,
            "after": change.after,
            "movement": change.place.movement if change.place else None,
            "bar": change.place.bar if change.place else None,
        }
        for change in changes
    ]
    return json.dumps({"choices": rows}, ensure_ascii=False, indent=2) + "\n"


def _wording(language: str | None) -> Wording:
    return wording_of(language if language in languages() else _FALLBACK)


def _by_day(changes: Iterable[DatedChange]) -> tuple[DatedChange, ...]:
    return tuple(sorted(changes, key=lambda one: (one.day or date.min, one.own, one.id)))


def _against(edition: Edition, own: OwnCopy) -> Iterator[DatedChange]:
    """Yield what the player takes otherwise than the edition prints, and what is the player's."""
    records = {filed.record.id: filed.record for filed in edition.records}
    for one in own.taken:
        record = records.get(one.of)
        before, after = (_printed(record) if record else None), _said(one.takes)
        place = record.place if record else None
        turn = None if before == after else Turn.CHANGED
        yield DatedChange(one.day, one.of, False, turn, before, after, place)
    for record in _records(own).values():
        yield DatedChange(
            record.date, record.id, True, Turn.ADDED, None, _content(record), record.place
        )


def _between(old: OwnCopy, new: OwnCopy) -> Iterator[DatedChange]:
    ours, theirs = ({one.of: one for one in copy.taken} for copy in (old, new))
    for key in dict.fromkeys((*ours, *theirs)):
        yield from _choice(key, ours.get(key), theirs.get(key))
    mine, other = _records(old), _records(new)
    for key in dict.fromkeys((*mine, *other)):
        before, after = mine.get(key), other.get(key)
        if before != after:
            shown = after or before
            yield DatedChange(
                shown.date if shown else None,
                key,
                True,
                _turn(before, after),
                _content(before) if before else None,
                _content(after) if after else None,
                shown.place if shown else None,
            )


def _choice(key: str, before: Taken | None, after: Taken | None) -> Iterator[DatedChange]:
    sides = [(one.takes, one.day) if one else None for one in (before, after)]
    if sides[0] == sides[1]:
        return
    shown = after or before
    yield DatedChange(
        shown.day if shown else None,
        key,
        False,
        None if before and after and before.takes == after.takes else _turn(before, after),
        _said(before.takes) if before else None,
        _said(after.takes) if after else None,
    )


def _turn(before: object, after: object) -> Turn:
    return Turn.ADDED if before is None else Turn.WITHDRAWN if after is None else Turn.CHANGED


def _records(own: OwnCopy) -> Mapping[str, Record]:
    return {filed.record.id: filed.record for filed in own.records}


def _printed(record: Record) -> str:
    if isinstance(record, FingeringRecord | Bowing):
        return ", ".join(record.printed or [record.alternatives[0].name])
    return "yes"


def _said(takes: Takes) -> str:
    """Return a choice as the file has it."""
    if isinstance(takes, bool):
        return "yes" if takes else "no"
    return ", ".join(takes)


def _content(record: Record) -> str:
    """Return what an own record puts into the part, in the short notation of records."""
    match record:
        case FingeringRecord():
            runs = [", ".join(map(as_written, one.fingers)) for one in record.alternatives]
            return "; ".join(runs)
        case Bowing():
            return "; ".join(
                ", ".join(
                    [f"{sign} {note}" for note, sign in one.signs.items()]
                    + [f"divided after {note}" for note in one.divide_after]
                    + ["joined"] * one.join
                )
                for one in record.alternatives
            )
        case Ossia():
            return record.music.file or record.music.derive or ""
        case _:
            return record.kind
