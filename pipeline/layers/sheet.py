"""A movement's base text as a tree to write markings into, and the marks that each decision made.

In comes a movement; the tree is a copy, the passage is not changed. Everything that is written gets
its id and its provenance here, so that `extract` can take it out again.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from fractions import Fraction
from functools import cached_property
from typing import cast

from lxml import etree

from pipeline.layers.keys import keys_of
from pipeline.layers.names import Names
from pipeline.layers.tags import Provenance, adopt, stamp
from pipeline.score.bars import ScoreReader
from pipeline.score.mei_names import MEI_NAMESPACE, MEI_VERSION, XML_ID, Element, local, tag
from pipeline.score.model import Marking, MarkingKind, Movement
from pipeline.score.trouble import Trouble

XLINK = "http://www.w3.org/1999/xlink"


_AROUND_A_BAR = frozenset({"app", "lem", "rdg", "choice", "corr", "sic"})

_DEFAULT = cast("Mapping[str, str]", {None: MEI_NAMESPACE})
"""MEI as the namespace without a prefix (lxml's stubs forget that the prefix may be None)."""


class NotMeiError(ValueError):
    """The document is not an MEI document with music; the message says so for a person."""


def parse(document: bytes) -> Element:
    """Parse MEI safely: no entities, nothing fetched, nothing huge; white space is kept."""
    parser = etree.XMLParser(resolve_entities=False, no_network=True, load_dtd=False)
    try:
        root = etree.fromstring(document, parser)
    except (etree.XMLSyntaxError, ValueError) as wrong:
        raise NotMeiError(f"not well-formed XML: {wrong}") from wrong
    if root.tag != tag("mei"):
        raise NotMeiError("the file does not begin with the element `mei` of the MEI namespace")
    return root


def make(name: str, **attributes: str) -> Element:
    """Return a new MEI element that stands nowhere yet."""
    return etree.Element(tag(name), attributes, nsmap=_DEFAULT)


def new_document() -> Element:
    """Return the root of an empty MEI document."""
    root = etree.Element(tag("mei"), nsmap={**_DEFAULT, "xlink": XLINK})
    root.set("meiversion", MEI_VERSION)
    return root


def body_of(root: Element) -> Element:
    """Return the body of the music; raises NotMeiError where there is none."""
    body = root.find(f"{tag('music')}/{tag('body')}")
    if body is None:
        raise NotMeiError("the file holds no music: there is no `music/body`")
    return body


@dataclass
class Ledger:
    """What each record put into the music, by record id: what the annot's `plist` will name."""

    names: Names
    marks: dict[str, list[str]] = field(default_factory=lambda: defaultdict(list))
    made: dict[str, int] = field(default_factory=lambda: defaultdict(int))

    def next_id(self, record: str) -> str:
        """Return the id of the next element that is made for that record."""
        self.made[record] += 1
        return self.names.mark(record, self.made[record])

    def note(self, record: str, xml_id: str) -> None:
        """Remember an element that the record speaks of."""
        if xml_id and xml_id not in self.marks[record]:
            self.marks[record].append(xml_id)


@dataclass
class Sheet:
    """The copy of one movement's tree that the layers are written into."""

    movement: Movement
    root: Element
    ledger: Ledger
    by_id: dict[str, Element] = field(default_factory=dict)

    def __post_init__(self) -> None:
        for element in self.root.iter(etree.Element):
            xml_id = element.get(XML_ID)
            if xml_id is not None:
                self.by_id[xml_id] = element

    @cached_property
    def keys(self) -> frozenset[str]:
        """The key signatures of the base text."""
        return keys_of(self.root)

    @cached_property
    def units(self) -> tuple[Fraction, ...]:
        """The length in quarter notes of what `tstamp` counts, in each bar of the text."""
        score = next(self.root.iter(tag("score")))
        return tuple(ScoreReader(score, Trouble("")).read().units)

    @cached_property
    def has_tie_elements(self) -> bool:
        """Whether the base text writes ties as elements, not as attributes of notes."""
        return any(marking.kind is MarkingKind.TIE for marking in self.movement.passage.markings)

    @cached_property
    def bar_of_measure(self) -> dict[Element, int]:
        """The bar index of each measure."""
        return {self.by_id[bar.xml_id]: bar.index for bar in self.movement.passage.bars}

    @cached_property
    def markings(self) -> dict[str, Marking]:
        """The signs of the base text by xml:id."""
        return {marking.xml_id: marking for marking in self.movement.passage.markings}

    @property
    def names(self) -> Names:
        """The names of the file."""
        return self.ledger.names

    def create(self, name: str, provenances: Sequence[Provenance], **attributes: str) -> Element:
        """Return a new element with an id of its own and the provenance of those decisions."""
        element = make(name, **{k.rstrip("_"): v for k, v in attributes.items() if v})
        element.set(XML_ID, self.ledger.next_id(provenances[0].decision))
        stamp(element, self.names, provenances)
        return element

    def record(self, element: Element, provenances: Sequence[Provenance]) -> None:
        """Let the decisions' annots speak of the element."""
        for provenance in provenances:
            self.ledger.note(provenance.decision, element.get(XML_ID, ""))

    def adopt(self, element: Element, provenance: Provenance, handle: str) -> None:
        """Tag an element of the base text itself as spoken of by the decision."""
        adopt(element, self.names, provenance, handle)
        self.ledger.note(provenance.decision, element.get(XML_ID, ""))

    def measure(self, bar: int) -> Element:
        """Return the measure of that bar index."""
        return self.by_id[self.movement.passage.bars[bar].xml_id]

    def around_measure(self, bar: int) -> Element:
        """Return what stands in the section for a bar: its measure, or our mark-up around it."""
        element = self.measure(bar)
        while (parent := element.getparent()) is not None:
            if not self.names.owns(parent.get(XML_ID, "")) or local(parent) not in _AROUND_A_BAR:
                break
            element = parent
        return element

    def measure_around(self, element: Element) -> Element | None:
        """Return the measure that an element stands in."""
        return next(element.iterancestors(tag("measure")), None)

    def staff(self, bar: int, n: int) -> Element | None:
        """Return the main staff of that number in that bar."""
        for staff in self.measure(bar).iter(tag("staff")):
            if staff.get("n", "1") == str(n):
                return staff
        return None


def wrap(run: Sequence[Element], wrapper: Element, inner: Element) -> None:
    """Put `wrapper` where the sibling elements of `run` stand and move them, tails and all, inside.

    `inner` is `wrapper` itself or a descendant of it. White space and comments between them go
    along; the wrapper itself brings none, so that `unwrap` restores the parent exactly.
    """
    parent = run[0].getparent()
    if parent is None:
        raise ValueError("the root of a document cannot be wrapped")
    first, last = parent.index(run[0]), parent.index(run[-1])
    nodes = children(parent)[first : last + 1]
    parent.insert(first, wrapper)
    for node in nodes:
        inner.append(node)


def unwrap(wrapper: Element, inner: Element | None) -> None:
    """Put the children of `inner`, tails and all, where `wrapper` stands; the rest is dropped."""
    parent = wrapper.getparent()
    if parent is None:
        raise ValueError("the root of a document cannot be unwrapped")
    at = parent.index(wrapper)
    nodes = [] if inner is None else list(inner)
    for offset, node in enumerate(nodes):
        parent.insert(at + 1 + offset, node)
    remove(wrapper)


def remove(element: Element) -> None:
    """Take an element out and leave the white space that follows it."""
    parent = element.getparent()
    if parent is None:
        raise ValueError("the root of a document cannot be removed")
    if element.tail:
        before = element.getprevious()
        if before is None:
            parent.text = (parent.text or "") + element.tail
        else:
            before.tail = (before.tail or "") + element.tail
    parent.remove(element)


def children(element: Element) -> list[Element]:
    """Return the child nodes as a list, comments included."""
    return list(element)


def drop_attribute(element: Element, name: str) -> None:
    """Take an attribute off where it stands."""
    if name in element.attrib:
        del element.attrib[name]
