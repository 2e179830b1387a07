"""How the part is wanted: the words of a command in, an order out, or why it cannot be had."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from pipeline.edition.choices import Taken, read_takes
from pipeline.edition.layer import Layer
from pipeline.edition.quoting import quoted
from pipeline.edition.suggestions import closest
from pipeline.engrave.part_model import PartOrder
from pipeline.problems import Origin
from pipeline.typeset.part_paper import A4, STAFF_MM, Paper, read_paper, staff_refused

_CHOSEN = Origin("--choose")
"""Where a choice was made that stands in no file."""


@dataclass(frozen=True)
class PartWishes:
    """Which layers the part shows, what is chosen of records, and on which paper it is set."""

    layers: frozenset[Layer] = frozenset(Layer)
    taken: tuple[Taken, ...] = ()
    paper: Paper = A4
    staff_mm: float = STAFF_MM

    def order(self, alternatives: Mapping[str, tuple[str, ...]], staff: int) -> PartOrder:
        """Return the order to the engraver; `alternatives` are those shown, by record."""
        return PartOrder(
            layers=self.layers | {Layer.TEXT},
            line_width_mm=self.paper.line_width_mm,
            staff_height_mm=self.staff_mm,
            alternatives=alternatives,
            staff=staff,
        )


def read_wishes(
    layers: str | None = None,
    choose: Iterable[str] = (),
    paper: str = "A4",
    staff_mm: float = STAFF_MM,
    crop_marks: bool = False,
) -> PartWishes | str:
    """Return what is wished, or the first thing in it that cannot be, with what could.

    Whether the edition has the records that are chosen of is seen when it has been read.
    """
    named = _layers(layers)
    if isinstance(named, str):
        return named
    taken = _taken(choose)
    if isinstance(taken, str):
        return taken
    page = read_paper(paper, crop_marks)
    if isinstance(page, str):
        return page
    refused = staff_refused(staff_mm)
    return refused or PartWishes(named, taken, page, staff_mm)


def _layers(written: str | None) -> frozenset[Layer] | str:
    if written is None:
        return frozenset(Layer)
    known = [layer.value for layer in Layer]
    names = [name.strip() for name in written.split(",") if name.strip()]
    for name in names:
        if name not in known:
            near = closest(name, known)
            meant = f"did you mean `{near}`? " if near else ""
            return f"there is no layer {quoted(name)}; {meant}The layers are {', '.join(known)}."
    if not names:
        return f"`--layers` names no layer; the layers are {', '.join(known)}."
    return frozenset(map(Layer, names))


def _taken(choose: Iterable[str]) -> tuple[Taken, ...] | str:
    """Return the choices; several names of one record stand in the order they were given."""
    names: dict[str, list[str]] = {}
    for written in choose:
        record, equals, name = (part.strip() for part in written.partition("="))
        if not (record and equals and name):
            return (
                f"{quoted(written)} chooses nothing; write RECORD=NAME with the name of an "
                "alternative, or RECORD=no to leave out what the record puts there."
            )
        names.setdefault(record, []).append(name)
    return tuple(
        Taken(record, tuple(given) if len(given) > 1 else read_takes(given[0]), _CHOSEN)
        for record, given in names.items()
    )
