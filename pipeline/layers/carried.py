"""What the base texts' own headers hold and the layered file takes along, movement by movement.

In comes the document of a base text; out go its sources, taxonomies, works, notes, people, editions
and facsimiles, which its music may point to. In the layered file each carries a reference to its
movement in `corresp`, so that a base text that is taken out again gets back its own.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from copy import deepcopy

from lxml import etree

from pipeline.layers.names import Names
from pipeline.layers.sheet import make
from pipeline.layers.tags import append_reference, drop_own_references
from pipeline.score.mei_names import XML_ID, Element, local, tag

Slot = tuple[str, ...]

NOTES: Slot = ("meiHead", "fileDesc", "notesStmt")
TAXONOMIES: Slot = ("meiHead", "encodingDesc", "classDecls")

SLOTS: dict[Slot, frozenset[str]] = {
    ("meiHead", "fileDesc", "titleStmt"): frozenset(
        {"arranger", "author", "composer", "contributor", "editor", "funder", "librettist"}
        | {"lyricist", "respStmt", "sponsor"}
    ),
    NOTES: frozenset({"annot"}),
    ("meiHead", "fileDesc", "sourceDesc"): frozenset({"source"}),
    TAXONOMIES: frozenset({"taxonomy"}),
    ("meiHead", "workList"): frozenset({"work"}),
    ("meiHead", "manifestationList"): frozenset({"manifestation"}),
    ("music",): frozenset({"genDesc", "facsimile", "performance"}),
}
"""Where such elements stand and which they are, in the order of the MEI schema."""

_ORDER = {
    "mei": ("meiHead", "music"),
    "meiHead": ("fileDesc", "encodingDesc", "workList", "manifestationList", "revisionDesc"),
    "fileDesc": ("titleStmt", "pubStmt", "notesStmt", "sourceDesc"),
    "encodingDesc": ("editorialDecl", "classDecls"),
}


def carry(base: Element, layered: Element, names: Names, movement: int) -> None:
    """Copy what the base text's document holds into the layered document."""
    for slot, element in _held(base):
        copy = deepcopy(element)
        copy.tail = None
        append_reference(copy, "corresp", names.movement(movement))
        _put(layered, slot, copy)


def give_back(layered: Element, base: Element, names: Names, movement: int) -> None:
    """Copy what the layered document carries for a movement into the movement's own document."""
    reference = f"#{names.movement(movement)}"
    for slot, element in _held(layered):
        if element.get("corresp", "").split(" ")[-1] == reference:
            copy = deepcopy(element)
            copy.tail = None
            drop_own_references(copy, "corresp", names)
            _put(base, slot, copy)


def place_of(root: Element, slot: Sequence[str]) -> Element:
    """Return the element at that path, made where it is missing, in the schema's order."""
    parent = root
    for name in slot:
        child = parent.find(tag(name))
        if child is None:
            child = make(name)
            order = _ORDER.get(local(parent), ())
            later = order[order.index(name) + 1 :] if name in order else ()
            following = next((one for one in parent if local(one) in later), None)
            if following is None:
                parent.append(child)
            else:
                following.addprevious(child)
        parent = child
    return parent


def _held(root: Element) -> Iterator[tuple[Slot, Element]]:
    for slot, kinds in SLOTS.items():
        parent = root.find("/".join(tag(name) for name in slot))
        if parent is None:
            continue
        for child in parent.iterchildren(etree.Element):
            if local(child) in kinds:
                yield slot, child


def _put(root: Element, slot: Slot, element: Element) -> None:
    parent = place_of(root, slot)
    if slot == ("music",):
        body = parent.find(tag("body"))
        if body is not None:
            body.addprevious(element)
            return
    parent.append(element)


def is_own(element: Element, names: Names) -> bool:
    """Whether an element of the header was written by this project."""
    return names.owns(element.get(XML_ID, ""))
