"""Parts of small editions, engraved, and what stands in their pictures."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from functools import cached_property

from lxml import etree

from pipeline.edition.layer import Layer
from pipeline.engrave.boxes import Box
from pipeline.engrave.house_style import read_house_style
from pipeline.engrave.part import engrave_part
from pipeline.engrave.part_ink import Ink, ink_of
from pipeline.engrave.part_keys import KEY_CLASS
from pipeline.engrave.part_model import PartLine, PartOrder
from pipeline.problems import Problem
from pipeline.strings.instruments import INSTRUMENTS

SVG = "{http://www.w3.org/2000/svg}"
ORDER = PartOrder(frozenset(Layer), line_width_mm=170, staff_height_mm=7)
STYLE = read_house_style()


@dataclass(frozen=True)
class Picture:
    """One line of the part, its SVG as a tree."""

    line: PartLine

    @cached_property
    def root(self) -> etree._Element:
        return etree.fromstring(self.line.svg)

    @cached_property
    def ink(self) -> list[Ink]:
        """What is drawn, the figures among it."""
        body = self.root.find(f"{SVG}g[@class='definition-scale']")
        assert body is not None
        return ink_of(body)

    def groups(self, name: str) -> list[etree._Element]:
        """The groups of a class, from first to last."""
        found = self.root.iter(f"{SVG}g")
        return [group for group in found if name in group.get("class", "").split()]

    def classes(self, xml_id: str) -> set[str]:
        """The classes of the group with an id."""
        group = next(g for g in self.root.iter(f"{SVG}g") if g.get("id") == xml_id)
        return set(group.get("class", "").split())

    def words(self, name: str) -> list[str]:
        """What the groups of a class say, from left to right."""
        return [said(group) for group in sorted(self.groups(name), key=_left)]

    def keys(self) -> dict[str, str]:
        """The figures by the record that they lead to."""
        return {g.get("data-record", ""): said(g) for g in self.groups(KEY_CLASS)}

    def boxes(self, name: str) -> list[Box]:
        """The boxes of the ink of a class."""
        return [piece.box for piece in self.ink if name in piece.classes]


@dataclass(frozen=True)
class Part:
    """An engraved part: pictures by movement, and what was told."""

    movements: tuple[tuple[Picture, ...], ...]
    problems: tuple[Problem, ...]

    @property
    def lines(self) -> list[Picture]:
        return [line for lines in self.movements for line in lines]

    @property
    def first(self) -> Picture:
        return self.lines[0]


def part(
    layered: bytes,
    numbers: Mapping[str, int] | None = None,
    labels: Mapping[str, str] | None = None,
    **order: object,
) -> Part:
    """Engrave the part of a layered document; `order` are fields of PartOrder."""
    wanted = replace(ORDER, **order)  # type: ignore[arg-type]
    violin = INSTRUMENTS["violin"]
    made = engrave_part(layered, wanted, STYLE, numbers or {}, labels or {}, "serif", violin)
    assert made.value is not None
    pictures = tuple(tuple(Picture(line) for line in m.lines) for m in made.value.movements)
    return Part(pictures, made.problems)


def layers_counted(roots: Iterable[etree._Element], attribute: str) -> Counter[str]:
    """How many elements are marked for each layer; what goes on in a second line counts once."""
    found: Counter[str] = Counter()
    for root in roots:
        for element in root.iter(etree.Element):
            words = element.get(attribute, "").split()
            if "spanning" not in words:
                found.update(word for word in words if re.match(r"layer-\w+$", word))
    return found


def said(group: etree._Element) -> str:
    return "".join(str(text) for text in group.itertext()).strip()


def _left(group: etree._Element) -> float:
    text = next(group.iter(f"{SVG}text"), None)
    return 0.0 if text is None else float(text.get("x", "0"))
