"""YAML text into plain values, each with the line and column where it was written.

In: the text of one file. Out: a tree of nodes, and from any node of it plain dicts, lists and text.
Values stay text, whatever they look like ("14", "no", "2025-03-02"): what a value means is told by
the field it is given for, never by its looks (YAML 1.2.2, 3.3.2: "resolution ... by the
application"). Only an empty value, `~` and `null` are nothing at all.

The events come from libyaml through PyYAML, which was measured thirty times as fast as a pure
Python loader with positions (310 kB, 400 records: 0.06 s against 1.8 s). Nothing is constructed
but what is built here, and all of it is bounded: depth, number of values, and what aliases repeat.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from typing import Any, TypeAlias

import yaml

from pipeline.edition.yaml_faults import RefusedError, describe
from pipeline.problems import Origin, Outcome, Problem, error

MAX_DEPTH = 24
"""Deepest nesting that is read; the deepest record needs seven levels."""

MAX_VALUES = 400_000
"""Most values in one file; a record has about forty."""

MAX_REPEATED = 20_000
"""Most values that all aliases of a file may stand for together."""

Path: TypeAlias = tuple[str | int, ...]

_LOADER = getattr(yaml, "CSafeLoader", yaml.SafeLoader)
_NOTHING = {"", "~", "null", "Null", "NULL"}


@dataclass(frozen=True, slots=True)
class Scalar:
    """A word or text; None where nothing was written."""

    text: str | None
    line: int
    col: int
    size: int = 1


@dataclass(frozen=True, slots=True)
class Sequence:
    """A list of values. `size` counts all values in it, aliases written out."""

    items: tuple[Node, ...]
    line: int
    col: int
    size: int


@dataclass(frozen=True, slots=True)
class Keyed:
    """Values by key, in the order in which they were written."""

    entries: tuple[tuple[Scalar, Node], ...]
    line: int
    col: int
    size: int


Node: TypeAlias = Scalar | Sequence | Keyed


def read_yaml(text: str, file: str, first_line: int = 1) -> Outcome[Node]:
    """Return the tree of the one YAML document in `text`, or the first thing that prevents it.

    The value is None, without a problem, where there are only comments. `first_line` is the line
    of the file on which the text begins.
    """
    reading = _Reading(yaml.parse(text, Loader=_LOADER), file, first_line - 1)
    try:
        return Outcome(reading.document())
    except RefusedError as refused:
        return Outcome(None, (refused.problem,))
    except yaml.MarkedYAMLError as fault:
        return Outcome(None, (describe(fault, text, file, first_line - 1),))


@dataclass
class _Reading:
    """One pass over the events of a document."""

    events: Iterator[Any]  # libyaml's events; the stubs know no common type for their fields
    file: str
    line_offset: int
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
                f"`{event.tag}` is a YAML tag; an edition has none",
                "Remove it. A text that begins with `!` is put in quotes.",
            )
        line, col = self.position(event)
        if isinstance(event, yaml.ScalarEvent):
            nothing = event.implicit[0] and event.value in _NOTHING
            built: Node = Scalar(None if nothing else event.value, line, col)
        elif isinstance(event, yaml.SequenceStartEvent):
            built = self.sequence(line, col, depth)
        else:
            built = self.keyed(line, col, depth)
        if event.anchor is not None:
            self.anchors[event.anchor] = built
        return built

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
        if event.anchor not in self.anchors:
            raise self.refusal(
                event,
                "unknown-alias",
                f"`*{event.anchor}` repeats a value that no `&{event.anchor}` before it has named",
                "Write the value out. A text that begins with `*` is put in quotes.",
            )
        node = self.anchors[event.anchor]
        self.repeated += node.size
        if self.repeated > MAX_REPEATED:
            raise self.refusal(
                event,
                "too-many-values",
                f"with `*{event.anchor}` the aliases of this file stand for more than "
                f"{MAX_REPEATED} values",
                "Write the values out instead of repeating them by aliases.",
            )
        return node

    def position(self, event: Any) -> tuple[int, int]:
        mark = event.start_mark
        return mark.line + 1 + self.line_offset, mark.column + 1

    def refusal(self, event: Any, code: str, message: str, remedy: str) -> RefusedError:
        return RefusedError(error(code, Origin(self.file, *self.position(event)), message, remedy))


@dataclass(frozen=True)
class Plain:
    """A value as dicts, lists and text.

    `keys` tells where each value's key stands (for an item of a list: the item), `values` where
    the value itself begins; paths start at the value.
    """

    value: object
    keys: Mapping[Path, Origin]
    values: Mapping[Path, Origin]
    problems: tuple[Problem, ...]
    empty: frozenset[Path]


def plain(node: Node, file: str) -> Plain:
    """Return a node as plain values; keys given twice and keys without a value are problems."""
    return _Unfolding(file).of(node)


@dataclass
class _Unfolding:
    file: str
    keys: dict[Path, Origin] = field(default_factory=dict)
    values: dict[Path, Origin] = field(default_factory=dict)
    problems: list[Problem] = field(default_factory=list)
    empty: set[Path] = field(default_factory=set)

    def of(self, node: Node) -> Plain:
        self.keys[()] = self.origin(node)
        value = self.value(node, ())
        return Plain(value, self.keys, self.values, tuple(self.problems), frozenset(self.empty))

    def origin(self, node: Node) -> Origin:
        return Origin(self.file, node.line, node.col)

    def value(self, node: Node, path: Path) -> object:
        self.values[path] = self.origin(node)
        if isinstance(node, Scalar):
            if node.text is None:
                self.note_empty(path)
            return node.text
        if isinstance(node, Sequence):
            return [self.item(item, (*path, n)) for n, item in enumerate(node.items)]
        return self.mapping(node, path)

    def item(self, node: Node, path: Path) -> object:
        self.keys[path] = self.origin(node)
        return self.value(node, path)

    def mapping(self, node: Keyed, path: Path) -> dict[str, object]:
        built: dict[str, object] = {}
        for key, value in node.entries:
            name = str(key.text)
            here = (*path, name)
            if name in built:
                first = self.keys[here]
                self.problems.append(
                    error(
                        "duplicate-key",
                        self.origin(key),
                        f"`{name}` stands here a second time; it was given in line {first.line}",
                        "Keep one of the two.",
                    )
                )
                continue
            self.keys[here] = self.origin(key)
            built[name] = self.value(value, here)
        return built

    def note_empty(self, path: Path) -> None:
        self.empty.add(path)
        name = path[-1] if path else ""
        what = f"`{name}` has no value" if isinstance(name, str) and name else "an entry is empty"
        remedy = "Give it a value, or leave it out."
        self.problems.append(error("empty-value", self.keys[path], what, remedy))
