"""The changes between two states for programs: one JSON object with stable keys.

Described in DEVELOPERS.md; keys are only ever added.
"""

from __future__ import annotations

import json
from collections.abc import Iterator
from datetime import date
from enum import Enum
from fractions import Fraction

from pydantic import BaseModel

from pipeline.collation.collated import BarDifference, Collation
from pipeline.collation.model import Difference
from pipeline.desk.changes import Changes
from pipeline.desk.plain_words import plain_words
from pipeline.edition.changes import FieldChange, RecordChange, TextChange
from pipeline.edition.fingers import Fingering, as_written
from pipeline.edition.model import FiledRecord
from pipeline.typeset.collation_words import CollationWords

Row = dict[str, object]


def changes_json(changes: Changes) -> str:
    """Return the changes, ending in a line break; records by movement, bar and id."""
    answer = {
        "language": changes.wording.code,
        "old": changes.old.name,
        "new": changes.new.name,
        "records": [_record(one) for one in changes.records_in_order],
        "edition": [_field(one) for one in changes.head],
        "texts": [_text(one) for one in changes.texts],
        "music": [row for n in changes.music for row in _music(n, changes)],
        "written_otherwise": [
            {"movement": n, "kind": kind.value, "count": count}
            for n, counts in changes.set_aside.items()
            for kind, count in counts.items()
            if count
        ],
        "encodings": list(changes.files),
    }
    return json.dumps(answer, ensure_ascii=False, indent=2) + "\n"


def _record(change: RecordChange) -> Row:
    record = change.record
    return {
        "id": record.id,
        "kind": record.kind,
        "turn": change.turn.value,
        "superseded_by": record.superseded_by,
        "before": _where(change.before),
        "after": _where(change.after),
        "fields": [_field(one) for one in change.fields],
    }


def _where(filed: FiledRecord | None) -> Row | None:
    if filed is None:
        return None
    origin, place = filed.origins.at("id"), filed.record.place
    return {
        "file": origin.file,
        "line": origin.line,
        "status": filed.record.status.value,
        "place": _plain(place),
    }


def _field(change: FieldChange) -> Row:
    return {
        "path": list(change.path),
        "before": _plain(change.before),
        "after": _plain(change.after),
        "prose": change.prose,
    }


def _text(change: TextChange) -> Row:
    return {
        "name": change.name,
        "language": change.language,
        "turn": change.turn.value,
        "passages": [
            {"before": list(before), "after": list(after)} for before, after in change.passages
        ],
    }


def _music(n: int, changes: Changes) -> Iterator[Row]:
    collation = changes.music[n]
    text = changes.rows.old.texts[n]
    words = CollationWords(text, n, changes.wording)
    obstacle = collation.beside.obstacle
    if obstacle is not None:
        yield {"movement": n, "obstacle": obstacle.value}
    for one in collation.differences:
        yield _difference(one, collation, words)
    for bars in collation.bars:
        yield _bars(bars, n, words)


def _difference(one: Difference, collation: Collation, words: CollationWords) -> Row:
    readings = words.readings(one, collation.beside)
    bar = words.text.bars[one.start.bar]
    return {
        "movement": collation.movement,
        "bar": bar.n,
        "beat": _plain(one.start.offset / (bar.beat or Fraction(1)) + 1),
        "staff": one.staff,
        "kind": one.kind.value,
        "change": one.change.value,
        "before": plain_words(readings.text),
        "after": plain_words(readings.reading),
    }


def _bars(bars: BarDifference, n: int, words: CollationWords) -> Row:
    readings = words.bars(bars)
    return {
        "movement": n,
        "bar": words.text.bars[bars.at].n if words.text.bars else None,
        "beat": None,
        "staff": None,
        "kind": bars.change.value,
        "change": bars.change.value,
        "before": plain_words(readings.text),
        "after": plain_words(readings.reading),
    }


def _plain(value: object) -> object:
    """Return a value as JSON holds it: fingerings in the short notation, days as ISO 8601."""
    match value:
        case Fingering():
            return as_written(value)
        case BaseModel():
            given = {key: getattr(value, key) for key in type(value).model_fields}
            return {k: _plain(v) for k, v in given.items() if v not in (None, "", (), {})}
        case Enum():
            return value.value
        case date():
            return value.isoformat()
        case Fraction():
            whole, rest = divmod(value, 1)
            return (f"{whole} {rest}" if whole else str(rest)) if rest else str(whole)
        case dict():
            return {str(key): _plain(inner) for key, inner in value.items()}
        case tuple() | list():
            return [_plain(inner) for inner in value]
        case _:
            return value
