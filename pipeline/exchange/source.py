"""A layered MEI in; the music of one staff out, movement by movement, with what hangs on it.

The chosen layers are taken out of the layered file, then it is read as any music is read, so that
onsets, sounding pitches and signs of all layers are known alike. Music of ossias is read in their
place, from a copy of the file in which the ossia stands for the staff.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping, Set
from copy import deepcopy
from dataclasses import dataclass, replace
from functools import cached_property

from lxml import etree

from pipeline.edition.layer import Layer
from pipeline.engrave.part_staff import drop_records
from pipeline.layers.extract import as_bytes, extract_layers, movements_of, open_layered
from pipeline.layers.extract import own_document as document_of
from pipeline.layers.header import bare_header
from pipeline.layers.names import Names
from pipeline.layers.sheet import parse, remove
from pipeline.layers.undrawn import HIDDEN, UNDRAWN
from pipeline.score.identifiers import referred
from pipeline.score.mei_names import XML_ID, Element, chosen_children, local, tag, whole_number
from pipeline.score.model import Event, Marking, MarkingKind, Passage
from pipeline.score.passage import passage_of
from pipeline.score.trouble import Trouble

_HANGS_BY = ("startid", "endid", "plist")
_PLACED_BY = frozenset({*_HANGS_BY, "tstamp"})
_KEPT_IN_SILENCE = frozenset({"keySig", "clef", "staffDef"})
_ALL_STAVES = frozenset({MarkingKind.TEMPO})
"""Signs over the top staff of a score that are for everyone (common practice, no source)."""


@dataclass(frozen=True)
class StaffMusic:
    """One staff of a movement: its passage, and the MEI elements behind it.

    `is_ossia` says that it is the small staff of the alternatives above the text.
    """

    passage: Passage
    staff: int
    root: Element
    names: Names
    is_ossia: bool = False

    @cached_property
    def elements(self) -> Mapping[str, Element]:
        """The elements by xml:id."""
        return {one.get(XML_ID, ""): one for one in self.root.iter(etree.Element)}

    @cached_property
    def events(self) -> tuple[Event, ...]:
        """The events of the staff, by bar, onset and voice."""
        return tuple(e for e in self.passage.events if e.staff == self.staff)

    @cached_property
    def markings(self) -> tuple[Marking, ...]:
        """The signs of the staff, and those over the top staff that are for everyone."""
        top = self.passage.staves[0].n if self.passage.staves else self.staff
        own = [m for m in self.passage.markings if m.staff == self.staff]
        said = {(m.kind, m.start) for m in own}
        return tuple(
            m
            for m in self.passage.markings
            if m.staff == self.staff
            or (m.staff == top and self._for_everyone(m) and (m.kind, m.start) not in said)
        )

    def _for_everyone(self, marking: Marking) -> bool:
        if marking.kind is MarkingKind.OTHER:
            return local(self.elements[marking.xml_id]) in {"reh", "repeatMark"}
        return marking.kind in _ALL_STAVES

    @property
    def label(self) -> str:
        """What the score calls the staff."""
        return next((s.label for s in self.passage.staves if s.n == self.staff), "")

    def bar_name(self, bar: int) -> str:
        """Return the printed number of a bar."""
        return self.passage.bars[bar].n


@dataclass(frozen=True)
class Undrawn:
    """A staff, or a sign on it, of a further alternative over a bar that has one already."""

    xml_id: str
    bar: str
    is_sign: bool


@dataclass(frozen=True)
class MovementMusic:
    """A movement of the part: its staff, and the alternatives above it where there are any."""

    n: int
    title: str
    main: StaffMusic
    ossia: StaffMusic | None
    undrawn: tuple[Undrawn, ...] = ()


def music_of(
    mei: bytes, layers: Collection[Layer], staff: int, without: Collection[str] = ()
) -> Iterator[MovementMusic]:
    """Yield the movements of a layered file that have the staff, with these layers on the text.

    What the records named `without` put there is left out. Raises NotLayeredError, NotMeiError.
    """
    root, names = open_layered(extract_layers(mei, layers))
    for movement, work in movements_of(root, names):
        drop_records(movement, names, without)
        number, title = int(work.get("n", "0")), work.findtext(tag("title"), "")
        own = document_of(root, bare_header(title), [(number, movement)], names)
        document = as_bytes(own)
        main = _main(parse(document), staff, names)
        if main is not None:
            whole = parse(document)
            undrawn = tuple(_undrawn(whole, staff))
            yield MovementMusic(number, title, main, _ossia(whole, staff, names), undrawn)


def _main(root: Element, staff: int, names: Names) -> StaffMusic | None:
    """Return the staff without what belongs to alternatives."""
    alternative = _ids_of_alternatives(root)
    for sign in _signs_on(root, alternative):
        remove(sign)
    return _read(root, staff, names)


def _ossia(root: Element, staff: int, names: Names) -> StaffMusic | None:
    """Return the alternatives drawn above the staff, in an otherwise silent staff."""
    drawn = {
        one
        for one in root.iter(tag("oStaff"))
        if whole_number(one.get("n", "1")) == staff and not _inside_branch(one)
    }
    if not drawn:
        return None
    ids = {e.get(XML_ID, "") for one in drawn for e in one.iter(etree.Element)} - {""}
    hung = set(_signs_on(root, ids))
    for sign in [one for one in root.iter(etree.Element) if _is_sign(one) and one not in hung]:
        remove(sign)
    for other in drawn:
        ossia = other.getparent()
        for main in [] if ossia is None else [one for one in ossia if local(one) == "staff"]:
            _take_over_clef(main, other)
            remove(main)
        other.tag = tag("staff")
    for one in list(root.iter(tag("staff"))):
        if one not in drawn:
            _silence(one)
    music = _read(root, staff, names)
    return None if music is None else replace(music, is_ossia=True)


def _take_over_clef(main: Element, other: Element) -> None:
    """Let definitions that stand in the staff itself hold for its alternative too."""
    for place, child in enumerate(one for one in list(main) if local(one) == "staffDef"):
        other.insert(place, deepcopy(child))


def _silence(staff: Element) -> None:
    """Take out all that sounds; what is said about the staff stays."""
    for layer in staff.iter(tag("layer")):
        kept = [one for one in layer.iter(etree.Element) if local(one) in _KEPT_IN_SILENCE]
        for child in list(layer):
            layer.remove(child)
        layer.extend(kept)


def _undrawn(root: Element, staff: int) -> Iterator[Undrawn]:
    """Yield the staves and signs of alternatives that are not drawn."""
    hidden: set[str] = set()
    for other in root.iter(tag("oStaff")):
        number = whole_number(other.get("n", "1")) or 0
        if number > HIDDEN and number % HIDDEN == staff % HIDDEN:
            yield Undrawn(other.get(XML_ID, ""), _bar_of(other), is_sign=False)
            hidden |= _ids(other)
    for fork in root.iter(tag("app")):
        if fork.get("type") == UNDRAWN:
            for sign in _signs_on(fork, hidden):
                yield Undrawn(sign.get(XML_ID, ""), _bar_of(sign), is_sign=True)


def _bar_of(element: Element) -> str:
    return next((one.get("n", "") for one in element.iterancestors(tag("measure"))), "")


def _ids_of_alternatives(root: Element) -> set[str]:
    return set().union(*(_ids(one) for one in root.iter(tag("oStaff"))))


def _ids(element: Element) -> set[str]:
    return {one.get(XML_ID, "") for one in element.iter(etree.Element)} - {""}


def _signs_on(root: Element, ids: Set[str]) -> list[Element]:
    """Return the signs of measures that hang on any of these."""
    if not ids:
        return []
    return [one for one in root.iter(etree.Element) if _is_sign(one) and ids & _hangs_on(one)]


def _is_sign(element: Element) -> bool:
    """Whether an element hangs on notes or at a time and stands in no staff."""
    return bool(_PLACED_BY & set(map(str, element.attrib))) and not any(
        local(around) in {"staff", "oStaff"} for around in element.iterancestors()
    )


def _hangs_on(sign: Element) -> set[str]:
    return {xml_id for name in _HANGS_BY for xml_id in referred(sign.get(name, ""))}


def _inside_branch(element: Element) -> bool:
    """Whether an element stands in a reading that is not the text."""
    inner = element
    for around in element.iterancestors():
        if local(around) in {"app", "choice"} and inner not in _chosen_branch(around):
            return True
        inner = around
    return False


def _chosen_branch(fork: Element) -> list[Element]:
    offered = [child for child in fork if local(child)]
    held = set(chosen_children(fork))
    return [one for one in offered if held & set(one.iter(etree.Element))]


def _read(root: Element, staff: int, names: Names) -> StaffMusic | None:
    """Read a tree once more; what there is to tell of it was told when the base text was read."""
    passage = passage_of(root, "", Trouble(""))
    if passage is None or staff not in {one.n for one in passage.staves}:
        return None
    return StaffMusic(passage, staff, root, names)
