"""Rules about harmonics as they are written: they exist, and a hand reaches them.

Nodes and their sources: `pipeline.strings.nodes`; how far hands reach is data of the instrument.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from pipeline.checks.material import Material
from pipeline.checks.rule import Fault
from pipeline.checks.wording import counted, place_in_words
from pipeline.collation.model import Decision
from pipeline.edition.records import Status
from pipeline.problems import Origin
from pipeline.score.model import Event, Passage
from pipeline.score.pitch_names import helmholtz
from pipeline.strings.hand_faults import CAUTION
from pipeline.strings.harmonic_passage import ways_as_written
from pipeline.strings.harmonic_ways import INTERVALS, Ease, Way
from pipeline.strings.harmonics import HARMONIC_SIGN, WrittenTone, written_tones
from pipeline.strings.instruments import INSTRUMENTS, Instrument
from pipeline.strings.string_words import strings_named

Found = tuple[Event, WrittenTone, tuple[Way, ...]]

_REMEDY = f"Over a stopped note touch a {', '.join([*INTERVALS.values()][:-1])} or octave."


def no_such_harmonic(material: Material) -> Iterator[Fault]:
    """A harmonic in an ossia or tradition that the instrument does not have.

    Nothing, or a noise, would sound.
    """
    for decision, passage, instrument, found in _above_the_text(material):
        for event, tone, ways in found:
            if not ways:
                message = f"{_note(passage, event)}: {_nothing_sounds(tone, instrument)}"
                yield _fault(decision, message, _REMEDY)


def no_such_harmonic_in_text(material: Material) -> Iterator[Fault]:
    """A harmonic in the text of the edited staff that the instrument does not have.

    Often a diamond or its accidental stands a step wrong; an emendation or a remark is due.
    """
    instrument = INSTRUMENTS.get(material.edition.head.edited_staff.instrument)
    if instrument is None:
        return
    staff = material.edition.head.edited_staff.n
    for movement, passage in material.texts.items():
        events = [event for event in passage.events if event.staff == staff and _touched(event)]
        for event, tone, ways in _written(passage, staff, events, instrument):
            if not ways:
                yield Fault(
                    Origin(passage.file),
                    _nothing_sounds(tone, instrument),
                    f"{_REMEDY} If the sources have it so, say so in a remark.",
                    f"movement {movement}, {_note(passage, event)}",
                )


def harmonic_beyond_reach(material: Material) -> Iterator[Fault]:
    """A harmonic in an ossia or tradition that no hand is known to reach on any string.

    Whoever tries it may be hurt.
    """
    for decision, passage, _, found in _above_the_text(material):
        for event, _, ways in found:
            if ways and not any(way.ease.possible for way in ways):
                near = min(ways, key=lambda way: way.span_mm)
                why = (
                    f"the fingers would be {near.span_mm:.0f} mm apart at the least"
                    if near.ease is Ease.OUT_OF_REACH
                    else "it lies beyond the fingerboard"
                )
                message = f"{_note(passage, event)}: {why}"
                yield _fault(decision, message, f"Write it another way. {CAUTION}")


def wide_harmonics(material: Material) -> Iterator[Fault]:
    """Harmonics in an ossia or tradition in force that only wide hands reach.

    A player with a smaller hand should be warned of strain.
    """
    for decision, passage, _, found in _above_the_text(material):
        wide = [
            (event, ways)
            for event, _, ways in found
            if any(way.ease.possible for way in ways)
            and not any(way.ease is Ease.ORDINARY for way in ways)
        ]
        if wide and decision.filed.record.status is Status.ACCEPTED:
            event, ways = wide[0]
            span = min(way.span_mm for way in ways if way.ease.possible)
            more = f"; and {counted(len(wide) - 1, 'more note')}" if len(wide) > 1 else ""
            message = (
                f"{_note(passage, event)} puts the fingers {span:.0f} mm apart, for wide hands "
                f"only{more}"
            )
            yield _fault(decision, message, CAUTION)


def _above_the_text(
    material: Material,
) -> Iterator[tuple[Decision, Passage, Instrument, list[Found]]]:
    """Yield the ossias and traditions on the edited staff with their harmonics."""
    edited = material.edition.head.edited_staff
    instrument = INSTRUMENTS.get(edited.instrument)
    for decision in material.decisions:
        version = decision.music
        if version is None or instrument is None or decision.span.staff != edited.n:
            continue
        passage = version.passage
        events = [event for event in passage.events if event.staff == version.staff]
        found = list(_written(passage, version.staff, events, instrument))
        if found:
            yield decision, passage, instrument, found


def _written(
    passage: Passage, staff: int, events: Sequence[Event], instrument: Instrument
) -> Iterator[Found]:
    """Yield each harmonic with the ways that sound it as it is written, on the string named."""
    signs = [marking for marking in passage.markings if marking.staff == staff]
    named = strings_named(events, signs, instrument)
    for event in events:
        for tone in written_tones(event):
            if tone.is_harmonic:
                ways = ways_as_written(tone, instrument)
                string = named.get(event.xml_id)
                yield event, tone, tuple(w for w in ways if w.string == string) or ways


def _touched(event: Event) -> bool:
    return HARMONIC_SIGN in event.articulations or any(
        head.shape == "diamond" for head in event.heads
    )


def _note(passage: Passage, event: Event) -> str:
    return f"bar {passage.bars[event.bar].n}, note {event.number}"


def _nothing_sounds(tone: WrittenTone, instrument: Instrument) -> str:
    on = f"on the {instrument.name}"
    if tone.touched is None:
        return f"{helmholtz(tone.lowest.pitch)} is no natural harmonic {on}"
    touched = helmholtz(tone.touched.pitch)
    if tone.stopped is None:
        return f"no string has a node where {touched} is touched {on}"
    stopped = helmholtz(tone.stopped.pitch)
    return f"{touched} touched over {stopped} sounds no harmonic {on}"


def _fault(decision: Decision, message: str, remedy: str) -> Fault:
    filed = decision.filed
    return Fault(filed.origins.at("music"), message, remedy, place_in_words(filed.record.place))
