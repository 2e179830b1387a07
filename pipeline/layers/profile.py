"""What is wrong with a layered MEI by the project's own profile: profile.rng and beyond.

In come the bytes of a document, out go sentences, one a fault, none where it is in order. The
reference rules are those that the official MEI 5.1 schema states as Schematron, which RELAX NG
validators pass over: `class` to a category, `resp`, `source`, `hand` to the header, and so on.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Iterator, Mapping
from copy import deepcopy
from functools import lru_cache
from importlib.resources import files

from lxml import etree

from pipeline.layers.names import Names, names_of
from pipeline.layers.sheet import NotMeiError, make, parse
from pipeline.layers.tags import PARALLEL, own_tokens
from pipeline.layers.undrawn import UNDRAWN
from pipeline.score.mei_names import XML_ID, Element, local, tag

_TARGETS: Mapping[str, tuple[frozenset[str] | None, str]] = {
    "class": (frozenset({"category"}), "a category of a taxonomy"),
    "source": (frozenset({"source", "manifestation"}), "a source of the header"),
    "hand": (frozenset({"hand"}), "a hand of the header"),
    "corresp": (None, "an element of the file"),
    "plist": (None, "an element of the file"),
    "startid": (None, "an element of the file"),
    "endid": (None, "an element of the file"),
}
"""What the references of an attribute have to point to: these elements, or any."""


def profile_faults(mei: bytes) -> tuple[str, ...]:
    """Return every fault as a sentence that names the element; nothing where there is none."""
    try:
        root = parse(mei)
    except NotMeiError as wrong:
        return (str(wrong),)
    names = names_of(root)
    if names is None:
        return ("encodingDesc/classDecls has no taxonomy of layers",)
    faults: list[str] = []
    for part in _parts(root, names):
        schema = _schema(names.prefix, _definition_of(part))
        if not schema.validate(part):
            said = "; ".join(dict.fromkeys(entry.message for entry in schema.error_log))
            faults.append(f"{_named(part)}: {said}")
    by_id = _by_id(root)
    rules: tuple[Callable[[Element, Names, Mapping[str, Element]], Iterable[str]], ...] = (
        _references,
        _parallel_lists,
        _decided,
        _attached,
    )
    for element in root.iter(etree.Element):
        for rule in rules:
            faults += rule(element, names, by_id)
    faults += _undated(root)
    return tuple(dict.fromkeys(faults))


_ANY_PREFIX = r"(e\d+\.)?"
"""How profile.rng leaves open which prefix the names of a file begin with."""


@lru_cache(maxsize=32)
def _schema(prefix: str, part: str) -> etree.RelaxNG:
    """Return the definition of one part, for names with that prefix.

    Names with another prefix belong to a base text that is a layered file itself.
    """
    data = files("pipeline.layers").joinpath("profile.rng").read_text(encoding="utf-8")
    narrowed = data.replace(_ANY_PREFIX, re.escape(prefix))
    start = f'<start><ref name="{part}"/></start>'
    narrowed = re.sub(r"<start>.*?</start>", start, narrowed, count=1, flags=re.DOTALL)
    return etree.RelaxNG(etree.fromstring(narrowed.encode()))


def _parts(root: Element, names: Names) -> Iterator[Element]:
    """Yield the header, every decision and every mark, each alone and with what it holds bare.

    Validating part by part keeps the cost linear: a validator that finds a fault deep inside tries
    every way around it again on each level above.
    """
    for head in root.iter(tag("meiHead")):
        yield _without_decisions(head, names)
    for element in root.iter(*map(tag, _STRICT)):
        if names.owns(element.get(XML_ID, "")):
            yield deepcopy(element) if local(element) == "annot" else _bare(element, names)


_STRICT = {
    "annot": "decision",
    "app": "reading",
    "choice": "emendation",
    "supplied": "addition",
    "ossia": "alternative",
    "oStaff": "other.staff",
}
"""What the profile measures on its own, and the definition of profile.rng for it."""


_OF_TYPE = {
    ("app", UNDRAWN): "undrawn",
    ("annot", "open"): "undecided",
    ("annot", "encoding"): "encoding",
}
"""Definitions for elements of one `type`."""


def _definition_of(part: Element) -> str:
    of_type = _OF_TYPE.get((local(part), part.get("type", "")))
    if of_type is not None:
        return of_type
    return _STRICT.get(local(part), "head")


def _without_decisions(head: Element, names: Names) -> Element:
    copy = deepcopy(head)
    for notes in list(copy.iter(tag("notesStmt"))):
        for annot in [one for one in notes if names.owns(one.get(XML_ID, ""))]:
            notes.remove(annot)
        parent = notes.getparent()
        if parent is not None and not any(local(one) for one in notes):
            parent.remove(notes)
    return copy


def _bare(element: Element, names: Names) -> Element:
    """Return a copy that keeps our own elements and, of the music they hold, names and attributes.

    A mark inside a mark is a part of its own.
    """
    copy = make(local(element))
    for name in element.attrib:
        copy.set(name, element.get(name, ""))
    for child in element:
        if not local(child):
            continue
        ours = names.owns(child.get(XML_ID, ""))
        if ours and (local(child) not in _STRICT or local(element) in {"ossia", "oStaff", "rdg"}):
            copy.append(_bare(child, names))
        elif not ours:
            copy.append(_named_only(child))
    return copy


def _named_only(element: Element) -> Element:
    copy = make(local(element))
    for name in element.attrib:
        copy.set(name, element.get(name, ""))
    return copy


def _by_id(root: Element) -> dict[str, Element]:
    return {e.get(XML_ID, ""): e for e in root.iter(etree.Element) if XML_ID in e.attrib}


def _named(element: Element) -> str:
    xml_id = element.get(XML_ID)
    name = local(element) or str(element.tag)
    return f"{name} {xml_id}" if xml_id else f"{name} (line {element.sourceline})"


def _references(element: Element, names: Names, by_id: Mapping[str, Element]) -> Iterator[str]:
    """Check every reference of ours; the base text's own are its own affair, `class` excepted."""
    ours = names.owns(element.get(XML_ID, ""))
    for attribute, (kinds, wanted) in _TARGETS.items():
        for token in element.get(attribute, "").split():
            if not token.startswith("#") or not (ours or names.owns_reference(token)):
                continue
            target = by_id.get(token[1:])
            if target is None or (kinds is not None and local(target) not in kinds):
                yield f"{_named(element)}: {attribute} points to {token}, which is not {wanted}"
    for token in element.get("resp", "").split():
        if not (ours or names.owns_reference(token)):
            continue
        target = by_id.get(token.removeprefix("#"))
        inside = target is not None and any(
            local(one) == "meiHead" for one in target.iterancestors()
        )
        if not inside:
            yield f"{_named(element)}: resp points to {token}, which is nobody in the header"


def _parallel_lists(element: Element, names: Names, by_id: Mapping[str, Element]) -> Iterator[str]:
    """Check that who, which layer and which decision are told equally often in the music."""
    counts = {name: len(own_tokens(element, name, names)) for name in PARALLEL}
    if len(set(counts.values())) > 1 and not _is_carried(element, names) and _in_music(element):
        yield (
            f"{_named(element)}: class, corresp and resp name "
            f"{counts['class']}, {counts['corresp']} and {counts['resp']} decisions"
        )


def _in_music(element: Element) -> bool:
    return any(local(one) == "music" for one in element.iterancestors())


def _is_carried(element: Element, names: Names) -> bool:
    """Whether an element is a base text's own, taken along with a reference to its movement."""
    token = element.get("corresp", "").split(" ")[-1]
    return token.startswith(f"#{names.prefix}movement-")


def _decided(element: Element, names: Names, by_id: Mapping[str, Element]) -> Iterator[str]:
    """Check that `corresp` of a marking names a decision."""
    if _is_carried(element, names) or not _in_music(element):
        return
    for token in own_tokens(element, "corresp", names):
        target = by_id.get(token[1:])
        if target is not None and local(target) != "annot":
            yield f"{_named(element)}: corresp points to {token}, which is no decision"


def _attached(element: Element, names: Names, by_id: Mapping[str, Element]) -> Iterator[str]:
    """Check that signs of ours hang on something: a slur at both ends, a fingering at its start."""
    if not names.owns(element.get(XML_ID, "")):
        return
    missing = {
        "slur": [("startid", "tstamp"), ("endid", "tstamp2")],
        "fing": [("startid", "tstamp")],
        "dir": [("startid", "tstamp")],
    }.get(local(element), [])
    for choices in missing:
        if not any(name in element.attrib for name in choices):
            yield f"{_named(element)}: there is no {choices[0]}"


def _undated(root: Element) -> Iterator[str]:
    for change in root.iter(tag("change")):
        if "isodate" not in change.attrib and change.find(tag("date")) is None:
            yield f"{_named(change)}: a change without a date"
