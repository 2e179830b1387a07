"""A place as an editor writes it; the score stage resolves it into events.

Beats and notes count from 1 as a musician counts: `beat: 2.5` is the middle of the second beat,
`note: 3` the third note or chord of that staff in that bar, grace notes counted, rests not.
"""

from __future__ import annotations

from fractions import Fraction
from typing import Annotated

from pydantic import BeforeValidator, Field

from pipeline.edition.strict import Strict, bar_number, exact_fraction

BarNumber = Annotated[str, BeforeValidator(bar_number)]
Beat = Annotated[Fraction, BeforeValidator(exact_fraction), Field(ge=1)]


class PlaceEnd(Strict):
    """The last bar, beat or note that still belongs to the place (inclusive)."""

    bar: BarNumber | None = Field(None, description="printed bar number; the same bar if left out")
    beat: Beat | None = Field(None, description="last beat that belongs to the place")
    note: int | None = Field(None, ge=1, description="last note that belongs to the place")


class Place(Strict):
    """Movement, staff, bar, then beat or note; `to` extends it.

    Without beat and note the place is the whole bar. The staff is its number or its label; left
    out, it is the edited staff.
    """

    movement: int = Field(ge=1)
    bar: BarNumber
    staff: int | str | None = None
    voice: int | None = Field(None, ge=1, description="layer of the staff, where there are several")
    beat: Beat | None = None
    note: int | None = Field(None, ge=1)
    to: PlaceEnd | None = None
