"""Rules about the left hand: a fingering can be taken, and who would stretch for it is warned.

What the hand does is computed with the decisions; how far hands reach is data of the instrument.
"""

from __future__ import annotations

from collections.abc import Iterator

from pipeline.checks.material import Material
from pipeline.checks.rule import Fault
from pipeline.checks.wording import counted, place_in_words
from pipeline.collation.model import Decision
from pipeline.edition.records import FingeringAlternative, FingeringRecord, Status
from pipeline.score.resolve import note_name
from pipeline.strings.hand_faults import CAUTION, FaultKind, HandFault

Found = tuple[Decision, int, FingeringAlternative, tuple[HandFault, ...]]


def note_not_on_the_string(material: Material) -> Iterator[Fault]:
    """A fingered note that the string named, or any string, does not have.

    The player looks for it in vain.
    """
    return _impossible(material, FaultKind.NOT_ON_THE_STRING)


def open_string_of_another_pitch(material: Material) -> Iterator[Fault]:
    """An open string marked at a note that no open string sounds.

    Another note would sound than the one that is written.
    """
    return _impossible(material, FaultKind.NOT_AN_OPEN_STRING)


def notes_not_on_neighbouring_strings(material: Material) -> Iterator[Fault]:
    """A double stop or chord whose notes lie on no neighbouring strings with their fingers.

    They cannot sound together.
    """
    return _impossible(material, FaultKind.NOT_TOGETHER)


def finger_on_two_places(material: Material) -> Iterator[Fault]:
    """One finger on two places of the fingerboard at once.

    No hand can do that; most often one of the digits is a slip of the pen.
    """
    return _impossible(material, FaultKind.TWO_PLACES)


def finger_below_a_lower_finger(material: Material) -> Iterator[Fault]:
    """A finger nearer to the nut than a lower finger that is down with it.

    The hand would have to cross its fingers; most often two digits were exchanged.
    """
    return _impossible(material, FaultKind.BELOW_LOWER_FINGER)


def span_beyond_reach(material: Material) -> Iterator[Fault]:
    """A span between two fingers that no hand is known to reach.

    Whoever tries it may be hurt.
    """
    return _impossible(material, FaultKind.BEYOND_REACH)


def stretch_without_a_word(material: Material) -> Iterator[Fault]:
    """A stretch beyond ordinary hands in a fingering in force against which nothing is said.

    A player with a smaller hand is not warned of strain.
    """
    for decision, index, alternative, faults in _found(material, FaultKind.WIDE_STRETCH):
        if alternative.speaks_against or decision.filed.record.status is not Status.ACCEPTED:
            continue
        first = faults[0]
        more = f"; {counted(len(faults) - 1, 'more stretch', 'more stretches')}" * (len(faults) > 1)
        yield _fault(
            decision,
            index,
            first,
            f"`{alternative.name}`, {_note(material, decision, first)}: {first.message}{more}",
            f"Say so under `speaks_against`, or choose another fingering. {CAUTION}",
        )


def _impossible(material: Material, kind: FaultKind) -> Iterator[Fault]:
    for decision, index, alternative, faults in _found(material, kind):
        for fault in faults:
            where = _note(material, decision, fault)
            message = f"`{alternative.name}`, {where}: {fault.message}"
            yield _fault(decision, index, fault, message, fault.remedy)


def _found(material: Material, kind: FaultKind) -> Iterator[Found]:
    """Yield each alternative with its faults of that kind, those without any left out."""
    for decision in material.decisions:
        record = decision.filed.record
        if not isinstance(record, FingeringRecord):
            continue
        pairs = zip(record.alternatives, decision.hands, strict=False)
        for index, (alternative, run) in enumerate(pairs):
            faults = tuple(f for f in run.faults if f.kind is kind) if run is not None else ()
            if faults:
                yield decision, index, alternative, faults


def _note(material: Material, decision: Decision, fault: HandFault) -> str:
    """Return `bar 14, note 2, d′+b′`."""
    event = decision.span.notes[fault.index]
    bar = material.texts[decision.span.movement].bars[event.bar]
    return f"bar {bar.n}, note {event.number}, {note_name(event)}"


def _fault(decision: Decision, index: int, fault: HandFault, message: str, remedy: str) -> Fault:
    filed = decision.filed
    origin = filed.origins.at("alternatives", index, "fingers", fault.index)
    return Fault(origin, message, remedy, place_in_words(filed.record.place))
