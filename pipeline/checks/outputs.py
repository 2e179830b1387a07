"""Rules about decisions that would leave no trace in what is printed."""

from __future__ import annotations

from collections.abc import Iterator

from pipeline.checks.alternatives import printed_fingerings
from pipeline.checks.material import Material
from pipeline.checks.rule import Fault
from pipeline.checks.wording import place_in_words
from pipeline.edition.records import Bowing, FingeringRecord


def fingering_without_a_digit(material: Material) -> Iterator[Fault]:
    """A fingering in force whose printed alternatives have `none` for every note.

    Nothing would stand above the notes. Where the composer's fingering is left out, that is meant.
    """
    for decision in material.in_force():
        record = decision.filed.record
        if not isinstance(record, FingeringRecord) or record.composer_fingering == "left out":
            continue
        printed = [alternative for _, alternative in printed_fingerings(record)]
        if printed and not any(e.fingers for alternative in printed for e in alternative.fingers):
            yield Fault(
                decision.filed.origins.at("alternatives"),
                f"the fingering `{record.id}` prints no digit at all",
                "Write a digit, name another alternative under `printed`, or write "
                "`composer_fingering: left out`.",
                place_in_words(record.place),
            )


def hand_of_another_player(material: Material) -> Iterator[Fault]:
    """A fingering or bowing in force on a staff other than the edited one.

    The part does not show it; only the commentary and the encoding do.
    """
    edited = material.edition.head.edited_staff.n
    for decision in material.in_force():
        record = decision.filed.record
        if isinstance(record, FingeringRecord | Bowing) and decision.span.staff != edited:
            yield Fault(
                decision.filed.origins.at("place", "staff"),
                f"this {record.kind} is on staff {decision.span.staff}; "
                f"the part shows staff {edited}",
                f"Correct the staff, or make the record a `remark` if staff {decision.span.staff} "
                "is meant.",
                place_in_words(record.place),
            )
