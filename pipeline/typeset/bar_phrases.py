"""Phrases for whole bars of a place that one side lacks: "bar 22 lacking", "a bar more"."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from markupsafe import Markup

from pipeline.collation.bars import bars_of, last_bar, lies_in_added_bars
from pipeline.collation.beside import Beside
from pipeline.collation.model import Comparison, Difference
from pipeline.score.model import Span
from pipeline.typeset.places import Locator
from pipeline.typeset.wording import Wording


@dataclass(frozen=True)
class BarsApart:
    """Bars of a place that a witness lacks, and bars of the witness that the text lacks.

    `lacking` are bars of the text in a row, run by run; `added` are how many bars the witness has
    more, by the bar of the text before them, -1 before the first.
    """

    lacking: tuple[tuple[int, ...], ...] = ()
    added: tuple[tuple[int, int], ...] = ()

    def holds(self, difference: Difference, beside: Beside | None) -> bool:
        """Return whether a difference is nothing but what one of these bars holds."""
        if beside is None:
            return False
        if not difference.reading.empty:
            return bool(self.added) and lies_in_added_bars(difference, beside)
        lacking = {bar for run in self.lacking for bar in run}
        last = last_bar(difference.start, difference.end)
        return all(bar in lacking for bar in range(difference.start.bar, last + 1))

    def said(self, locator: Locator) -> Iterator[Markup]:
        """Yield a phrase for each run of bars."""
        wording, numbers = locator.wording, [bar.n for bar in locator.passage.bars]
        for run in self.lacking:
            what = bar_names([numbers[bar] for bar in run], wording)
            yield wording.say("differences.lacking", n=len(run), what=what)
        for after, count in self.added:
            before = wording.say("collation.before_first")
            if after >= 0:
                before = wording.say("place.bar", bar=numbers[after])
            yield wording.say("differences.more_bars", n=count, after=before)


def bars_apart(comparison: Comparison, span: Span) -> BarsApart:
    """Return the bars of a place that only one side has; none where no encoding is compared.

    Bars that are added follow whole bars, so that a place of single notes has none.
    """
    beside = comparison.version.beside
    if beside is None:
        return BarsApart()
    bars = bars_of(span)
    lacking = [bar for bar in bars if bar in beside.reading_bar and beside.reading_bar[bar] is None]
    added = []
    for bar in bars if span.whole_bars else ():
        pairs = beside.with_added.get(bar, ())
        at = next((n for n, pair in enumerate(pairs) if pair.text is not None), 0)
        for after, some in ((bar - 1, pairs[:at]), (bar, pairs[at + 1 :])):
            if some:
                added.append((after, len(some)))
    return BarsApart(tuple(_runs(lacking)), tuple(added))


def bar_names(numbers: Sequence[str], wording: Wording) -> Markup:
    """Return one bar or several in a row, by their printed numbers."""
    if len(numbers) == 1:
        return wording.say("place.bar", bar=numbers[0])
    return wording.say("collation.bars_shown", bars=f"{numbers[0]}–{numbers[-1]}")


def _runs(bars: Sequence[int]) -> Iterator[tuple[int, ...]]:
    run: list[int] = []
    for bar in bars:
        if run and bar != run[-1] + 1:
            yield tuple(run)
            run = []
        run.append(bar)
    if run:
        yield tuple(run)
