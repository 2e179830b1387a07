"""What the engraved part consists of before it is set on pages: lines of music with their marks."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from fractions import Fraction

from pipeline.edition.layer import Layer


@dataclass(frozen=True)
class PartOrder:
    """What the player wants to see. Measures in millimetres.

    `alternatives` name, by id of the record, the alternatives that are shown, the first one above
    the staff; a record that is not in it shows what it says under `printed`. Those named must be
    what is printed in the layered document: it is written for the order. A record with no
    alternative named is not shown. The text is always among the `layers`.

    An ossia or tradition that is named with no alternative is left out. One whose record is in
    `instead` replaces the text at its bars, for a player who has decided. `staff` is the edited
    staff of the score.
    """

    layers: frozenset[Layer]
    line_width_mm: float
    staff_height_mm: float
    alternatives: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    instead: frozenset[str] = frozenset()
    staff: int = 1


@dataclass(frozen=True)
class PartMark:
    """A marking that is not simply the text's: whose it is and which record decides it.

    `xml_ids` are the ids it has in the layered MEI and in the SVG.
    """

    record: str
    layer: Layer
    xml_ids: tuple[str, ...]


@dataclass(frozen=True)
class PartLine:
    """One line of the part: its music as SVG and what the page has to know of it.

    `first_bar` and `last_bar` are printed numbers. `silence_before` and `silence_after` are the
    quarter notes for which the player rests at its beginning and at its end: where a page can be
    turned. Every marking's group in the SVG has its xml:id, and the classes `layer-L` and
    `record-R`.
    """

    svg: str
    width_mm: float
    height_mm: float
    first_bar: str
    last_bar: str
    silence_before: Fraction
    silence_after: Fraction
    marks: tuple[PartMark, ...] = ()


@dataclass(frozen=True)
class PartMovement:
    """A movement's lines from first to last, and how long a quarter note lasts at its beginning.

    That is by the score's first metronome mark; a second where it has none.
    """

    n: int
    lines: tuple[PartLine, ...]
    seconds_per_quarter: float = 1.0


@dataclass(frozen=True)
class EngravedPart:
    """The whole part, movement by movement."""

    movements: tuple[PartMovement, ...]
