"""What is otherwise in a later state of an edition: its records, edition.yaml and its texts.

In: two editions as they were read. Out: what was added, withdrawn, superseded, moved, changed and
reworded, each with the fields that differ. The comparison mirrors itself: the other way round, what
was added is withdrawn, and before and after change places. Music is compared elsewhere.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from difflib import SequenceMatcher
from enum import StrEnum

from pydantic import BaseModel

from pipeline.edition.fingers import Fingering
from pipeline.edition.head import MovementHead, TempoChange
from pipeline.edition.model import Edition, FiledRecord, Text
from pipeline.edition.places import Place
from pipeline.edition.records import (
    BowingAlternative,
    Citation,
    FingeringAlternative,
    Letter,
    Record,
    Status,
    Variant,
)
from pipeline.edition.strict import MAIN_LANGUAGE, holds_prose


class Turn(StrEnum):
    """What became of a record. The first four are about whether it is in force."""

    ADDED = "added"
    WITHDRAWN = "withdrawn"
    SUPERSEDED = "superseded"
    REINSTATED = "reinstated"
    MOVED = "moved"
    CHANGED = "changed"
    REWORDED = "reworded"
    NOT_IN_FORCE = "not in force"
    NOT_READ = "not read"


_TOLD_WHOLE = (Place, Fingering)
"""What is one value for a musician, though it has keys."""


@dataclass(frozen=True)
class FieldChange:
    """One value that differs, by the path of keys to it; None on the side that has none.

    Entries of a list are called by what they are known by: an alternative by its name, a reading
    by its witnesses. `prose` tells that only words for the reader differ.
    """

    path: tuple[str, ...]
    before: object
    after: object
    prose: bool = False


@dataclass(frozen=True)
class RecordChange:
    """A record that is otherwise, in both states; None where a state does not have it."""

    turn: Turn
    before: FiledRecord | None
    after: FiledRecord | None
    fields: tuple[FieldChange, ...] = ()

    @property
    def record(self) -> Record:
        """The record as it is now, or as it last was."""
        filed = self.after or self.before
        if filed is None:
            raise ValueError("a change of no record")
        return filed.record


@dataclass(frozen=True)
class TextChange:
    """Paragraphs of a text that differ, those before and those after; a text may be new or gone."""

    name: str
    language: str
    turn: Turn
    passages: tuple[tuple[tuple[str, ...], tuple[str, ...]], ...]


def changed_records(
    old: Edition,
    new: Edition,
    other_files: frozenset[str] = frozenset(),
    not_read: tuple[frozenset[str], frozenset[str]] = (frozenset(), frozenset()),
) -> tuple[RecordChange, ...]:
    """Return every record that is otherwise, by id.

    `other_files` are the music files whose content differs under the same name; `not_read` are ids
    of records that are written in the old and in the new state, but could not be read there.
    """
    before = {filed.record.id: filed for filed in old.records}
    after = {filed.record.id: filed for filed in new.records}
    languages = (old.head.main_language, new.head.main_language)
    found = (
        _changed(before.get(key), after.get(key), languages, other_files)
        for key in sorted({*before, *after})
    )
    return tuple(
        replace(change, turn=Turn.NOT_READ) if _hidden(change, not_read) else change
        for change in found
        if change is not None
    )


def _hidden(change: RecordChange, not_read: tuple[frozenset[str], frozenset[str]]) -> bool:
    """Return whether a record only seems to be new or gone: the other state has it, unreadable."""
    of_old, of_new = not_read
    key = change.record.id
    return (change.before is None and key in of_old) or (change.after is None and key in of_new)


def changed_head(old: Edition, new: Edition) -> tuple[FieldChange, ...]:
    """Return what is otherwise in edition.yaml, in the order of its keys."""
    languages = (old.head.main_language, new.head.main_language)
    return tuple(_fields(old.head, new.head, (), languages))


def changed_texts(old: Edition, new: Edition) -> tuple[TextChange, ...]:
    """Return the texts that are otherwise, by name and language."""
    before, after = ({(t.name, t.language): t for t in e.texts} for e in (old, new))
    found = (_text(key, before.get(key), after.get(key)) for key in sorted({*before, *after}))
    return tuple(change for change in found if change is not None)


def _changed(
    before: FiledRecord | None,
    after: FiledRecord | None,
    languages: tuple[str, str],
    other_files: frozenset[str],
) -> RecordChange | None:
    fields: tuple[FieldChange, ...] = ()
    if before is not None and after is not None:
        fields = tuple(_of_record(before.record, after.record, languages, other_files))
        if not fields:
            return None
    return RecordChange(_turn(before, after, fields), before, after, fields)


def _turn(
    before: FiledRecord | None, after: FiledRecord | None, fields: Sequence[FieldChange]
) -> Turn:
    was, now = _status(before), _status(after)
    if was is not Status.ACCEPTED and now is not Status.ACCEPTED:
        return Turn.NOT_IN_FORCE
    if was is not Status.ACCEPTED:
        return Turn.REINSTATED if was is Status.SUPERSEDED else Turn.ADDED
    if now is not Status.ACCEPTED:
        return Turn.SUPERSEDED if now is Status.SUPERSEDED else Turn.WITHDRAWN
    if any(field.path[0] == "place" for field in fields):
        return Turn.MOVED
    # The day of a decision that only says itself otherwise is no other decision.
    worded = all(field.prose or field.path == ("date",) for field in fields)
    return Turn.REWORDED if worded and any(f.prose for f in fields) else Turn.CHANGED


def _status(filed: FiledRecord | None) -> Status | None:
    return filed.record.status if filed else None


def _of_record(
    before: Record, after: Record, languages: tuple[str, str], other_files: frozenset[str]
) -> Iterator[FieldChange]:
    yield from _fields(before, after, (), languages)
    for path, file in _files(after, ()):
        if file in other_files and dict(_files(before, ())).get(path) == file:
            yield FieldChange((*path, "notes"), file, file)


def _files(value: object, path: tuple[str, ...]) -> Iterator[tuple[tuple[str, ...], str]]:
    """Yield the music files that a record names, with the path of keys to each."""
    if isinstance(value, BaseModel):
        for name in type(value).model_fields:
            inner = getattr(value, name)
            if name == "file" and isinstance(inner, str):
                yield path, inner
            else:
                yield from _files(inner, (*path, name))
    elif isinstance(value, tuple):
        for index, inner in enumerate(value):
            yield from _files(inner, (*path, _known_by(inner) or str(index + 1)))


def _fields(
    before: BaseModel, after: BaseModel, path: tuple[str, ...], languages: tuple[str, str]
) -> Iterator[FieldChange]:
    ours, theirs = type(before).model_fields, type(after).model_fields
    for name in dict.fromkeys((*ours, *theirs)):
        field = ours.get(name) or theirs[name]
        was, now = getattr(before, name, None), getattr(after, name, None)
        here = (*path, name)
        if holds_prose(field.annotation):
            yield from _prose(was or {}, now or {}, here, languages)
        else:
            yield from _values(was, now, here, languages)


def _prose(
    before: Mapping[str, str],
    after: Mapping[str, str],
    path: tuple[str, ...],
    languages: tuple[str, str],
) -> Iterator[FieldChange]:
    was, now = (
        {main if code == MAIN_LANGUAGE else code: text for code, text in prose.items()}
        for prose, main in zip((before, after), languages, strict=True)
    )
    for code in dict.fromkeys((*was, *now)):
        if was.get(code) != now.get(code):
            yield FieldChange((*path, code), was.get(code), now.get(code), prose=True)


def _values(
    before: object, after: object, path: tuple[str, ...], languages: tuple[str, str]
) -> Iterator[FieldChange]:
    if before == after and type(before) is type(after):
        return
    if (
        isinstance(before, BaseModel)
        and isinstance(after, BaseModel)
        and not isinstance(before, _TOLD_WHOLE)
    ):
        yield from _fields(before, after, path, languages)
        return
    ours, theirs = _entries(before), _entries(after)
    if ours is None or theirs is None:
        yield FieldChange(path, _something(before), _something(after))
        return
    for key in dict.fromkeys((*ours, *theirs)):
        yield from _values(ours.get(key), theirs.get(key), (*path, key), languages)
    if not isinstance(before, Mapping):
        order = [[key for key in one if key in ours and key in theirs] for one in (ours, theirs)]
        if order[0] != order[1]:
            yield FieldChange((*path, "order"), tuple(order[0]), tuple(order[1]))


def _entries(value: object) -> Mapping[str, object] | None:
    """Return the entries of a list or mapping by what they are known by, None where they are not.

    An entry that is known by nothing, or by what another is known by, makes the list a whole.
    """
    if isinstance(value, Mapping):
        return {str(key): inner for key, inner in value.items()}
    if not isinstance(value, tuple):
        return None
    names = [_known_by(entry) for entry in value]
    if None in names or any(count > 1 for count in Counter(names).values()):
        return None
    return {str(name): entry for name, entry in zip(names, value, strict=True)}


def _known_by(entry: object) -> str | None:
    match entry:
        case FingeringAlternative() | BowingAlternative():
            return entry.name
        case Variant():
            return ", ".join((*entry.witnesses, *([entry.hand] if entry.hand else [])))
        case Citation():
            return entry.cite
        case Letter():
            return f"{entry.sender} – {entry.recipient}"
        case MovementHead():
            return str(entry.n)
        case TempoChange():
            return entry.bar
        case _:
            return None


def _something(value: object) -> object:
    """Return a value, None for an empty one: what is left out and what is empty are the same."""
    return None if value is None or value == () or value == "" else value


def _text(key: tuple[str, str], before: Text | None, after: Text | None) -> TextChange | None:
    was, now = (_paragraphs(text.markdown) if text else () for text in (before, after))
    if was == now and (before is None) == (after is None):
        return None
    turn = Turn.ADDED if before is None else Turn.WITHDRAWN if after is None else Turn.REWORDED
    return TextChange(*key, turn, tuple(_passages(was, now)))


def _paragraphs(markdown: str) -> tuple[str, ...]:
    return tuple(words for block in markdown.split("\n\n") if (words := " ".join(block.split())))


def _passages(
    before: Sequence[str], after: Sequence[str]
) -> Iterable[tuple[tuple[str, ...], tuple[str, ...]]]:
    # SequenceMatcher is not the same both ways round; the smaller text always comes first.
    turned = (len(after), tuple(after)) < (len(before), tuple(before))
    first, second = (after, before) if turned else (before, after)
    for tag, a, b, c, d in SequenceMatcher(None, first, second, autojunk=False).get_opcodes():
        if tag != "equal":
            one, other = tuple(first[a:b]), tuple(second[c:d])
            yield (other, one) if turned else (one, other)
