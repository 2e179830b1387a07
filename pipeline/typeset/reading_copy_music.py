"""The part's lines of music made ready for the reading copy: one SVG a line, to be chosen from.

In come the lines that `engrave_part` made, once with the alternatives that the edition prints and
once with all of them. Out go the same lines without what each repeats (glyphs, style, ids that
nothing needs), every marking with the attributes by which the page hides it, colours it and leads
to its decision:

    data-layer    whose it is, where it can be hidden; what the base text has itself stays
    data-records  the records that speak of it, set apart by spaces; with class `mark`
    data-offered  record and number of the alternative, where the player may choose another
    data-label    the record whose label it is
"""

from __future__ import annotations

import json
import re
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass

from lxml import etree

from pipeline.edition.layer import Layer
from pipeline.engrave.part_keys import KEY_CLASS
from pipeline.engrave.part_model import EngravedPart, PartLine

PRINTED, EVERY = "x-", "y-"
"""Before every xml:id that becomes an id of the page, whose own ids never begin so: in a line as
the edition prints it, and in one with every alternative."""

_SVG = "{http://www.w3.org/2000/svg}"
_HREF = "{http://www.w3.org/1999/xlink}href"
_SHOWS_NOTHING = (
    '<svg xmlns="http://www.w3.org/2000/svg" class="glyphs" aria-hidden="true" width="0" '
    'height="0"><defs/></svg>'
)
_OWN_IDS = ("mark-", "copy-")
"""How the ids begin of what was written into the music, and does not stand in the base text."""
_LAYERS = {f"layer-{layer}": layer for layer in Layer}
_KEPT_CLASSES = frozenset(
    {
        "measure",
        "staff",
        "oStaff",
        "note",
        "chord",
        "fing",
        "artic",
        "slur",
        "dir",
        "dynam",
        "tempo",
    }
    | {"reh", "ending", "mNum", "label", "placeholder"}
)
"""What the style sheet and the script ask for, besides the classes of the marks."""
_LINE = re.compile(r"^M[-\d. ]+ L[-\d. ]+$")
_CLASSES = re.compile(r'class="([^"]*)"')
_MEASURE = re.compile(r'id="([^"]*)" class="measure\b')
_ALTERNATIVE = re.compile(r"alternative-\d+")


@dataclass(frozen=True)
class ReadingLine:
    """A line as the edition prints it; `every` has all alternatives, None where that is the same.

    `first_bar` and `last_bar` are printed numbers.
    """

    first_bar: str
    last_bar: str
    printed: etree._Element
    every: etree._Element | None


@dataclass(frozen=True)
class ReadingLines:
    """The lines of a part by movement, and the glyphs that they share.

    `marks` and `keys` are, by id of the page, the records that speak of a mark, and the record
    whose number a figure is.
    """

    movements: tuple[tuple[ReadingLine, ...], ...]
    glyphs: etree._Element
    marks: Mapping[str, tuple[str, ...]]
    keys: Mapping[str, str]


@dataclass(frozen=True)
class Choosable:
    """Which records leave a choice: those with alternatives, by how many of them are printed, and
    those that are whole or not there."""

    with_alternatives: Mapping[str, int]
    whole: frozenset[str]


def reading_lines(
    printed: EngravedPart, every: EngravedPart, choosable: Choosable, notes: Collection[str]
) -> ReadingLines:
    """Return the lines of a part. `notes` are the xml:ids that a player may write at.

    A movement whose lines break elsewhere with every alternative is given with these only.
    """
    made = _Lines(choosable, frozenset(notes))
    movements = tuple(
        made.movement(ours.lines, all_of_it.lines)
        for ours, all_of_it in zip(printed.movements, every.movements, strict=True)
    )
    return ReadingLines(movements, made.shared(), made.marks, made.keys)


class _Lines:
    """Goes through the lines once and gathers what they share."""

    def __init__(self, choosable: Choosable, notes: frozenset[str]) -> None:
        self._choosable = choosable
        self._notes = notes
        self._glyphs: dict[str, etree._Element] = {}
        self.marks: dict[str, tuple[str, ...]] = {}
        self.keys: dict[str, str] = {}

    def movement(
        self, printed: Sequence[PartLine], every: Sequence[PartLine]
    ) -> tuple[ReadingLine, ...]:
        """Return the lines of a movement, each with its other form where it has one."""
        same = [_bars(line) for line in printed] == [_bars(line) for line in every]
        return tuple(
            ReadingLine(
                ours.first_bar,
                ours.last_bar,
                self._line(ours, PRINTED),
                self._line(other, EVERY) if same and self._has_more(other) else None,
            )
            for ours, other in zip(printed if same else every, every, strict=True)
        )

    def shared(self) -> etree._Element:
        """Return the glyphs in a picture of their own that shows nothing."""
        root = etree.fromstring(_SHOWS_NOTHING)
        for name in sorted(self._glyphs):
            root[0].append(self._glyphs[name])
        etree.cleanup_namespaces(root)
        return root

    def _has_more(self, line: PartLine) -> bool:
        """Whether a line has marks of alternatives that the edition does not print."""
        for found in _CLASSES.finditer(line.svg):
            classes = found[1].split()
            for name in classes:
                printed = self._choosable.with_alternatives.get(name.removeprefix("record-"))
                if printed is not None and _number(classes) > printed:
                    return True
        return False

    def _line(self, line: PartLine, prefix: str) -> etree._Element:
        root = etree.fromstring(line.svg.encode())
        for definitions in list(root.iter(f"{_SVG}defs")):
            for glyph in list(definitions):
                name = f"glyph-{glyph.get('id', '').partition('-')[0]}"
                glyph.set("id", name)
                self._glyphs.setdefault(name, glyph)
            _remove(definitions)
        for one in list(root.iter(f"{_SVG}style", f"{_SVG}desc", f"{_SVG}title")):
            _remove(one)
        for name in ("id", "version", "overflow", "width", "height"):
            _drop(root, name)
        for use in root.iter(f"{_SVG}use"):
            glyph_name = use.get(_HREF, "").lstrip("#").partition("-")[0]
            _drop(use, _HREF)
            use.set("href", f"#glyph-{glyph_name}")
        for element in root.iter(f"{_SVG}g"):
            self._mark(element, prefix)
        _unnest(root)
        for element in root.iter(etree.Element):
            _tidy(element)
        _join_straight_lines(root)
        for group in reversed(list(root.iter(f"{_SVG}g"))):
            if len(group) == 0:
                _remove(group)
        etree.cleanup_namespaces(root)
        return root

    def _mark(self, group: etree._Element, prefix: str) -> None:
        classes = (group.get("class") or "").split()
        xml_id = group.get("id", "")
        _drop(group, "id")
        if KEY_CLASS in classes:
            self._key(group, prefix)
            return
        kept = [name for name in classes if name in _KEPT_CLASSES or name in _LAYERS]
        records = [name.removeprefix("record-") for name in classes if name.startswith("record-")]
        inked = ink(xml_id, classes)
        if inked is not None:
            group.set("data-layer", inked)
        offered = self._offered(xml_id, classes, records)
        if offered is not None:
            group.set("data-offered", json.dumps(offered))
        if records and "label" in classes:
            group.set("data-label", records[0])
        if records and xml_id and not _inside_of(group, records) and not _on_small_staff(group):
            group.set("data-records", " ".join(records))
            kept.append("mark")
            self.marks[f"{prefix}{xml_id}"] = tuple(records)
        if xml_id and ("measure" in classes or "mark" in kept or xml_id in self._notes):
            group.set("id", f"{prefix}{xml_id}")
        _drop(group, "class")
        if kept:
            group.set("class", " ".join(kept))

    def _key(self, group: etree._Element, prefix: str) -> None:
        """Make the figure of a remark a mark of its own."""
        record = group.get("data-record", "")
        page_id = f"{prefix}key.{len(self.keys)}"
        self.keys[page_id] = record
        group.set("id", page_id)
        group.set("class", f"{KEY_CLASS} mark")
        group.set("data-records", record)
        _drop(group, "data-record")

    def _offered(
        self, xml_id: str, classes: Collection[str], records: Collection[str]
    ) -> tuple[str, int] | None:
        """Return the record and the number of the alternative that a marking belongs to."""
        if len(records) != 1 or not xml_id.startswith(_OWN_IDS):
            return None
        (record,) = records
        if record in self._choosable.whole:
            return record, 1
        return (record, _number(classes)) if record in self._choosable.with_alternatives else None


def ink(xml_id: str, classes: Collection[str]) -> Layer | None:
    """Return whose ink a marking is; None for what belongs to the text, whoever speaks of it.

    A slur that is divided, or a bow sign that is kept, stays the text's.
    """
    layers = {_LAYERS[name] for name in classes if name in _LAYERS}
    if not layers or Layer.TEXT in layers or {"slur-divided", "bowing-kept"} & set(classes):
        return None
    if not xml_id.startswith(_OWN_IDS) and layers != {Layer.COMPOSER}:
        return None
    return next(layer for layer in reversed(Layer) if layer in layers)


def _number(classes: Collection[str]) -> int:
    """Return the number of the alternative, counted as they are printed; 1 where none is said."""
    return next((int(name[12:]) for name in classes if _ALTERNATIVE.fullmatch(name)), 1)


def _bars(line: PartLine) -> list[str]:
    """Return the ids of a line's measures."""
    return [found[1] for found in _MEASURE.finditer(line.svg)]


def _inside_of(group: etree._Element, records: Collection[str]) -> bool:
    """Whether something around the group leads to the same decisions already."""
    return any(
        set(records) <= set((around.get("data-records") or "").split())
        for around in group.iterancestors()
    )


def _on_small_staff(group: etree._Element) -> bool:
    """Whether it stands on the staff of an ossia, which is one mark."""
    return any("oStaff" in (one.get("class") or "").split() for one in group.iterancestors())


def _unnest(root: etree._Element) -> None:
    """Put a mark inside another, such as a bow sign in its note, behind it: each is one button."""
    for mark in [one for one in root.iter(f"{_SVG}g") if _is_mark(one)]:
        outer = [one for one in mark.iterancestors() if _is_mark(one)]
        if outer:
            outer[-1].addnext(mark)


def _is_mark(group: etree._Element) -> bool:
    return "mark" in (group.get("class") or "").split()


def _tidy(element: etree._Element) -> None:
    """Take off what would keep the page from giving ink and face, and what says nothing."""
    if element.get("color") == "black":
        del element.attrib["color"]
    if etree.QName(element).localname in {"text", "tspan"}:
        for name in ("id", "class"):
            _drop(element, name)
    if element.get("transform") == "translate(0, 0)":
        del element.attrib["transform"]
    if element.tag == f"{_SVG}g":
        _drop(element, "font-family")


def _join_straight_lines(root: etree._Element) -> None:
    """Make one path of straight lines of one look that follow each other: a staff's five."""
    for path in list(root.iter(f"{_SVG}path")):
        before = path.getprevious()
        if before is None or before.tag != path.tag or not _LINE.match(path.get("d", "")):
            continue
        ours = {k: v for k, v in path.attrib.items() if k != "d"}
        theirs = {k: v for k, v in before.attrib.items() if k != "d"}
        if ours == theirs and before.get("d", "").count("M") == before.get("d", "").count("L"):
            before.set("d", f"{before.get('d')} {path.get('d')}")
            _remove(path)


def _remove(element: etree._Element) -> None:
    around = element.getparent()
    if around is not None:
        around.remove(element)


def _drop(element: etree._Element, attribute: str) -> None:
    if attribute in element.attrib:
        del element.attrib[attribute]
