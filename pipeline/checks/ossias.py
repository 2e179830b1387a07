"""Rules about music that stands above the text: ossias and traditions fit the bars they replace."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from fractions import Fraction
from itertools import zip_longest

from pipeline.checks.material import Material
from pipeline.checks.rule import Fault
from pipeline.checks.wording import counted, moment_in_words, number, place_in_words
from pipeline.collation.bars import bars_of
from pipeline.collation.model import Decision, Version
from pipeline.edition.records import Ossia, Tradition
from pipeline.score.model import Bar, Event, Marking, Moment, Passage, Pitch
from pipeline.score.pitch_names import helmholtz
from pipeline.strings.harmonics import sounding
from pipeline.strings.instruments import INSTRUMENTS, Instrument
from pipeline.strings.string_words import strings_named

Tones = tuple[frozenset[int], ...]
Struck = dict[tuple[int, Fraction], tuple[Tones, Fraction]]
"""By bar of the place (from 0) and onset: what sounds (MIDI semitones), and for how long."""

_CHROMATIC = (
    ("C", 0), ("C", 1), ("D", 0), ("E", -1), ("E", 0), ("F", 0),
    ("F", 1), ("G", 0), ("G", 1), ("A", 0), ("B", -1), ("B", 0),
)  # fmt: skip


def ossia_of_another_length(material: Material) -> Iterator[Fault]:
    """An ossia or tradition whose bars are not as long as those they replace.

    It cannot be played in their place, and nothing stands above the right note.
    """
    for decision, version in _with_music(material):
        text = material.texts[decision.span.movement]
        bars = [text.bars[index] for index in bars_of(decision.span)]
        other = [version.passage.bars[index] for index in version.bars]
        kind = decision.filed.record.kind
        if len(bars) != len(other):
            message = (
                f"the {kind} has {counted(len(other), 'bar')}, "
                f"the place that it stands above has {len(bars)}"
            )
        else:
            lengths = [
                f"bar {a.n} lasts {_length(a.filled, a)} in the text, {_length(b.filled, a)} in "
                f"the {kind}"
                for a, b in zip(bars, other, strict=True)
                if a.filled != b.filled
            ]
            message = "; ".join(lengths)
        if message:
            yield _fault(
                decision,
                ("music",),
                message,
                f"Correct the notes in `{version.passage.file}`, or the place of the record.",
            )


def ossia_that_sounds_different(material: Material) -> Iterator[Fault]:
    """An ossia that claims to sound as the text does, and does not.

    A player who chooses it would play other notes than the composer's without knowing.
    """
    instrument = INSTRUMENTS.get(material.edition.head.edited_staff.instrument)
    if instrument is None:
        return
    for decision, version in _with_music(material):
        record = decision.filed.record
        if not isinstance(record, Ossia) or record.sounds != "same":
            continue
        text = material.texts[decision.span.movement]
        bars = bars_of(decision.span)
        found = list(
            _heard_differently(
                _struck(text, decision.span.staff, bars, instrument),
                _struck(version.passage, version.staff, version.bars, instrument),
                text,
                bars,
            )
        )
        if found:
            more = f"; and {counted(len(found) - 3, 'more place')}" if len(found) > 3 else ""
            yield _fault(
                decision,
                ("sounds",),
                f"the ossia is said to sound as the text does, but {'; '.join(found[:3])}{more}",
                "Correct the notes of the ossia, or write `sounds: different`.",
            )


def _with_music(material: Material) -> Iterator[tuple[Decision, Version]]:
    for decision in material.decisions:
        is_above = isinstance(decision.filed.record, Ossia | Tradition)
        if is_above and decision.music is not None:
            yield decision, decision.music


def _length(quarters: Fraction, bar: Bar) -> str:
    """Return `4 quarter notes (4 beats)`; beats are those of the text's bar."""
    beats = quarters / bar.beat
    words = f"{number(quarters)} quarter note{'' if quarters == 1 else 's'}"
    return f"{words} ({number(beats)} beat{'' if beats == 1 else 's'})"


def _struck(passage: Passage, staff: int, bars: Iterable[int], instrument: Instrument) -> Struck:
    """Return what is struck when; a tied note is struck once and lasts as long as all of it."""
    found: Struck = {}
    bars = tuple(bars)
    notes = [e for bar in bars for e in passage.events_in.get((staff, bar), ()) if e.heads]
    named = strings_named(notes, _signs(passage, staff, bars), instrument)
    for position, bar in enumerate(bars):
        held: tuple[int, Fraction] | None = None
        for event in sorted(
            (e for e in passage.events_in.get((staff, bar), ()) if e.heads and not e.grace),
            key=lambda e: (e.voice, e.onset),
        ):
            at = (position, event.onset)
            if held is not None and _only_prolongs(event):
                tones, lasted = found[held]
                found[held] = tones, lasted + event.duration
                continue
            tones, lasted = found.get(at, ((), Fraction(0)))
            heard = sounding(event, instrument, named.get(event.xml_id))
            together = sorted((*tones, *heard), key=_lowest)
            found[at] = tuple(together), max(lasted, event.duration)
            held = at
    return found


def _signs(passage: Passage, staff: int, bars: Iterable[int]) -> Iterable[Marking]:
    found = (m for bar in bars for m in passage.markings_in.get((staff, bar), ()))
    return {marking.xml_id: marking for marking in found}.values()


def _only_prolongs(event: Event) -> bool:
    return all(head.tie in {"m", "t"} for head in event.heads)


def _lowest(tone: frozenset[int]) -> int:
    return min(tone, default=0)


def _heard_differently(
    text: Struck, other: Struck, passage: Passage, bars: tuple[int, ...]
) -> Iterator[str]:
    for position, onset in sorted(text.keys() | other.keys()):
        at = moment_in_words(passage, Moment(bars[min(position, len(bars) - 1)], onset))
        ours, ours_last = text.get((position, onset), ((), Fraction(0)))
        theirs, theirs_last = other.get((position, onset), ((), Fraction(0)))
        if not _same(ours, theirs):
            yield f"at {at} the text sounds {_tones(ours)}, the ossia {_tones(theirs)}"
        elif ours_last != theirs_last:
            yield (
                f"at {at} it lasts {number(theirs_last)} instead of {number(ours_last)} "
                "quarter notes"
            )


def _same(ours: Tones, theirs: Tones) -> bool:
    return all(a is not None and b is not None and a & b for a, b in zip_longest(ours, theirs))


def _tones(tones: Tones) -> str:
    if not tones:
        return "nothing"
    return " and ".join(
        " or ".join(_name(midi) for midi in sorted(tone)) or "no harmonic" for tone in tones
    )


def _name(midi: int) -> str:
    step, alter = _CHROMATIC[midi % 12]
    return helmholtz(Pitch(step, alter, midi // 12 - 1))


def _fault(decision: Decision, path: tuple[str, ...], message: str, remedy: str) -> Fault:
    filed = decision.filed
    return Fault(filed.origins.at(*path), message, remedy, place_in_words(filed.record.place))
