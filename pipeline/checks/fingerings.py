"""Rules about fingerings: a hand has four fingers, an instrument its strings, a run its notes."""

from __future__ import annotations

from collections.abc import Iterator

from pipeline.checks.material import Material
from pipeline.checks.rule import Fault
from pipeline.checks.wording import counted, place_in_words, rows
from pipeline.edition.fingers import THUMB, Finger, Fingering
from pipeline.edition.model import FiledRecord, Step
from pipeline.edition.quoting import listed
from pipeline.edition.records import Bowing, FingeringAlternative, FingeringRecord
from pipeline.edition.suggestions import closest
from pipeline.score.model import Span
from pipeline.score.resolve import note_name
from pipeline.strings.instruments import INSTRUMENTS, ROMAN, Instrument

_FINGERS = frozenset({"0", "1", "2", "3", "4", THUMB})


def finger_outside_the_hand(material: Material) -> Iterator[Fault]:
    """A digit other than 0 to 4, or T for the thumb.

    No player could take it; most often it is a slip of the pen for the next digit.
    """
    for filed, path, finger in _fingers(material):
        for digit in (finger.digit, finger.touched):
            if digit and digit not in _FINGERS:
                yield _fault(
                    filed,
                    path,
                    f"there is no finger {digit}",
                    "Fingers are 1 to 4, `open` or 0 for the open string, `thumb` or T for the "
                    "thumb.",
                )


def thumb_on_a_small_instrument(material: Material) -> Iterator[Fault]:
    """The thumb where the instrument is held by it: on the violin and the viola.

    The player would look for another meaning of the sign.
    """
    instrument = _instrument(material)
    if instrument is None or instrument.thumb:
        return
    for filed, path, finger in _fingers(material):
        if THUMB in {finger.digit, finger.touched}:
            yield _fault(
                filed,
                path,
                f"the thumb does not play on the {instrument.name}",
                "Write a digit from 1 to 4.",
            )


def unknown_string(material: Material) -> Iterator[Fault]:
    """A string that the instrument does not have.

    The player is sent to a string that is not there.
    """
    instrument = _instrument(material)
    if instrument is None:
        return
    numbers = ROMAN[: len(instrument.strings)]
    for filed, path, finger in _fingers(material):
        if finger.string and instrument.string(finger.string) is None:
            yield _fault(
                filed,
                path,
                f"the {instrument.name} has no {finger.string} string",
                f"Its strings are {listed(instrument.string_names, 'and')}, "
                f"or {numbers[0]} to {numbers[-1]} from the highest to the lowest.",
            )


def fingering_count(material: Material) -> Iterator[Fault]:
    """A fingering that has not one entry for each note or chord of its place.

    From the first note that was left out, every digit would stand above the wrong note.
    """
    for filed, span, path, alternative in _placed_alternatives(material):
        if len(alternative.fingers) == len(span.notes):
            continue
        yield _fault(
            filed,
            (*path, "fingers"),
            f"`{alternative.name}` has {counted(len(alternative.fingers), 'entry', 'entries')} "
            f"for {counted(len(span.notes), 'note')}:"
            + rows(
                ("notes", "entries"),
                [note_name(note) for note in span.notes],
                [_entry(entry) for entry in alternative.fingers],
            ),
            "Write one entry for each note or chord, grace notes included; `none` where no digit "
            "is to stand.",
        )


def more_fingers_than_notes(material: Material) -> Iterator[Fault]:
    """More fingers than the chord has notes.

    One of the digits would belong to no note.
    """
    for filed, span, path, alternative in _placed_alternatives(material):
        if len(alternative.fingers) != len(span.notes):
            continue  # told by the count; which entry is meant for which note is not known
        for index, (entry, note) in enumerate(zip(alternative.fingers, span.notes, strict=True)):
            if len(entry.fingers) > len(note.heads):
                yield _fault(
                    filed,
                    (*path, "fingers", index),
                    f"`{_entry(entry)}` is {counted(len(entry.fingers), 'finger')} for "
                    f"{counted(len(note.heads), 'note')}, {note_name(note)}",
                    "Write one finger for each note of the chord, from the lowest to the highest.",
                )


def printed_alternative_unknown(material: Material) -> Iterator[Fault]:
    """A name under `printed` that no alternative of the record has.

    The part would leave out what was meant to be printed.
    """
    for filed in material.edition.records:
        record = filed.record
        if not isinstance(record, FingeringRecord | Bowing):
            continue
        names = [alternative.name for alternative in record.alternatives]
        for index, name in enumerate(record.printed):
            if name not in names:
                near = closest(name, names)
                yield _fault(
                    filed,
                    ("printed", index),
                    f"no alternative is called `{name}`",
                    f"Did you mean `{near}`?"
                    if near is not None
                    else f"Alternatives are {listed(names, 'and')}.",
                )


def _instrument(material: Material) -> Instrument | None:
    return INSTRUMENTS.get(material.edition.head.edited_staff.instrument)


def _placed_alternatives(
    material: Material,
) -> Iterator[tuple[FiledRecord, Span, tuple[Step, ...], FingeringAlternative]]:
    for decision in material.decisions:
        record = decision.filed.record
        if isinstance(record, FingeringRecord):
            for index, alternative in enumerate(record.alternatives):
                yield decision.filed, decision.span, ("alternatives", index), alternative


def _fingers(material: Material) -> Iterator[tuple[FiledRecord, tuple[Step, ...], Finger]]:
    """Yield every finger on the edited staff, with the path of keys to its entry."""
    edited = material.edition.head.edited_staff.n
    for decision in material.decisions:
        record = decision.filed.record
        if not isinstance(record, FingeringRecord) or decision.span.staff != edited:
            continue
        for number, alternative in enumerate(record.alternatives):
            for index, entry in enumerate(alternative.fingers):
                for finger in entry.fingers:
                    yield decision.filed, ("alternatives", number, "fingers", index), finger


def _entry(entry: Fingering) -> str:
    """Return an entry in the notation in which it is written."""
    words = [_finger(finger) for finger in entry.fingers]
    if not words:
        return "none"
    return words[0] if len(words) == 1 else f"[{', '.join(words)}]"


def _finger(finger: Finger) -> str:
    words = f"touch {finger.digit}" if finger.natural else finger.digit
    words += f" touch {finger.touched}" if finger.touched else ""
    return f"{words} on {finger.string}" if finger.string else words


def _fault(filed: FiledRecord, path: tuple[Step, ...], message: str, remedy: str) -> Fault:
    return Fault(filed.origins.at(*path), message, remedy, place_in_words(filed.record.place))
