"""A tree in MEI 5.1 in, the same tree with an xml:id on every element that can be addressed.

Identifiers that the file has are kept. New ones say where the element stands (`m14-s1-v1-note3`:
third note without an identifier of voice 1 of staff 1 in bar 14) and depend on nothing but the
file, so reading twice gives the same. A prefix renames identifiers and every reference to them.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable
from typing import cast

from pipeline.score.mei_names import XML_ID, Element, local, tag

REFERENCES = frozenset(
    {"startid", "endid", "plist", "corresp", "sameas", "copyof", "next", "prev", "follows"}
    | {"precedes", "synch", "stem.sameas", "join", "chordref", "class", "resp", "source", "hand"}
    | {"data", "decls", "def", "facs", "instr", "new", "old", "since", "state", "target", "when"}
    | {"origin.startid", "origin.endid", "altsym", "head.altsym", "nymref", "scheme"}
    | {"recto", "verso", "inner.recto", "inner.verso", "outer.recto", "outer.verso"}
    | {"{http://www.w3.org/1999/xlink}href"}
)
"""Attributes of data type URI in the MEI 5.1 schema that can point to an element of the file."""

_NOT_ADDRESSED = frozenset({"rend", "lb", "syl", "symbol", "label", "labelAbbr", "num", "stack"})


def give_identifiers(root: Element) -> None:
    """Put an xml:id on every element of the music that has none."""
    taken = {element.get(XML_ID, "") for element in root.iter("*")}
    counts: Counter[str] = Counter()
    for music in root.iter(tag("music")):
        _walk(music, "", taken, counts)


def prefix_identifiers(root: Element, prefix: str) -> None:
    """Put `prefix` before every xml:id and before every reference to one of them."""
    known = {element.get(XML_ID) for element in root.iter("*")} - {None}
    for element in root.iter("*"):
        for name, value in attributes(element):
            if name == XML_ID:
                element.set(name, prefix + value)
            elif name in REFERENCES and "#" in value:
                element.set(name, " ".join(_prefixed(one, prefix, known) for one in value.split()))


def attributes(element: Element) -> Iterable[tuple[str, str]]:
    """Return the attributes as text, as lxml gives them for a document that was parsed."""
    return cast("Iterable[tuple[str, str]]", element.items())


def identifiers(root: Element) -> frozenset[str]:
    """Return every xml:id of the tree."""
    return frozenset(element.get(XML_ID, "") for element in root.iter("*")) - {""}


def referred(value: str) -> tuple[str, ...]:
    """Return the xml:ids that a reference such as "#a #b" names in its own file."""
    return tuple(one[1:] for one in value.split() if one.startswith("#"))


def as_identifier(written: str) -> str:
    """Return text as part of an xml:id (NCName): letters, digits, dot, hyphen; the rest by code."""
    return "".join(
        c if c.isascii() and (c.isalnum() or c in "-._") else f"u{ord(c):x}" for c in written
    )


def _prefixed(reference: str, prefix: str, known: set[str | None]) -> str:
    name = reference[1:]
    return f"#{prefix}{name}" if reference.startswith("#") and name in known else reference


def _walk(element: Element, stem: str, taken: set[str], counts: Counter[str]) -> None:
    for child in element:
        name = local(child)
        if not name or name in _NOT_ADDRESSED:
            continue
        inner = stem
        if name == "measure":
            inner = _unused(f"m{as_identifier(child.get('n', ''))}", taken)
        elif name in {"staff", "layer"} and stem:
            letter = "s" if name == "staff" else "v"
            inner = _unused(f"{stem}-{letter}{as_identifier(child.get('n', '1'))}", taken)
        if child.get(XML_ID) is None:
            if inner is not stem:
                identifier = inner
            else:
                identifier = _counted(f"{stem}-{name}" if stem else name, taken, counts)
            child.set(XML_ID, identifier)
        taken.add(inner)
        _walk(child, inner, taken, counts)


def _counted(name: str, taken: set[str], counts: Counter[str]) -> str:
    while True:
        counts[name] += 1
        identifier = f"{name}{counts[name]}"
        if identifier not in taken:
            taken.add(identifier)
            return identifier


def _unused(wanted: str, taken: set[str]) -> str:
    number, identifier = 1, wanted
    while identifier in taken or identifier == "":
        number += 1
        identifier = f"{wanted}.{number}"
    return identifier
