"""Layers or the text taken out of a layered MEI again.

In comes a layered document, out goes a clean MEI 5.1 document. Only what `write` tagged is ever
taken out or unwrapped: an `app`, `choice` or `supplied` that the base text had itself stays.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping
from typing import NamedTuple

from lxml import etree

from pipeline.edition.layer import Layer
from pipeline.layers.carried import NOTES, give_back, is_own
from pipeline.layers.header import bare_header
from pipeline.layers.names import Names, names_of
from pipeline.layers.sheet import (
    body_of,
    drop_attribute,
    make,
    new_document,
    parse,
    remove,
    unwrap,
)
from pipeline.layers.tags import decisions_of, drop_own_references, keep_decisions
from pipeline.layers.undrawn import draw_what_is_left
from pipeline.score.mei_names import XML_ID, Element, local, tag

_FORKS = frozenset({"app", "choice"})
_TEXT_BRANCHES = frozenset({"lem", "corr"})


class NotLayeredError(ValueError):
    """The document was not written by this project; the message says so for a person."""


class Layered(NamedTuple):
    """A layered document as a tree, and the names that it was written with."""

    root: Element
    names: Names


def extract_layers(mei: bytes, layers: Collection[Layer]) -> bytes:
    """Return the document with the text and the markings of these layers only.

    Annots of other layers go; those that stay speak only of what is left. Taking layers A and then
    B out is the same as taking out those that are in both. Raises NotLayeredError, NotMeiError.
    """
    root, names = open_layered(mei)
    for movement in list(body_of(root)):
        strip(movement, names, layers)
    _strip_annots(root, names, layers)
    return as_bytes(root)


def extract_text(mei: bytes) -> Mapping[int, bytes]:
    """Return the base text of each movement, by its number, as a document of its own.

    Its music is that of the base text, canonical form for canonical form (see `canonical_music`).
    Raises NotLayeredError, NotMeiError.
    """
    root, names = open_layered(mei)
    found: dict[int, bytes] = {}
    for movement, work in movements_of(root, names):
        strip(movement, names, ())
        number = int(work.get("n", "0"))
        head = bare_header(work.findtext(tag("title"), ""))
        found[number] = as_bytes(own_document(root, head, [(number, movement)], names))
    return found


def canonical_music(mei: bytes) -> bytes:
    """Return the canonical form of a document's movements (W3C Exclusive XML Canonicalization).

    Comments are kept. What stands between movements is no music and is left out.
    Raises NotMeiError.
    """
    forms = []
    for movement in body_of(parse(mei)):
        if local(movement) == "mdiv":
            movement.tail = None
            forms.append(etree.tostring(movement, method="c14n", exclusive=True))
    return b"\n".join(forms)


def open_layered(mei: bytes) -> Layered:
    """Return the document as a tree. Raises NotLayeredError, NotMeiError."""
    root = parse(mei)
    names = names_of(root)
    if names is None:
        raise NotLayeredError("the file has no taxonomy of layers in encodingDesc/classDecls")
    return Layered(root, names)


def movements_of(root: Element, names: Names) -> list[tuple[Element, Element]]:
    """Return the `mdiv` of each movement with its entry in the header, whose `n` is its number."""
    works = {
        work.get(XML_ID, ""): work
        for work in root.iter(tag("work"))
        if is_own(work, names) and work.get("n")
    }
    found = []
    for movement in [one for one in body_of(root) if local(one) == "mdiv"]:
        work = works.get(movement.get("decls", "").split(" ")[-1].removeprefix("#"))
        if work is None:
            raise NotLayeredError(
                "a movement of the file does not point to its entry in the header"
            )
        found.append((movement, work))
    return found


def own_document(
    layered: Element, head: Element, movements: Iterable[tuple[int, Element]], names: Names
) -> Element:
    """Return movements, each with its number, as a document with what their base texts carried."""
    root = new_document()
    root.append(head)
    music, body = make("music"), make("body")
    root.append(music)
    music.append(body)
    for number, movement in movements:
        drop_own_references(movement, "decls", names)
        if is_own(movement, names):
            body.extend(list(movement))
        else:
            body.append(movement)
            movement.tail = None
        give_back(layered, root, names, number)
    etree.indent(head, level=1)
    return root


def as_bytes(root: Element) -> bytes:
    """Return a document in UTF-8, without namespaces that nothing is of."""
    etree.cleanup_namespaces(root, keep_ns_prefixes=["xlink"])
    return etree.tostring(root, encoding="UTF-8", xml_declaration=True) + b"\n"


def strip(movement: Element, names: Names, layers: Collection[Layer]) -> None:
    """Take every marking of other layers out of a movement."""
    for element in list(movement.iter(etree.Element)):
        if element.getparent() is None or not still_inside(element, movement):
            continue
        kept = decisions_of(element, names, layers)
        if kept is None or (local(element) in _TEXT_BRANCHES and is_own(element, names)):
            continue  # the text's branch goes or stays with its fork
        keep_decisions(element, names, kept)
        if local(element) in _FORKS and kept:
            keep_decisions(element[0], names, kept)
        if not kept and is_own(element, names):
            _take_out(element, names)
    draw_what_is_left(movement, names)


def still_inside(element: Element, movement: Element) -> bool:
    """Whether an element has not been taken out together with something around it."""
    return element is movement or any(one is movement for one in element.iterancestors())


def _take_out(element: Element, names: Names) -> None:
    name = local(element)
    if name in _FORKS:
        unwrap(element, element[0])
    elif name == "ossia":
        for other in [one for one in element if is_own(one, names)]:
            remove(other)
        unwrap(element, element)
    else:
        remove(element)


def _strip_annots(root: Element, names: Names, layers: Collection[Layer]) -> None:
    notes = root.find("/".join(tag(name) for name in NOTES))
    if notes is None:
        return
    for annot in [one for one in notes if is_own(one, names)]:
        tokens = annot.get("class", "").split()
        if not any(names.layer_of_reference(token) in layers for token in tokens):
            remove(annot)
    ids = {one.get(XML_ID, "") for one in root.iter(etree.Element)}
    for annot in [one for one in notes if is_own(one, names)]:
        kept = [t for t in annot.get("class", "").split() if names.layer_of_reference(t) in layers]
        annot.set("class", " ".join(kept))
        for name in ("plist", "corresp"):
            left = [t for t in annot.get(name, "").split() if t.removeprefix("#") in ids]
            if left:
                annot.set(name, " ".join(left))
            else:
                drop_attribute(annot, name)
    if not any(local(one) for one in notes):
        remove(notes)
