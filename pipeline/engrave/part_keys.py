"""The key from a mark to its remark: a small figure at the first mark of each record in a line.

In come a line's ink and its marks, out go figures for the drawing. A figure stands above all that
belongs to its staff at that place, so that no fingering is mistaken for it: it is smaller, and a
bracket closes it, as it does a footnote's number.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise

from lxml import etree

from pipeline.edition.layer import Layer
from pipeline.engrave.boxes import Box
from pipeline.engrave.part_ink import Ink, Sky
from pipeline.engrave.verovio_svg import SVG

KEY_CLASS = "remark-key"
"""Class of a figure's group; `data-record` and `data-layer` say whose it is."""

FIGURE_MM = 1.6
"""Height of the figures, whatever the size of the staff."""
_FIGURE_OF_EM = 0.65
"""Height of a lining figure as a part of its em (EB Garamond)."""
_CHARACTER_OF_EM = 0.47
_DESCENT_OF_EM = 0.2
"""How far the closing bracket reaches below the line."""
_GAP = 100.0
"""Room between a figure and the ink around it (a staff space is 180)."""
_BESIDE = 0.35
"""Room between two figures side by side, as a part of their em."""
_NEAR = 2.0
"""Figures whose places are nearer than so many characters stand side by side."""
_AT_THE_LEFT = 400.0
"""So far from its left end a mark counts for the height of its figure."""
_BEFORE_LABEL = 0.3
"""Room between a figure and the label after it, as a part of the em."""
_EVENTS = frozenset({"note", "rest", "mRest", "multiRest"})
"""Where a whole staff or bar is spoken of, its figure stands above the first of these."""
_FAR = 5.0
"""A figure so many of its heights above its mark no longer seems to belong to it."""
_FOOTNOTE_SIGN = "*"


def key_text(number: int, layer: Layer) -> str:
    """Return the figure of a remark; that of a tradition has the sign of a footnote."""
    return f"{number}{_FOOTNOTE_SIGN if layer is Layer.TRADITION else ''})"


@dataclass(frozen=True)
class Keyed:
    """A record that needs a figure in a line: what its first mark is, or its bar where none is."""

    record: str
    layer: Layer
    xml_ids: tuple[str, ...]
    measure: str


@dataclass(frozen=True)
class Figure:
    """A figure and where it stands: left end of its base line."""

    keyed: Keyed
    text: str
    x: float
    y: float
    size: float


def place_figures(
    keyed: Iterable[Keyed],
    numbers: Mapping[str, int],
    ink: Sequence[Ink],
    staff_tops: Mapping[str, float],
    units_per_mm: float,
    width: float,
) -> tuple[Figure, ...]:
    """Return the figures of a line; none stands on anything else.

    `staff_tops` are the heights of the top lines of the small staves, by xml:id, and under "" that
    of the staff itself. What belongs to a small staff with a label has its figure before the label.
    """
    size = FIGURE_MM * units_per_mm / _FIGURE_OF_EM
    held = _held(ink)
    sky = Sky(box for piece in ink for box in _solid(piece))
    setter = _Setter(sky, size, FIGURE_MM * units_per_mm, width)
    figures: list[Figure] = []
    places: dict[float, list[_Place]] = {}
    for one in keyed:
        if one.record not in numbers:
            continue
        text = key_text(numbers[one.record], one.layer)
        before = setter.before_label(one, text, held)
        if before is not None:
            figures.append(before)
            continue
        place = _place(one, text, numbers[one.record], held, staff_tops)
        if place is not None:
            places.setdefault(place.staff_top, []).append(place)
    for staff_top in sorted(places, reverse=True):
        for group in _groups(places[staff_top], _NEAR * size * _CHARACTER_OF_EM):
            figures += setter.side_by_side(group)
    return tuple(figures)


def figure_group(figure: Figure) -> etree._Element:
    """Return the figure as a group for the drawing."""
    group = etree.Element(f"{SVG}g", {"class": KEY_CLASS})
    group.set("data-record", figure.keyed.record)
    group.set("data-layer", figure.keyed.layer.value)
    text = etree.SubElement(group, f"{SVG}text", x=f"{figure.x:.0f}", y=f"{figure.y:.0f}")
    text.set("font-size", f"{figure.size:.0f}px")
    text.text = figure.text
    return group


def figure_box(figure: Figure) -> Box:
    """Return the box around a figure."""
    return Box(
        figure.x,
        figure.y - figure.size * _FIGURE_OF_EM,
        figure.x + _width(figure.text, figure.size),
        figure.y + _DESCENT_OF_EM * figure.size,
    )


def _width(text: str, size: float) -> float:
    return len(text) * size * _CHARACTER_OF_EM


def _held(ink: Sequence[Ink]) -> dict[str, list[Ink]]:
    found: dict[str, list[Ink]] = {}
    for piece in ink:
        for xml_id in piece.groups:
            found.setdefault(xml_id, []).append(piece)
    return found


@dataclass(frozen=True)
class _Place:
    """Where a figure would stand: its left end, and the height that it must stand above."""

    keyed: Keyed
    text: str
    number: int
    left: float
    start: float
    staff_top: float


def _place(
    one: Keyed,
    text: str,
    number: int,
    held: Mapping[str, Sequence[Ink]],
    staff_tops: Mapping[str, float],
) -> _Place | None:
    """The place above the first mark of a record that is drawn, else above its bar's first note."""
    for xml_id in one.xml_ids:
        drawn = held.get(xml_id)
        if drawn:
            top = _staff_top(xml_id, drawn, staff_tops)
            pieces = [piece for piece in drawn if piece.classes & _EVENTS] or drawn
            left = min(piece.box.left for piece in pieces)
            start = min(top, *(_top_at(piece, left) for piece in pieces))
            return _Place(one, text, number, left, start, top)
    bar = held.get(one.measure)
    if not bar:
        return None
    events = [piece for piece in bar if piece.classes & _EVENTS]
    left = min(piece.box.left for piece in events or bar)
    return _Place(one, text, number, left, staff_tops[""], staff_tops[""])


def _top_at(piece: Ink, left: float) -> float:
    """The top of a piece at the left end of the mark it belongs to."""
    if piece.arch is not None:
        return piece.arch.points[0][1]
    return piece.box.top if piece.box.left < left + _AT_THE_LEFT else piece.box.bottom


def _staff_top(xml_id: str, pieces: Sequence[Ink], staff_tops: Mapping[str, float]) -> float:
    """The top line of the staff that a mark belongs to."""
    for known, top in staff_tops.items():
        if known and (known == xml_id or any(known in piece.groups for piece in pieces)):
            return top
    return staff_tops[""]


def _solid(piece: Ink) -> Iterator[Box]:
    """Yield the room that a piece takes up; under a slur that arches there is none for figures."""
    if piece.arch is None:
        yield piece.box
        return
    for (x1, y1), (x2, y2) in pairwise(piece.arch.points):
        yield Box(x1, min(y1, y2), x2, max(piece.box.bottom, y1, y2))


def _groups(places: Sequence[_Place], near: float) -> Iterator[list[_Place]]:
    """Yield the places that are so near to each other that their figures stand side by side."""
    group: list[_Place] = []
    for place in sorted(places, key=lambda place: place.left):
        if group and place.left - group[-1].left > near:
            yield group
            group = []
        group.append(place)
    if group:
        yield group


@dataclass(frozen=True)
class _Setter:
    """Sets figures of one size where the sky over a line is free."""

    sky: Sky
    size: float
    height: float
    width: float

    def before_label(
        self, one: Keyed, text: str, held: Mapping[str, Sequence[Ink]]
    ) -> Figure | None:
        """Return the figure before the label of an ossia, where there is room for it."""
        for xml_id in one.xml_ids:
            for piece in held.get(xml_id, ()):
                if piece.words is None or "label" not in piece.classes:
                    continue
                left = piece.box.left - _width(text, self.size) - _BEFORE_LABEL * self.size
                base = piece.words.y
                bottom = base + _DESCENT_OF_EM * self.size
                room = self.height + bottom - base
                free = self.sky.room_above(left, piece.box.left - 1, bottom, room)
                if left >= 0 and free == bottom:
                    return self._set(one, text, left, base)
        return None

    def side_by_side(self, group: Sequence[_Place]) -> Iterator[Figure]:
        """Yield figures set side by side at one height, inside the line, in their order.

        Where there is no room near their marks for all of them, each is set by itself.
        """
        across = sum(_width(place.text, self.size) for place in group)
        across += (len(group) - 1) * _BESIDE * self.size
        start = min(place.start for place in group)
        left, base = self._free(group[0].left, across, start)
        if len(group) > 1 and self._is_far(start, base):
            for place in group:
                yield from self.side_by_side([place])
            return
        for place in sorted(group, key=lambda place: place.number):
            yield self._set(place.keyed, place.text, left, base)
            left += _width(place.text, self.size) + _BESIDE * self.size

    def _free(self, left: float, across: float, start: float) -> tuple[float, float]:
        """Return left end and base line of free room: above the mark, or beside it if that is far.

        Far is what would put the figure on top of the next staff.
        """
        room = self.height + 2 * _GAP
        found = []
        left_of = -across - _GAP
        for beside in (0.0, left_of, left_of - self.size / 2, self.size, self.size * 1.5):
            at = max(0.0, min(left + beside, self.width - across))
            base = self.sky.room_above(at - _GAP, at + across + _GAP, start, room) - _GAP
            if not self._is_far(start, base):
                return at, base
            found.append((at, base))
        return found[0]

    def _is_far(self, start: float, base: float) -> bool:
        return start - base > _FAR * self.height

    def _set(self, one: Keyed, text: str, left: float, base: float) -> Figure:
        figure = Figure(one, text, left, base, self.size)
        self.sky.add(figure_box(figure))
        return figure
