"""The command `harmonics`: what a person typed in, the lines that answer it out.

Nothing is printed here. An answer that is a plain text says what is wrong with the call itself.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from pathlib import Path

from pipeline.desk.columns import columns
from pipeline.desk.record_place import RecordPlace, record_place
from pipeline.problems import Origin, Outcome, Problem, error
from pipeline.score.model import Pitch
from pipeline.score.pitch_names import from_scientific, scientific
from pipeline.strings.hand_faults import CAUTION
from pipeline.strings.harmonic_passage import SoundingNote, sounding_notes
from pipeline.strings.harmonic_path import Aim, Through, way_through
from pipeline.strings.harmonic_tables import (
    STEP_HEADINGS,
    WAY_HEADINGS,
    needs_caution,
    no_way,
    step_rows,
    summary,
    way_row,
)
from pipeline.strings.harmonic_ways import Way, ways
from pipeline.strings.instruments import Instrument, find_instrument

Lines = Outcome[tuple[str, ...]]


def pitch_lines(written: str, instrument_name: str, max_span_mm: float | None) -> Lines | str:
    """Return the table of ways to sound a pitch, or what is wrong with how it is written."""
    pitch = from_scientific(written)
    if pitch is None:
        return (
            f"{written} is no pitch; write a letter, `#` or `b` where it needs one, and the "
            "octave, C4 being middle C: A5, C#6, Bb4. For an edition, name a record as well."
        )
    instrument = find_instrument(instrument_name, Origin("--instrument"))
    if instrument.value is None:
        problem = instrument.problems[0]
        return f"{problem.message[0].upper()}{problem.message[1:]}. {problem.remedy}"
    found = _within(ways(pitch, instrument.value), max_span_mm)
    if not found:
        return Outcome(None, (_no_way(pitch, instrument.value, max_span_mm),))
    head = f"{scientific(pitch)} on the {instrument.value.name}"
    table = columns(WAY_HEADINGS, [way_row(way) for way in found])
    caution = ["", CAUTION] if needs_caution(found) else []
    return Outcome((head, *table, *caution))


def passage_lines(
    folder: Path, record: str, instrument_name: str | None, max_span_mm: float | None, aim: str
) -> Lines | str:
    """Return the ways for each note of a record's passage, and one way through all of them."""
    found = record_place(folder, record)
    if found.value is None:
        return Outcome(None, found.problems)
    head = found.value.edition.head
    if instrument_name is None:
        origin = found.value.edition.head_origins.at("edited_staff", "instrument")
        instrument = find_instrument(head.edited_staff.instrument, origin)
    else:
        instrument = find_instrument(instrument_name, Origin("--instrument"))
    if instrument.value is None:
        return Outcome(None, instrument.problems)
    notes = sounding_notes(found.value.span.events, instrument.value)
    offered = [
        () if note.pitch is None else _within(ways(note.pitch, instrument.value), max_span_mm)
        for note in notes
    ]
    lines = list(_note_lines(found.value, notes, offered, instrument.value))
    lines += _through_lines(found.value, notes, offered, instrument.value, Aim(aim))
    if any(needs_caution(one) for one in offered):
        lines += ["", CAUTION]
    return Outcome(tuple(lines), found.problems)


def _within(found: Iterable[Way], max_span_mm: float | None) -> tuple[Way, ...]:
    return tuple(way for way in found if max_span_mm is None or way.span_mm <= max_span_mm)


def _no_way(pitch: Pitch, instrument: Instrument, max_span_mm: float | None) -> Problem:
    if ways(pitch, instrument):
        message = f"no way to sound {scientific(pitch)} keeps within {max_span_mm:g} mm"
        return error("no-harmonic", Origin("--max-span"), message, "Allow a wider span.")
    return error(
        "no-harmonic",
        Origin(instrument.name),
        no_way(pitch, instrument.strings),
        "Name the pitch that is to sound, not the one that is stopped.",
    )


def _where(place: RecordPlace, note: SoundingNote) -> str:
    bar = place.movement.passage.bars[note.event.bar]
    return f"bar {bar.n}, note {note.event.number}"


def _note_lines(
    place: RecordPlace,
    notes: Sequence[SoundingNote],
    offered: Sequence[tuple[Way, ...]],
    instrument: Instrument,
) -> Iterator[str]:
    for note, found in zip(notes, offered, strict=True):
        where = _where(place, note)
        if note.pitch is None:
            yield f"{where}: {note.unclear}"
        elif not ways(note.pitch, instrument):
            yield f"{where}: {no_way(note.pitch, instrument.strings)}"
        else:
            yield f"{where} sounds {scientific(note.pitch)}"
            yield from columns(WAY_HEADINGS, [way_row(way) for way in found if way.ease.possible])
        yield ""


def _through_lines(
    place: RecordPlace,
    notes: Sequence[SoundingNote],
    offered: Sequence[tuple[Way, ...]],
    instrument: Instrument,
    aim: Aim,
) -> list[str]:
    """Return the way through the notes that can be sounded; those that cannot are named."""
    able = [
        (note, found)
        for note, found in zip(notes, offered, strict=True)
        if any(way.ease.possible for way in found)
    ]
    unable = [note for note in notes if note not in [one for one, _ in able]]
    through = way_through([found for _, found in able], instrument, aim)
    if not able or through is None:
        return ["No note of this passage can be sounded as a harmonic."]
    left_out = [f"left out: {'; '.join(_where(place, note) for note in unable)}"] if unable else []
    return [f"A way through, {aim}", *_steps(place, able, through), summary(through), *left_out]


def _steps(
    place: RecordPlace, able: Sequence[tuple[SoundingNote, tuple[Way, ...]]], through: Through
) -> list[str]:
    rows = [
        (_where(place, note), scientific(step.way.sounds), *row)
        for (note, _), step, row in zip(able, through.steps, step_rows(through), strict=True)
    ]
    return columns(("note", "sounds", *STEP_HEADINGS), rows)
