"""Names of MEI 5.1 as lxml spells them, and which child counts where the file offers several.

A base text or a witness may itself hold editorial mark-up (MEI Guidelines 5.1, chapter 11). One
reading is taken by a fixed rule: `lem` of an `app`, else its first `rdg`; of a `choice`, `corr`,
then `reg`, then `expan`, then whatever comes first; what is deleted is passed over unless it is
restored; of an `ossia`, the main staff.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from fractions import Fraction
from functools import lru_cache
from typing import cast

from lxml import etree

Element = etree._Element

MEI_NAMESPACE = "http://www.music-encoding.org/ns/mei"
XML_ID = "{http://www.w3.org/XML/1998/namespace}id"
MEI_VERSION = "5.1"

_WHOLE = re.compile(r"[0-9]{1,9}")
_AMOUNT = re.compile(r"[+-]?[0-9]{1,9}(\.[0-9]{0,30})?(/[0-9]{1,9})?")

_PREFIX = f"{{{MEI_NAMESPACE}}}"
_LENGTH = len(_PREFIX)

_SEE_THROUGH = frozenset(
    {"supplied", "add", "corr", "sic", "reg", "orig", "unclear", "damage", "abbr", "expan"}
    | {"lem", "rdg", "subst", "handShift"}
)
_PASSED_OVER = frozenset({"del", "gap", "annot", "oStaff", "oLayer"})
_CHOICE_ORDER = ("corr", "reg", "expan")
_EDITORIAL = _SEE_THROUGH | _PASSED_OVER | {"app", "choice", "restore", "ossia", ""}


def whole_number(written: str) -> int | None:
    """Return the whole number that is written in plain figures, or None for anything else.

    Narrower than `int`, which stumbles over a raised figure and over thousands of figures.
    """
    return int(written) if _WHOLE.fullmatch(written) else None


def amount(written: str) -> Fraction | None:
    """Return the exact number written as 2, 2.5 or 5/2, or None for anything else.

    Narrower than `Fraction`, which works out 1e999999999 figure by figure.
    """
    if not _AMOUNT.fullmatch(written):
        return None
    whole, _, parts = written.partition("/")
    return None if parts and not int(parts) else Fraction(whole) / int(parts or 1)


def tag(name: str) -> str:
    """Return the element name with MEI's namespace, as lxml writes it."""
    return _PREFIX + name


def local(element: Element) -> str:
    """Return the MEI element name, or "" for a comment, an instruction or another namespace."""
    return _local_of(element.tag)


@lru_cache(maxsize=1024)
def _local_of(name: object) -> str:
    return name[_LENGTH:] if isinstance(name, str) and name.startswith(_PREFIX) else ""


def chosen_children(parent: Element) -> Iterator[Element]:
    """Yield the MEI children that count, editorial mark-up looked through."""
    for child in parent:
        name = local(child)
        if name not in _EDITORIAL:
            yield child
        elif name in _SEE_THROUGH or name == "ossia":
            yield from chosen_children(child)
        elif name == "restore":
            yield from _restored(child)
        elif name in {"app", "choice"}:
            branch = _branch(child, name)
            if branch is not None:
                yield from chosen_children(branch)


def _branch(parent: Element, kind: str) -> Element | None:
    """Return the reading that counts of an `app` or `choice`."""
    offered = [child for child in parent if local(child)]
    for wanted in ("lem",) if kind == "app" else _CHOICE_ORDER:
        for child in offered:
            if local(child) == wanted:
                return child
    return offered[0] if offered else None


def _restored(parent: Element) -> Iterator[Element]:
    for child in parent:
        if local(child) == "del":
            yield from chosen_children(child)
        elif local(child) not in _EDITORIAL:
            yield child


def elements_with(root: Element, *attributes: str) -> list[Element]:
    """Return the elements, in document order, that carry one of these attributes (plain names)."""
    condition = " or ".join(f"@{name}" for name in attributes)
    return cast("list[Element]", root.xpath(f"descendant-or-self::*[{condition}]"))


def written_text(element: Element) -> str:
    """Return the text of an element as one line, `lb` read as a space."""
    parts: list[str] = []
    _gather_text(element, parts)
    return " ".join("".join(parts).split())


def _gather_text(element: Element, parts: list[str]) -> None:
    parts.append(element.text or "")
    for child in element:
        name = local(child)
        if name == "lb":
            parts.append(" ")
        elif name in {"app", "choice"}:
            branch = _branch(child, name)
            if branch is not None:
                _gather_text(branch, parts)
        elif name and name not in _PASSED_OVER:
            _gather_text(child, parts)
        parts.append(child.tail or "")
