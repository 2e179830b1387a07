"""The edition as read: head, records and texts, each knowing where it was written."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path

from pipeline.edition.head import EditionHead
from pipeline.edition.records import Record
from pipeline.problems import Origin

Step = str | int


@dataclass(frozen=True)
class Origins:
    """Where each value of one YAML document stands, by the path of keys and indexes to it."""

    by_path: Mapping[tuple[Step, ...], Origin]

    def at(self, *path: Step) -> Origin:
        """Return the origin of that path, or of the nearest enclosing value that was written."""
        for length in range(len(path), -1, -1):
            # A key that is a number (a movement, a note) was written as text like any other.
            for steps in (
                path[:length],
                (*path[: length - 1], *map(str, path[length - 1 : length])),
            ):
                if steps in self.by_path:
                    return self.by_path[steps]
        raise KeyError("an edition file without a first line")


@dataclass(frozen=True)
class FiledRecord:
    """A record and where each of its fields stands; paths start at the record."""

    record: Record
    origins: Origins


@dataclass(frozen=True)
class Text:
    """A prose text of the edition (preface, method) in Markdown."""

    name: str
    language: str
    markdown: str
    origin: Origin


@dataclass(frozen=True)
class Edition:
    """Everything a person wrote, except the music. `folder` is absolute.

    `complete` is False where a record was left out because it could not be read: what only all
    records together can show must then not be judged.
    """

    folder: Path
    head: EditionHead
    head_origins: Origins
    records: tuple[FiledRecord, ...]
    texts: tuple[Text, ...]
    complete: bool = True
