"""Layers, the text or a witness taken out of a layered MEI again.

In comes a layered document, out goes a clean MEI 5.1 document. Only what `write` tagged is ever
taken out or unwrapped: an `app`, `choice` or `supplied` that the base text had itself stays.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Mapping
from typing import NamedTuple

from lxml import etree

from pipeline.edition.layer import Layer
from pipeline.layers.carried import NOTES, give_back, is_own
from pipeline.layers.header import bare_header
from pipeline.layers.names import Names, names_of
from pipeline.layers.sheet import (
    body_of,
    children,
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


class UnknownWitnessError(ValueError):
    """No source of the document has that siglum; the message names those that have one."""


class _Layered(NamedTuple):
    root: Element
    names: Names


def extract_layers(mei: bytes, layers: Collection[Layer]) -> bytes:
    """Return the document with the text and the markings of these layers only.

    Annots of other layers go; those that stay speak only of what is left. Taking layers A and then
    B out is the same as taking out those that are in both. Raises NotLayeredError, NotMeiError.
    """
    root, names = _open(mei)
    for movement in list(body_of(root)):
        _strip(movement, names, layers)
    _strip_annots(root, names, layers)
    return _bytes(root)


def extract_text(mei: bytes) -> Mapping[int, bytes]:
    """Return the base text of each movement, by its number, as a document of its own.

    Its music is that of the base text, canonical form for canonical form (see `canonical_music`).
    Raises NotLayeredError, NotMeiError.
    """
    return _movements(mei, lambda movement, names: _strip(movement, names, ()))


def extract_witness(mei: bytes, siglum: str) -> Mapping[int, bytes]:
    """Return each movement as a witness has it, as far as readings and emendations tell.

    Where nothing is told of the witness, the text stands. Raises NotLayeredError, NotMei,
    UnknownWitnessError.
    """
    root, names = _open(mei)
    known = _sigla(root, names)
    if siglum not in known:
        raise UnknownWitnessError(
            f"no source has the siglum {siglum}; there are {', '.join(known) or 'none'}"
        )

    def strip(movement: Element, names: Names) -> None:
        _choose_witness(movement, names, siglum)
        _strip(movement, names, ())

    return _movements(mei, strip)


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


def _open(mei: bytes) -> _Layered:
    root = parse(mei)
    names = names_of(root)
    if names is None:
        raise NotLayeredError("the file has no taxonomy of layers in encodingDesc/classDecls")
    return _Layered(root, names)


def _sigla(root: Element, names: Names) -> list[str]:
    """Return the sigla of the sources that this project wrote."""
    return [
        identifier.text or ""
        for source in root.iter(tag("source"))
        if is_own(source, names)
        for identifier in source.iter(tag("identifier"))
        if identifier.get("type") == "siglum"
    ]


def _movements(mei: bytes, strip: Callable[[Element, Names], None]) -> Mapping[int, bytes]:
    root, names = _open(mei)
    works = {
        work.get(XML_ID, ""): work
        for work in root.iter(tag("work"))
        if is_own(work, names) and work.get("n")
    }
    found: dict[int, bytes] = {}
    for movement in [one for one in body_of(root) if local(one) == "mdiv"]:
        reference = movement.get("decls", "").split(" ")[-1]
        work = works.get(reference.removeprefix("#"))
        if work is None:
            raise NotLayeredError(
                "a movement of the file does not point to its entry in the header"
            )
        strip(movement, names)
        number = int(work.get("n", "0"))
        found[number] = _own_document(root, movement, work, names, number)
    return found


def _own_document(
    layered: Element, movement: Element, work: Element, names: Names, number: int
) -> bytes:
    root = new_document()
    head = bare_header(work.findtext(tag("title"), ""))
    root.append(head)
    music, body = make("music"), make("body")
    root.append(music)
    music.append(body)
    drop_own_references(movement, "decls", names)
    if is_own(movement, names):
        body.extend(list(movement))
    else:
        body.append(movement)
        movement.tail = None
    give_back(layered, root, names, number)
    etree.indent(head, level=1)
    return _bytes(root)


def _bytes(root: Element) -> bytes:
    etree.cleanup_namespaces(root, keep_ns_prefixes=["xlink"])
    return etree.tostring(root, encoding="UTF-8", xml_declaration=True) + b"\n"


def _strip(movement: Element, names: Names, layers: Collection[Layer]) -> None:
    """Take every marking of other layers out of a movement."""
    for element in list(movement.iter(etree.Element)):
        if element.getparent() is None or not _still_inside(element, movement):
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


def _still_inside(element: Element, movement: Element) -> bool:
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


def _choose_witness(movement: Element, names: Names, siglum: str) -> None:
    """In every fork of ours put the witness's branch in the place of the text's."""
    reference = f"#{names.witness(siglum)}"
    for fork in list(movement.iter(tag("app"), tag("choice"))):
        if not is_own(fork, names) or not _still_inside(fork, movement):
            continue
        for branch in children(fork)[1:]:
            told = reference in branch.get("source", "").split()
            if told and branch.get("hand") is None:
                unwrap(fork, branch)
                break
