"""Nodes of a YAML text into dicts, lists and text, which still know where they were written.

In: a node. Out: its plain value, the faults that any value can have (a key given twice, a key
without a value), and positions by path, which are worked out only when somebody asks for one.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from functools import cached_property
from typing import TypeAlias

from pipeline.edition.quoting import quoted
from pipeline.edition.yaml_positions import Keyed, Node, Scalar, Sequence
from pipeline.problems import Origin, Problem, error

Path: TypeAlias = tuple[str | int, ...]


class KeyPositions(Mapping[Path, Origin]):
    """Where each key below a node stands; for an item of a list, where the item stands."""

    def __init__(self, root: Node, file: str) -> None:
        self._root = root
        self._file = file
        self._found: dict[Path, Origin] | None = None

    def __getitem__(self, path: Path) -> Origin:
        return self._all()[path]

    def __iter__(self) -> Iterator[Path]:
        return iter(self._all())

    def __len__(self) -> int:
        return len(self._all())

    def _all(self) -> dict[Path, Origin]:
        if self._found is None:
            self._found = {
                path: Origin(self._file, key.line, key.col) for path, key, _ in _walk(self._root)
            }
        return self._found


@dataclass(frozen=True)
class Plain:
    """A value as dicts, lists and text; a key given twice has its first value.

    `may_be_empty` are paths at which nothing need be written.
    """

    value: object
    node: Node
    file: str
    faulty: bool
    may_be_empty: frozenset[Path] = frozenset()

    @property
    def keys(self) -> KeyPositions:
        """Where each value's key stands, by the path from this value."""
        return KeyPositions(self.node, self.file)

    def key_origin(self, path: Path) -> Origin:
        """Return where the key at that path stands, or the nearest around it that was written."""
        return self._nearest(path, self._keys)

    def value_origin(self, path: Path) -> Origin:
        """Return where the value at that path begins, or the nearest around it."""
        return self._nearest(path, self._values)

    def holds(self, path: Path) -> bool:
        """Return whether something was written at just that path."""
        return path in self._values

    def problems(self) -> tuple[Problem, ...]:
        """Return the keys given twice and the values left empty."""
        if not self.faulty:
            return ()
        return tuple(_faults(self.node, self.file, self.may_be_empty))

    def empty(self) -> frozenset[Path]:
        """Return the paths at which nothing was written, but something is needed."""
        if not self.faulty:
            return frozenset()
        empty = frozenset(path for path, _, value in _walk(self.node) if _is_empty(value))
        return empty - self.may_be_empty

    def with_keys(self, names: frozenset[str]) -> Plain:
        """Return the same without the keys that are not named."""
        value = self.value
        if isinstance(value, dict):
            value = {key: kept for key, kept in value.items() if key in names}
        return replace(self, value=value)

    @cached_property
    def _keys(self) -> Mapping[Path, Node]:
        return {path: key for path, key, _ in _walk(self.node)}

    @cached_property
    def _values(self) -> Mapping[Path, Node]:
        return {path: value for path, _, value in _walk(self.node)}

    def _nearest(self, path: Path, nodes: Mapping[Path, Node]) -> Origin:
        for length in range(len(path), -1, -1):
            if path[:length] in nodes:
                node = nodes[path[:length]]
                return Origin(self.file, node.line, node.col)
        raise KeyError("a value without a position")


def plain(node: Node, file: str) -> Plain:
    """Return a node of that file as plain values."""
    value, faulty = _unfold(node)
    return Plain(value, node, file, faulty)


def _unfold(node: Node) -> tuple[object, bool]:
    """Return the plain value, and whether a key stands twice or a value is empty below it."""
    if isinstance(node, Scalar):
        return node.text, node.text is None
    faulty = False
    if isinstance(node, Sequence):
        items = []
        for item in node.items:
            value, fault = _unfold(item)
            items.append(value)
            faulty |= fault
        return items, faulty
    built: dict[str, object] = {}
    for key, entry in node.entries:
        value, fault = _unfold(entry)
        built.setdefault(str(key.text), value)
        faulty |= fault
    return built, faulty or len(built) < len(node.entries)


def _walk(
    node: Node, path: Path = (), key: Node | None = None
) -> Iterator[tuple[Path, Node, Node]]:
    """Yield path, key and value of everything below a node; of a key given twice, the first."""
    yield path, key or node, node
    if isinstance(node, Sequence):
        for index, item in enumerate(node.items):
            yield from _walk(item, (*path, index))
    elif isinstance(node, Keyed):
        seen = set()
        for name, value in node.entries:
            if name.text not in seen:
                seen.add(name.text)
                yield from _walk(value, (*path, str(name.text)), name)


def _faults(root: Node, file: str, may_be_empty: frozenset[Path]) -> Iterator[Problem]:
    for path, key, value in _walk(root):
        if _is_empty(value):
            if path in may_be_empty:
                continue
            yield _empty_value(path, Origin(file, key.line, key.col))
        elif isinstance(value, Keyed):
            yield from _repeated_keys(value, file)


def _repeated_keys(node: Keyed, file: str) -> Iterator[Problem]:
    first: dict[str | None, Scalar] = {}
    for key, _ in node.entries:
        earlier = first.setdefault(key.text, key)
        if earlier is not key:
            message = (
                f"{quoted(str(key.text))} stands here again; line {earlier.line} has it already"
            )
            origin = Origin(file, key.line, key.col)
            yield error("duplicate-key", origin, message, "Keep one of the two.")


def _is_empty(node: Node) -> bool:
    return isinstance(node, Scalar) and node.text is None


def _empty_value(path: Path, origin: Origin) -> Problem:
    name = path[-1] if path else ""
    what = f"{quoted(name)} has no value" if isinstance(name, str) and name else "an entry is empty"
    return error(
        "empty-value", origin, what, "Give it a value; a key that is not needed is left out."
    )
