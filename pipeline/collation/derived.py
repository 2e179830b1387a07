"""Music that a record derives from the text instead of writing it: a version like any other.

In come the text, the place and the name of the derivation; out goes the version, computed by
`pipeline.strings.derivations` and written in the text's rhythm with its slurs: the stopped note
normal, the touched note as a diamond, a natural harmonic that sounds where it is touched with a
circle.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import groupby

from pipeline.collation.bars import bars_of
from pipeline.collation.model import Version
from pipeline.edition.head import EditionHead
from pipeline.edition.quoting import listed, quoted
from pipeline.edition.suggestions import closest
from pipeline.problems import Origin, Outcome, Problem, error
from pipeline.score.model import Event, Passage, Span
from pipeline.score.rewriting import NewNotes, rewritten
from pipeline.strings.derivations import DERIVATIONS, Underivable, derived, way_in_words
from pipeline.strings.harmonic_passage import SoundingNote, sounding_notes
from pipeline.strings.harmonic_path import Step
from pipeline.strings.harmonics import HARMONIC_SIGN
from pipeline.strings.instruments import INSTRUMENTS, ROMAN, Instrument

_IN_WORDS = 3
"""From so many notes on one string, the string is named by words (as in fingerings)."""


def derived_version(
    name: str, text: Passage, span: Span, head: EditionHead, origin: Origin, prefix: str
) -> Outcome[Version]:
    """Return the version of that derivation, or each note that it does not reach.

    `origin` is where the record names it; every xml:id of the version begins with `prefix`.
    """
    if name not in DERIVATIONS:
        return Outcome(None, (_unknown(name, origin),))
    instrument = INSTRUMENTS.get(head.edited_staff.instrument)
    if instrument is None:
        return Outcome(None)  # the check names unknown instruments
    if span.staff != head.edited_staff.n:
        return Outcome(None, (_other_staff(name, span, head, origin),))
    notes = sounding_notes(span.events, instrument)
    found = derived(notes, name, instrument)
    missing = [one for one in found if isinstance(one, Underivable)]
    if missing or not notes:
        problems = [_impossible(one, name, text, span, origin) for one in missing]
        return Outcome(None, tuple(problems or [_no_notes(name, origin)]))
    steps = [one for one in found if isinstance(one, Step)]
    exchanged = {
        event.xml_id: new
        for note, new in zip(notes, _new_notes(steps, instrument), strict=True)
        for event, new in _tied(note, new)
    }
    passage = rewritten(text, bars_of(span), span.staff, exchanged, prefix)
    bars = tuple(bar.index for bar in passage.bars)
    return Outcome(Version(passage, bars, passage.staves[0].n, "derived"))


def _new_notes(steps: Sequence[Step], instrument: Instrument) -> Iterator[NewNotes]:
    """Yield the notes of each step; strings are named where they change, fingers likewise."""
    held: tuple[str, ...] = ()
    for string, group in groupby(steps, key=lambda step: step.way.string):
        run = list(group)
        in_words = len(run) >= _IN_WORDS
        number = ROMAN[instrument.strings.index(string)]
        words = f"sul {string.step}" if in_words else number
        for step in run:
            fingers = () if step.fingers == held else step.fingers
            held = step.fingers
            way = step.way
            if way.stopped is not None:
                heads = ((way.stopped, ""), (way.touched, "diamond"))
                yield NewNotes(heads, fingers=fingers, words=words)
            elif way.touched == way.sounds:
                yield NewNotes(((way.touched, ""),), HARMONIC_SIGN, fingers, words)
            else:
                yield NewNotes(((way.touched, "diamond"),), fingers=fingers, words=words)
            words = ""


def _tied(note: SoundingNote, new: NewNotes) -> Iterator[tuple[Event, NewNotes]]:
    """Yield the new notes at the note itself and, without its signs, at those tied to it."""
    for number, event in enumerate(note.events):
        yield event, NewNotes(new.heads, new.articulation) if number else new


def _unknown(name: str, origin: Origin) -> Problem:
    near = closest(name, DERIVATIONS)
    return error(
        "derivation-unknown",
        origin,
        f"music cannot be derived by {quoted(name)}",
        f"Did you mean `{near}`?" if near else f"Derivations are {listed([*DERIVATIONS], 'and')}.",
    )


def _other_staff(name: str, span: Span, head: EditionHead, origin: Origin) -> Problem:
    return error(
        "derivation-of-another-staff",
        origin,
        f"{quoted(name)} is reckoned for the {head.edited_staff.instrument} of staff "
        f"{head.edited_staff.n}; the place is on staff {span.staff}",
        "Name a place on the edited staff, or write the notes into a file.",
    )


def _no_notes(name: str, origin: Origin) -> Problem:
    return error(
        "derivation-impossible",
        origin,
        f"there is no note here that {quoted(name)} could be derived from",
        "Correct the place of the record.",
    )


def _impossible(one: Underivable, name: str, text: Passage, span: Span, origin: Origin) -> Problem:
    event = one.note.event
    there_are = "; ".join(way_in_words(way) for way in one.others[:4])
    return error(
        "derivation-impossible",
        origin,
        one.why,
        f"Ways there are: {there_are}."
        if there_are
        else "Leave this note out of the place, or write the notes into a file.",
        f"movement {span.movement}, bar {text.bars[event.bar].n}, note {event.number}",
    )
