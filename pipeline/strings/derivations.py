"""Music that is computed from what the text sounds: the name of a derivation in, harmonics out.

`touched fifth` and its siblings ask for one kind of stopped harmonic, `natural where possible` and
`best for …` for the way through the passage that serves that aim.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from pipeline.score.pitch_names import helmholtz
from pipeline.strings.harmonic_passage import SoundingNote
from pipeline.strings.harmonic_path import Aim, Step, way_through
from pipeline.strings.harmonic_ways import INTERVALS, Ease, Way, ways
from pipeline.strings.instruments import Instrument


@dataclass(frozen=True)
class Derivation:
    """What is asked of every note (an interval, or any way at all) and of the whole passage."""

    interval: str
    aim: Aim

    def allows(self, way: Way) -> bool:
        """Return whether a way is of the kind that is asked for."""
        return self.interval in ("", way.interval)


DERIVATIONS: Mapping[str, Derivation] = {
    **{f"touched {name}": Derivation(name, Aim.LEAST_TRAVEL) for name in INTERVALS.values()},
    "natural where possible": Derivation("", Aim.NATURAL),
    **{
        f"best for {aim}": Derivation("", aim)
        for aim in (Aim.SMALLEST_STRETCH, Aim.BRILLIANCE, Aim.FEWEST_MOVES)
    },
}
"""The derivations a record may name."""


@dataclass(frozen=True)
class Underivable:
    """A note that the derivation does not reach: what is in its way, and the ways there are."""

    note: SoundingNote
    why: str
    others: tuple[Way, ...]


def derived(
    notes: Sequence[SoundingNote], name: str, instrument: Instrument
) -> tuple[Step, ...] | tuple[Underivable, ...]:
    """Return one step a note, or every note that the derivation does not reach.

    Raises KeyError for a name that is none of `DERIVATIONS`.
    """
    derivation = DERIVATIONS[name]
    offered: list[tuple[Way, ...]] = []
    missing: list[Underivable] = []
    for note in notes:
        found = () if note.pitch is None else ways(note.pitch, instrument)
        fitting = tuple(way for way in found if derivation.allows(way))
        offered.append(fitting)
        if not any(way.ease.possible for way in fitting):
            others = tuple(way for way in found if way.ease.possible)
            missing.append(Underivable(note, _why(note, name, fitting, instrument), others))
    if missing:
        return tuple(missing)
    through = way_through(offered, instrument, derivation.aim)
    assert through is not None
    return through.steps


def way_in_words(way: Way) -> str:
    """Return `touched fourth a–d′ on G (73 mm)` or `natural a′ on D`."""
    touched = helmholtz(way.touched)
    if way.stopped is None:
        return f"natural {touched} on {way.string.step}"
    return (
        f"touched {way.interval} {helmholtz(way.stopped)}–{touched} on {way.string.step} "
        f"({way.span_mm:.0f} mm)"
    )


def _why(note: SoundingNote, name: str, fitting: Iterable[Way], instrument: Instrument) -> str:
    if note.pitch is None:
        return note.unclear
    what = f"as a {name}" if name.startswith("touched") else "as a harmonic"
    message = f"{helmholtz(note.pitch)} cannot be sounded {what} on the {instrument.name}"
    least = min(
        (way for way in fitting if way.ease is Ease.OUT_OF_REACH),
        key=lambda way: way.span_mm,
        default=None,
    )
    if least is not None:
        return f"{message} within reach: it would span {least.span_mm:.0f} mm"
    return message
