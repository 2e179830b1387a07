"""A few bars of one staff out of a passage: MEI elements of their own, nothing hanging over.

The passage is not changed. Ids get a prefix, so that several excerpts can stand in one system.
What begins before the first bar or ends after the last one is shortened to the edge
(`pipeline.engrave.open_ends`).
"""

from __future__ import annotations

from collections.abc import Iterable
from copy import deepcopy
from dataclasses import dataclass
from fractions import Fraction

from lxml import etree

from pipeline.engrave.mei_tree import XML_ID, MeiTree, drop, local, mei, mei_tree
from pipeline.engrave.open_ends import Window, cut_markings, cut_ties, shorten_to_stubs
from pipeline.engrave.openings import Opening, openings
from pipeline.engrave.slur_side import slur_side
from pipeline.score.model import Passage

MUST_BE_DRAWN = frozenset(
    {"note", "chord", "rest", "mRest", "fing", "dynam", "dir", "tempo", "fermata", "arpeg"}
    | {"slur", "tie", "lv", "hairpin", "octave", "gliss", "bracketSpan"}
    | {"trill", "mordent", "turn", "breath"}
)
"""Elements whose xml:id has to turn up in the SVG; else something was lost without a word."""

_REFERENCES = ("startid", "endid", "plist", "next", "prev", "sameas", "copyof", "synch")
_NOT_NEEDED = ("facs", "corresp", "source", "resp", "class", "decls", "hand", "evidence")


@dataclass(frozen=True)
class ExcerptBar:
    """One bar of the excerpt: what its staff holds and the markings beside it.

    The elements belong to the excerpt alone; a caller that adds to them copies the excerpt first.
    """

    n: str
    opening: Opening
    layers: tuple[etree._Element, ...]
    markings: tuple[etree._Element, ...]
    measure_attributes: tuple[tuple[str, str], ...]


@dataclass(frozen=True)
class Excerpt:
    """Bars of one staff, cut out of a passage from the bar with index `first_bar` on.

    `prefix` stands before every xml:id of it.
    """

    prefix: str
    first_bar: int
    bars: tuple[ExcerptBar, ...]

    @property
    def opening(self) -> Opening:
        """Clef, key and meter at the beginning."""
        return self.bars[0].opening

    @property
    def meters(self) -> tuple[str, ...]:
        """The meter of each bar, to see whether two excerpts can stand in one system."""
        return tuple(bar.opening.meter_text for bar in self.bars)

    def elements(self) -> Iterable[etree._Element]:
        """Yield every element that is drawn."""
        for bar in self.bars:
            for element in (*bar.layers, *bar.markings):
                yield from element.iter(etree.Element)

    def by_id(self) -> dict[str, etree._Element]:
        """The elements by the xml:id they had in the passage."""
        return {
            written.removeprefix(self.prefix): element
            for element in self.elements()
            if (written := element.get(XML_ID)) is not None
        }

    @property
    def must_be_drawn(self) -> frozenset[str]:
        """The xml:ids that have to be in the SVG."""
        return frozenset(
            element.get(XML_ID, "")
            for element in self.elements()
            if local(element) in MUST_BE_DRAWN
            and element.get(XML_ID)
            and element.get("visible") != "false"
        )


def cut(passage: Passage, bars: tuple[int, ...], staff: int, prefix: str) -> Excerpt:
    """Return the bars from the first to the last of `bars` (indexes) on that staff of the passage.

    Raises IndexError where the passage has no such bar: places were resolved before.
    """
    tree = mei_tree(passage.mei)
    first, last = min(bars), max(bars)
    if last >= len(tree.measures):
        raise IndexError(f"{passage.file} has {len(tree.measures)} bars, not {last + 1}")
    states = openings(passage.mei, staff)[first : last + 1]
    window = Window(
        staff=staff,
        first=first,
        last=last,
        last_beat=_beats_end(passage.bars[last].filled, states[-1].beat_unit),
    )
    layers = [_layers(tree, index, staff) for index in range(first, last + 1)]
    markings = cut_markings(passage.mei, window)
    _keep_sides(passage, markings, states[0])
    shorten_to_stubs(layers, [marking for held in markings for marking in held])
    for index, tie in cut_ties(layers, window):
        markings[index].append(tie)
    for index, held in enumerate(layers):
        for element in (*held, *markings[index]):
            _with_prefix(element, prefix)
    return Excerpt(
        prefix,
        first,
        tuple(
            ExcerptBar(
                n=passage.bars[first + index].n,
                opening=states[index],
                layers=tuple(layers[index]),
                markings=tuple(markings[index]),
                measure_attributes=_measure_attributes(tree.measures[first + index]),
            )
            for index in range(len(layers))
        ),
    )


def _keep_sides(passage: Passage, markings: list[list[etree._Element]], opening: Opening) -> None:
    """Let slurs that are cut lie on the side on which the whole slur lies."""
    cut_slurs = {
        slur.get(XML_ID, ""): slur
        for held in markings
        for slur in held
        if local(slur) == "slur"
        and not slur.get("curvedir")
        and not (slur.get("startid") and slur.get("endid"))
    }
    for marking in passage.markings if cut_slurs else ():
        if marking.xml_id in cut_slurs:
            side = slur_side(passage, marking, opening)
            if side is not None:
                cut_slurs[marking.xml_id].set("curvedir", side)


def _beats_end(filled: Fraction, beat_unit: int) -> Fraction:
    """The `@tstamp` of the end of a bar that is filled with so many quarter notes."""
    return filled * beat_unit / 4 + 1


def _layers(tree: MeiTree, index: int, staff: int) -> list[etree._Element]:
    held = [
        deepcopy(layer)
        for found in tree.measures[index].iter(mei("staff"))
        if found.get("n", "1") == str(staff)
        for layer in found.iterchildren(mei("layer"))
    ]
    for number, layer in enumerate(held, start=1):
        layer.tail = None
        layer.set("n", layer.get("n", str(number)))
    return held


def _measure_attributes(measure: etree._Element) -> tuple[tuple[str, str], ...]:
    kept = ("left", "right", "metcon")
    return tuple((name, measure.get(name, "")) for name in kept if measure.get(name))


def _with_prefix(element: etree._Element, prefix: str) -> None:
    for one in element.iter(etree.Element):
        written = one.get(XML_ID)
        if written is not None:
            one.set(XML_ID, prefix + written)
        drop(one, *_NOT_NEEDED)
        for attribute in _REFERENCES:
            value = one.get(attribute)
            if value is not None:
                marked = (f"#{prefix}{part.removeprefix('#')}" for part in value.split())
                one.set(attribute, " ".join(marked))
