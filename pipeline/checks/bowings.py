"""Rules about bowings: signs stand above notes that are there, and slurs are there to divide."""

from __future__ import annotations

from collections.abc import Iterator

from pipeline.checks.material import Material
from pipeline.checks.rule import Fault
from pipeline.checks.wording import counted, place_in_words
from pipeline.collation.model import Decision
from pipeline.edition.model import Step
from pipeline.edition.records import Bowing, BowingAlternative
from pipeline.score.model import Event, MarkingKind, Passage
from pipeline.score.resolve import note_name


def bowing_beyond_its_notes(material: Material) -> Iterator[Fault]:
    """A bow sign or a change of bow at a note that the place does not have.

    It would be printed nowhere, or above a note that was not meant.
    """
    for decision, path, alternative in _alternatives(material):
        count = len(decision.span.notes)
        notes = f"the place has {counted(count, 'note')}"
        for index, after in enumerate(alternative.divide_after):
            if not 1 <= after < count:
                yield _fault(
                    decision,
                    (*path, "divide_after", index),
                    f"the bow cannot change after note {after} within the place: {notes}",
                    f"Write a number from 1 to {count - 1}, or extend the place."
                    if count > 1
                    else "Extend the place to all notes of the slur.",
                )
        for note in alternative.signs:
            if not 1 <= note <= count:
                yield _fault(
                    decision,
                    (*path, "signs", str(note)),
                    f"there is no note {note} for the bow sign: {notes}",
                    f"Write a number from 1 to {count}, or extend the place."
                    if count
                    else "Choose a place that has notes.",
                )


def bowing_divides_no_slur(material: Material) -> Iterator[Fault]:
    """A change of bow between two notes that no slur holds together.

    The reader looks for the slur that the commentary speaks of.
    """
    for decision, path, alternative in _alternatives(material):
        notes = decision.span.notes
        text = material.texts[decision.span.movement]
        for index, after in enumerate(alternative.divide_after):
            if 1 <= after < len(notes) and not _slurred(text, notes[after - 1], notes[after]):
                yield _fault(
                    decision,
                    (*path, "divide_after", index),
                    f"no slur holds note {after}, {note_name(notes[after - 1])}, and note "
                    f"{after + 1}, {note_name(notes[after])}, together",
                    "Correct the number or the place; without a slur each note has its own bow.",
                )


def bowing_divides_and_joins(material: Material) -> Iterator[Fault]:
    """An alternative that divides a slur and joins strokes at once.

    It cannot be told which notes are to be taken in one bow.
    """
    for decision, path, alternative in _alternatives(material):
        if alternative.join and alternative.divide_after:
            yield _fault(
                decision,
                (*path, "join"),
                f"`{alternative.name}` both divides and joins",
                "Keep one of `divide_after` and `join`, or make two records of two places.",
            )


def bowing_changes_nothing(material: Material) -> Iterator[Fault]:
    """A bowing none of whose alternatives divides, joins or has a sign.

    The reader is told of a bowing and finds none.
    """
    for decision in material.decisions:
        record = decision.filed.record
        if isinstance(record, Bowing) and not any(
            one.divide_after or one.join or one.signs for one in record.alternatives
        ):
            yield _fault(
                decision,
                ("alternatives",),
                f"the bowing `{record.id}` neither divides nor joins nor has a sign",
                "Add `divide_after`, `join` or `signs` to an alternative; to speak of the bow "
                "without a change, make it a `remark`.",
            )


def _alternatives(
    material: Material,
) -> Iterator[tuple[Decision, tuple[Step, ...], BowingAlternative]]:
    for decision in material.decisions:
        record = decision.filed.record
        if isinstance(record, Bowing):
            for index, alternative in enumerate(record.alternatives):
                yield decision, ("alternatives", index), alternative


def _slurred(text: Passage, one: Event, other: Event) -> bool:
    """Return whether one slur begins at or before the first and ends at or after the second."""
    return any(
        marking.kind is MarkingKind.SLUR
        and marking.end is not None
        and marking.start <= one.start
        and marking.end >= other.start
        for marking in text.markings_in.get((one.staff, one.bar), ())
    )


def _fault(decision: Decision, path: tuple[Step, ...], message: str, remedy: str) -> Fault:
    filed = decision.filed
    return Fault(filed.origins.at(*path), message, remedy, place_in_words(filed.record.place))
