"""Ways to sound pitches as the rows of tables, for a person at the desk: ways in, words out."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from pipeline.score.model import Pitch
from pipeline.score.pitch_names import scientific
from pipeline.strings.harmonic_path import Through
from pipeline.strings.harmonic_ways import Ease, Way
from pipeline.strings.positions import position_name

Row = tuple[str, ...]

WAY_HEADINGS: Row = (
    "string", "touched", "stopped", "at", "node", "partial", "cents", "touch cents", "stopped mm",
    "touched mm", "span mm", "position", "fingers", "reached by",
)  # fmt: skip

STEP_HEADINGS: Row = (
    "string", "touched", "stopped", "at", "fingers", "span mm", "hand at mm", "moved mm",
)  # fmt: skip


def way_row(way: Way) -> Row:
    """Return one way in the columns of `WAY_HEADINGS`; lengths from the nut in mm."""
    return (
        way.string.step,
        way.interval,
        "" if way.stopped is None else scientific(way.stopped),
        scientific(way.touched),
        str(way.node),
        str(way.partial),
        _signed(way.deviation_cents),
        _signed(way.touch_cents),
        "" if way.natural else f"{way.stopped_mm:.0f}",
        f"{way.touched_mm:.0f}",
        "" if way.natural else f"{way.span_mm:.0f}",
        "" if way.position is None else position_name(way.position),
        _fingers(way),
        str(way.ease),
    )


def step_rows(through: Through) -> tuple[Row, ...]:
    """Return each step of a way through a passage in the columns of `STEP_HEADINGS`."""
    return tuple(
        (
            step.way.string.step,
            step.way.interval,
            "" if step.way.stopped is None else scientific(step.way.stopped),
            scientific(step.way.touched),
            "-".join(step.fingers),
            "" if step.way.natural else f"{step.way.span_mm:.0f}",
            f"{step.place_mm:.0f}",
            f"{step.moved_mm:.0f}" if step.moved_mm else "",
        )
        for step in through.steps
    )


def summary(through: Through) -> str:
    """Return what the way through asks of the hand, in one line."""
    spans = f"spans {through.narrowest_mm:.0f} to {through.widest_mm:.0f} mm"
    return "; ".join(
        (
            f"{_counted(through.moves, 'move')} of the hand, {through.travel_mm:.0f} mm in all",
            spans if through.widest_mm else "no span",
            _counted(through.string_changes, "change") + " of string",
        )
    )


def needs_caution(ways: Iterable[Way]) -> bool:
    """Return whether some way is for wide hands, so that the caution belongs below the table."""
    return any(way.ease is Ease.WIDE for way in ways)


def no_way(sounding: Pitch, strings: Sequence[Pitch]) -> str:
    """Return why a pitch has no harmonic: the lowest is the octave of the lowest string."""
    lowest = strings[-1]
    octave = Pitch(lowest.step, lowest.alter, lowest.octave + 1)
    if sounding.midi < octave.midi:
        return (
            f"{scientific(sounding)} is not sounded by any harmonic: the lowest is "
            f"{scientific(octave)}, the octave of the open {lowest.step} string"
        )
    return f"{scientific(sounding)} is not sounded by any harmonic of these strings"


def _fingers(way: Way) -> str:
    if way.natural:
        return f"{way.fingers[0][0]}–{way.fingers[-1][0]}" if way.fingers else ""
    return ", ".join("-".join(pair) for pair in way.fingers[:3])


def _signed(cents: float) -> str:
    rounded = round(cents, 1) + 0.0
    return "0" if rounded == 0 else f"{rounded:+.1f}".replace("-", "−")


def _counted(n: int, one: str) -> str:
    return f"{n} {one}" if n == 1 else f"{n} {one}s"
