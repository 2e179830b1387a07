"""The MEI of a passage as a tree to read from: bars in order, which staff and bar an id stands in.

Trees are parsed once for each passage and never changed; whoever needs elements copies them.
MEI 5.1, chapter "Shared concepts" for `@tstamp`, `@tstamp2`, `@startid`, `@endid`.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import lru_cache

from lxml import etree

MEI = "{http://www.music-encoding.org/ns/mei}"
XML_ID = "{http://www.w3.org/XML/1998/namespace}id"


def mei(name: str) -> str:
    """Return the element name in MEI's namespace."""
    return f"{MEI}{name}"


def local(element: etree._Element) -> str:
    """Return the element's name without its namespace."""
    return str(element.tag).rpartition("}")[2]


@dataclass(frozen=True)
class MeiTree:
    """A parsed document: its measures in order, and the measure and staff of each xml:id.

    `staff_of` holds only what stands inside a staff, `bar_of` also what a measure holds beside it.
    """

    root: etree._Element
    measures: tuple[etree._Element, ...]
    bar_of: dict[str, int]
    staff_of: dict[str, int]

    def beside_staves(self, index: int) -> Iterator[etree._Element]:
        """Yield the markings that the measure holds beside its staves."""
        for child in self.measures[index].iterchildren(etree.Element):
            if local(child) not in {"staff", "ossia", "mNum"}:
                yield child


@lru_cache(maxsize=64)
def mei_tree(document: bytes) -> MeiTree:
    """Return the tree of a document that the READ stage wrote (so it is well-formed MEI)."""
    parser = etree.XMLParser(resolve_entities=False, no_network=True, remove_comments=True)
    root = etree.fromstring(document, parser)
    measures = tuple(root.iter(mei("measure")))
    bar_of: dict[str, int] = {}
    staff_of: dict[str, int] = {}
    for index, measure in enumerate(measures):
        for element in measure.iter(etree.Element):
            if (xml_id := element.get(XML_ID)) is not None:
                bar_of[xml_id] = index
        for staff in measure.iter(mei("staff")):
            for element in staff.iter(etree.Element):
                if (xml_id := element.get(XML_ID)) is not None:
                    staff_of[xml_id] = int(staff.get("n", "1"))
    return MeiTree(root, measures, bar_of, staff_of)


def drop(element: etree._Element, *attributes: str) -> None:
    """Take these attributes away where they are written."""
    for attribute in attributes:
        if attribute in element.attrib:
            del element.attrib[attribute]


def referred(element: etree._Element, attribute: str) -> str:
    """Return the xml:id that an attribute such as `startid` points to, or an empty text."""
    return element.get(attribute, "").removeprefix("#")


def stands_on(element: etree._Element, staff: int, tree: MeiTree) -> bool:
    """Return whether a marking beside the staves belongs to that staff.

    `@staff` decides where it is written, otherwise the staff of the note it is attached to; what
    has neither (an ending's text, a repeat sign) stands on the first staff.
    """
    if element.get("staff"):
        return str(staff) in element.get("staff", "").split()
    for attribute in ("startid", "endid"):
        if referred(element, attribute) in tree.staff_of:
            return tree.staff_of[referred(element, attribute)] == staff
    return staff == 1
