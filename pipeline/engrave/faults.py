"""Engraving faults told as problems: at the record whose example they spoil."""

from __future__ import annotations

from collections.abc import Iterable

from pipeline.collation.model import Decision
from pipeline.engrave.verovio import EngravingFault
from pipeline.problems import Problem, error, warning


def problems_of(faults: Iterable[EngravingFault], decision: Decision) -> tuple[Problem, ...]:
    """Return one problem for each fault: an error where music is missing from the page."""
    origin = decision.filed.origins.at("place")
    span = decision.span
    place = f"movement {span.movement}, staff {span.staff}"
    problems: list[Problem] = []
    for fault in faults:
        match fault.kind:
            case "refused":
                problems.append(
                    error(
                        "example-not-engraved",
                        origin,
                        f"the example of {decision.id} could not be engraved: {fault.detail}",
                        "look at the bars of the place in the score and in the record's music",
                        place,
                    )
                )
            case "not drawn":
                problems.append(
                    error(
                        "lost-in-engraving",
                        origin,
                        f"in the example of {decision.id} the element {fault.detail} is not drawn",
                        "see to what it is attached to in the score: a note or beat that is there",
                        place,
                    )
                )
            case "cramped":
                problems.append(
                    warning(
                        "example-cramped",
                        origin,
                        f"a bar of the example of {decision.id} hardly fits into the line",
                        "set `staff_height_mm` lower in the house style, or shorten the labels",
                        place,
                    )
                )
            case "complaint":
                problems.append(
                    warning(
                        "engraving-complaint",
                        origin,
                        f"engraving the example of {decision.id}: {fault.detail}",
                        "look at the example on the page; mend the score where it is wrong",
                        place,
                    )
                )
    return tuple(problems)
