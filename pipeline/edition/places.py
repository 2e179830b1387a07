"""A place as an editor writes it; the score stage resolves it into events.

Beats and notes count from 1 as a musician counts: `beat: 2.5` is the middle of the second beat,
`note: 3` the third note or chord of that staff in that bar, grace notes counted, rests not.
"""

from __future__ import annotations

from typing import Self

from pydantic import Field, model_validator
from pydantic.config import JsonDict

from pipeline.edition.strict import BarNumber, Beat, StaffName, Strict, UnfitError

_ONE_COUNT: JsonDict = {"not": {"required": ["beat", "note"]}}


class PlaceEnd(
    Strict, title="end of a place", json_schema_extra={**_ONE_COUNT, "minProperties": 1}
):
    """The last bar, beat or note that still belongs to the place (inclusive)."""

    bar: BarNumber | None = Field(None, description="printed bar number; the same bar if left out")
    beat: Beat | None = Field(None, description="last beat that belongs to the place")
    note: int | None = Field(None, ge=1, description="last note that belongs to the place")

    @model_validator(mode="after")
    def _says_where(self) -> Self:
        if self.bar is None and self.beat is None and self.note is None:
            raise UnfitError("`to` names no bar, beat or note", "Say how far the place goes.")
        _one_way_to_count(self)
        return self


class Place(Strict, json_schema_extra=_ONE_COUNT):
    """Movement, staff, bar, then beat or note; `to` extends it.

    Without beat and note the place is the whole bar. The staff is its number or its label; left
    out, it is the edited staff.
    """

    movement: int = Field(ge=1, description="number of the movement")
    bar: BarNumber = Field(description="bar number as printed, such as 14 or 14a")
    staff: StaffName | None = Field(
        None, description="number or label of the staff; the edited staff if left out"
    )
    voice: int | None = Field(None, ge=1, description="voice of the staff, where it has several")
    beat: Beat | None = Field(None, description="beat from 1, such as 2, 2.5 or 2 1/3")
    note: int | None = Field(
        None, ge=1, description="note or chord of the bar from 1; grace notes count, rests do not"
    )
    to: PlaceEnd | None = Field(None, description="last bar, beat or note that still belongs to it")

    @model_validator(mode="after")
    def _counts_one_way(self) -> Self:
        _one_way_to_count(self)
        return self


def _one_way_to_count(place: Place | PlaceEnd) -> None:
    if place.beat is not None and place.note is not None:
        raise UnfitError(
            "the place is given by a beat and by a note", "Keep one of the two.", path=("note",)
        )
