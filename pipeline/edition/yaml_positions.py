"""YAML text into a tree of nodes, each with the line and column where it was written.

In: the text of one file. Out: its nodes; `plain_values.py` goes on from any of them.
Values stay text, whatever they look like ("14", "no", "2025-03-02"): what a value means is told by
the field it is given for, never by its looks (YAML 1.2.2, 10.1, failsafe schema). Only an empty
value, `~` and `null` are nothing at all.

The events come from libyaml, which PyYAML's packages carry: thirty times as fast as a pure Python
loader with positions (310 kB, 400 records: 0.06 s against 1.8 s). Nothing is constructed but what
is built here, and all of it is bounded: depth, number of values, and what aliases repeat.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from typing import Any, NamedTuple, TypeAlias

import yaml

from pipeline.edition.quoting import UNPRINTABLE, quoted
from pipeline.edition.yaml_faults import RefusedError, describe
from pipeline.problems import Origin, Outcome, error

MAX_DEPTH = 24
"""Deepest nesting that is read; the deepest record needs seven levels."""

MAX_VALUES = 250_000
"""Most values in one file; a record has about forty."""

MAX_REPEATED = 20_000
"""Most values that all aliases of a file may stand for together."""

_NOTHING = {"", "~", "null", "Null", "NULL"}


class Scalar(NamedTuple):
    """A word or text; None where nothing was written."""

    text: str | None
    line: int
    col: int
    size: int = 1


class Sequence(NamedTuple):
    """A list of values. `size` counts all values in it, aliases written out."""

    items: tuple[Node, ...]
    line: int
    col: int
    size: int


class Keyed(NamedTuple):
    """Values by key, in the order in which they were written."""

    entries: tuple[tuple[Scalar, Node], ...]
    line: int
    col: int
    size: int


Node: TypeAlias = Scalar | Sequence | Keyed


def read_yaml(
    text: str, file: str, first_line: int = 1, most_repeated: int = MAX_REPEATED
) -> Outcome[Node]:
    """Return the tree of the one YAML document in `text`, or the first thing that prevents it.

    The value is None, without a problem, where there are only comments. `first_line` is the line
    of the file on which the text begins; `most_repeated` is how many values aliases may stand for.
    """
    reading = _Reading(
        yaml.parse(text, Loader=yaml.CSafeLoader), file, first_line - 1, most_repeated
    )
    try:
        return Outcome(reading.document())
    except RefusedError as refused:
        return Outcome(None, (refused.problem,))
    except yaml.MarkedYAMLError as fault:
        return Outcome(None, (describe(fault, text, file, first_line),))


@dataclass
class _Reading:
    """One pass over the events of a document."""

    events: Iterator[Any]  # libyaml's events; the stubs know no common type for their fields
    file: str
    line_offset: int
    most_repeated: int
    anchors: dict[str, Node] = field(default_factory=dict)
    values: int = 0
    repeated: int = 0

    def document(self) -> Node | None:
        root: Node | None = None
        for event in self.events:
            if isinstance(event, yaml.DocumentStartEvent):
                if root is not None:
                    raise self.refusal(
                        event,
                        "malformed-yaml",
                        "a second document begins here",
                        "Remove the line `---`, or put what follows into a file of its own.",
                    )
                root = self.node(next(self.events), 1)
        return root

    def node(self, event: Any, depth: int) -> Node:
        if isinstance(event, yaml.AliasEvent):
            return self.alias(event)
        self.refuse_unbounded(event, depth)
        mark = event.start_mark
        line, col = mark.line + 1 + self.line_offset, mark.column + 1
        if isinstance(event, yaml.ScalarEvent):
            self.refuse_escaped(event)
            nothing = event.implicit[0] and event.value in _NOTHING
            built: Node = Scalar(None if nothing else event.value, line, col)
        elif isinstance(event, yaml.SequenceStartEvent):
            built = self.sequence(line, col, depth)
        else:
            built = self.keyed(line, col, depth)
        if event.anchor is not None:
            self.anchors[event.anchor] = built
        return built

    def refuse_unbounded(self, event: Any, depth: int) -> None:
        self.values += 1
        if self.values > MAX_VALUES:
            raise self.refusal(
                event,
                "too-many-values",
                f"the file holds more than {MAX_VALUES} values",
                "Divide it into several files.",
            )
        if depth > MAX_DEPTH:
            raise self.refusal(
                event,
                "nested-too-deep",
                f"values are nested more than {MAX_DEPTH} deep here",
                "Look for a bracket or an indentation that was not meant.",
            )
        if event.tag is not None:
            raise self.refusal(
                event,
                "yaml-tag",
                f"{quoted(event.tag)} is a YAML tag; an edition has none",
                "Remove it. A text that begins with `!` is put in quotes.",
            )

    def refuse_escaped(self, event: Any) -> None:
        """Refuse what only an escape can bring in; the text of the file was looked at before."""
        if event.style == '"' and UNPRINTABLE.search(event.value):
            raise self.refusal(
                event,
                "unprintable-character",
                "an escape in this text stands for a character that cannot be printed",
                "Use single quotes, or write the backslash twice.",
            )

    def sequence(self, line: int, col: int, depth: int) -> Sequence:
        items = []
        for event in self.events:
            if isinstance(event, yaml.SequenceEndEvent):
                break
            items.append(self.node(event, depth + 1))
        return Sequence(tuple(items), line, col, 1 + sum(item.size for item in items))

    def keyed(self, line: int, col: int, depth: int) -> Keyed:
        entries = []
        for event in self.events:
            if isinstance(event, yaml.MappingEndEvent):
                break
            key = self.node(event, depth + 1)
            if not isinstance(key, Scalar) or key.text is None:
                raise self.refusal(
                    event, "malformed-yaml", "a key has to be a word", "Write `key: value`."
                )
            entries.append((key, self.node(next(self.events), depth + 1)))
        return Keyed(tuple(entries), line, col, 1 + sum(value.size for _, value in entries))

    def alias(self, event: Any) -> Node:
        """Return the value an alias stands for; sizes are added up, nothing is copied."""
        name = quoted(f"*{event.anchor}")
        if event.anchor not in self.anchors:
            raise self.refusal(
                event,
                "unknown-alias",
                f"{name} repeats a value that nothing before it has named",
                "Write the value out. A text that begins with `*` is put in quotes.",
            )
        node = self.anchors[event.anchor]
        self.repeated += node.size
        if self.repeated > self.most_repeated:
            raise self.refusal(
                event,
                "too-many-values",
                f"with {name} the aliases of this file stand for more than {MAX_REPEATED} values",
                "Write the values out instead of repeating them by aliases.",
            )
        return node

    def refusal(self, event: Any, code: str, message: str, remedy: str) -> RefusedError:
        mark = event.start_mark
        origin = Origin(self.file, mark.line + 1 + self.line_offset, mark.column + 1)
        return RefusedError(error(code, origin, message, remedy))
