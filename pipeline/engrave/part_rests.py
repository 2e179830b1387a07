"""Where the player rests: silence at the ends of a line, and bars of rest joined into one sign.

In comes the part's own score; silence is counted in quarter notes from its events as READ reads
them, so that a meter, an upbeat or a bar of odd length counts as what it is.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction

from lxml import etree

from pipeline.engrave.mei_tree import XML_ID, local, mei
from pipeline.layers.sheet import make, remove
from pipeline.score.bars import Printed, ScoreReader
from pipeline.score.durations import quarters_of
from pipeline.score.mei_names import Element, amount, whole_number
from pipeline.score.trouble import Trouble

_NOTHING_WRITTEN = frozenset({"mRest", "rest", "space", "mSpace"})
_AT_THE_BEGINNING = frozenset({"tempo", "reh"})


@dataclass(frozen=True)
class BarSilence:
    """One bar: its printed number, its length, and for how long nothing sounds at its two ends.

    In quarter notes; a bar in which nothing sounds at all is silent from end to end.
    """

    n: str
    length: Fraction
    before: Fraction
    after: Fraction

    @property
    def silent(self) -> bool:
        """Whether nothing sounds in this bar."""
        return self.before >= self.length


@dataclass(frozen=True)
class Bars:
    """The bars of a movement, and which of them (indexes) each measure of the part stands for.

    `joined` tells of a measure that is gone which one stands for it, by xml:id.
    """

    bars: tuple[BarSilence, ...]
    of_measure: dict[str, tuple[int, int]]
    joined: dict[str, str]

    def silence_from(self, first: int, last: int) -> Fraction:
        """For how long the player rests from the beginning of a bar on, up to the last."""
        total = Fraction(0)
        for bar in self.bars[first : last + 1]:
            total += bar.before
            if not bar.silent:
                break
        return total

    def silence_until(self, first: int, last: int) -> Fraction:
        """For how long the player has rested at the end of a bar, counted from the first."""
        total = Fraction(0)
        for bar in reversed(self.bars[first : last + 1]):
            total += bar.after
            if not bar.silent:
                break
        return total


def seconds_per_quarter(score: Element) -> float | None:
    """Return how long a quarter note lasts by the first metronome mark, or None."""
    for tempo in score.iter(mei("tempo")):
        beat = quarters_of(tempo.get("mm.unit", ""), whole_number(tempo.get("mm.dots", "0")) or 0)
        per_minute = amount(tempo.get("mm", ""))
        if beat and per_minute and per_minute > 0:
            return float(60 / (beat * per_minute))
    return None


def join_rests(score: Element) -> Bars:
    """Put one sign for several bars of rest where nothing else is written in them.

    The tree is changed: the first measure stays, with its xml:id, for all of them.
    """
    printed = ScoreReader(score, Trouble("")).read()
    bars = _silences(printed)
    of_measure: dict[str, tuple[int, int]] = {}
    joined: dict[str, str] = {}
    covered = _covered_by_lengths(printed.measures)
    for first, last in _runs(printed, bars, covered):
        measure = printed.measures[first]
        of_measure[measure.get(XML_ID, "")] = (first, last)
        if last > first:
            run = printed.measures[first : last + 1]
            joined |= {one.get(XML_ID, ""): measure.get(XML_ID, "") for one in run[1:]}
            _join(run)
    return Bars(bars, of_measure, joined)


def _silences(printed: Printed) -> tuple[BarSilence, ...]:
    sounding: dict[int, tuple[Fraction, Fraction]] = {}
    for event in printed.events:
        if event.heads:
            begins, ends = sounding.get(event.bar, (event.onset, Fraction(0)))
            end = event.onset + event.duration
            sounding[event.bar] = min(begins, event.onset), max(ends, end)
    made = []
    for bar in printed.bars:
        length = bar.filled
        begins, ends = sounding.get(bar.index, (length, Fraction(0)))
        made.append(BarSilence(bar.n, length, begins, max(length - ends, Fraction(0))))
    return tuple(made)


def _runs(printed: Printed, bars: Sequence[BarSilence], covered: set[int]) -> list[tuple[int, int]]:
    """First and last index of each measure that is printed: runs of rests, or one bar each."""
    runs: list[tuple[int, int]] = []
    for index, measure in enumerate(printed.measures):
        if (
            runs
            and _may_follow(printed.measures[index - 1], measure)
            and all(
                bars[one].silent
                and one not in covered
                and bars[one].length == printed.bars[one].length
                and _is_bare(printed.measures[one], first=one == runs[-1][0])
                for one in (runs[-1][0], index)
            )
        ):
            runs[-1] = (runs[-1][0], index)
        else:
            runs.append((index, index))
    return runs


def _may_follow(before: Element, measure: Element) -> bool:
    """Whether nothing stands between two bars: no change of signature, no special bar line."""
    return (
        measure.getprevious() is before
        and before.get("right", "single") == "single"
        and measure.get("left", "single") == "single"
    )


def _is_bare(measure: Element, first: bool) -> bool:
    """Whether a bar holds rests and nothing else; the first of a run may have a tempo."""
    for child in measure.iterchildren(etree.Element):
        name = local(child)
        if name == "staff":
            held = (e for layer in child.iter(mei("layer")) for e in layer)
            if any(local(e) not in _NOTHING_WRITTEN or len(e) or e.get("fermata") for e in held):
                return False
        elif not (first and name in _AT_THE_BEGINNING and _stands_at_one(child)):
            return False
    return True


def _stands_at_one(sign: Element) -> bool:
    return sign.get("tstamp", "1") in {"1", "1.0", "0"} and not sign.get("startid")


def _covered_by_lengths(measures: Sequence[Element]) -> set[int]:
    """The bars that a sign counted in bars (`tstamp2`) reaches over: they must stay."""
    found: set[int] = set()
    for index, measure in enumerate(measures):
        for sign in measure.iterchildren(etree.Element):
            written = sign.get("tstamp2", "")
            if "m" in written and written.partition("m")[0].strip().isdecimal():
                count = int(written.partition("m")[0])
                found.update(range(index, index + count + 1) if count else ())
    return found


def _join(measures: Sequence[Element]) -> None:
    first, *others = measures
    for layer in list(first.iter(mei("layer"))):
        for child in list(layer):
            layer.remove(child)
    layers = list(first.iter(mei("layer")))
    layers[0].append(make("multiRest", num=str(len(measures))))
    for layer in layers[1:]:
        remove(layer)
    if others[-1].get("right"):
        first.set("right", others[-1].get("right", ""))
    for measure in others:
        remove(measure)
