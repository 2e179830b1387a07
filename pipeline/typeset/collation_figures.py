"""The figures of a collation: how much was compared, what differs how often, what was set aside."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass

from markupsafe import Markup

from pipeline.collation.beside import Beside, Obstacle
from pipeline.collation.collated import BarChange, BarDifference, Collation, Departure, SetAside
from pipeline.collation.model import DifferenceKind
from pipeline.score.model import Passage, Score
from pipeline.typeset.collation_views import CountRow, CountTable, OverviewRow
from pipeline.typeset.remarks import roman
from pipeline.typeset.wording import Wording

Collations = Mapping[tuple[str, int], Collation]
Counts = Mapping[tuple[str, int], Mapping[SetAside, int]]
_SEMITONES_OF_OCTAVE = 12


@dataclass(frozen=True)
class CollationFigures:
    """Sets out the figures of a collation in one language; witnesses in the order of `sigla`."""

    score: Score
    sigla: Sequence[str]
    wording: Wording

    def overview(
        self, collations: Collations, departures: Iterable[Departure]
    ) -> tuple[OverviewRow, ...]:
        """Return a row for each witness and movement that is encoded."""
        open_ones = Counter(
            (siglum, one.movement) for one in departures if one.open for siglum in one.witnesses
        )
        texts = {movement.n: movement.passage for movement in self.score.movements}
        rows = []
        for siglum in self.sigla:
            for movement, text in texts.items():
                collation = collations.get((siglum, movement))
                if collation is not None:
                    row = self._row(collation, text, open_ones[siglum, movement])
                    rows.append(row)
        return tuple(rows)

    def kinds(self, departures: Iterable[Departure]) -> CountTable:
        """Return how often the witnesses depart, by kind; a departure is one for each of them."""
        counts: dict[str, Counter[str]] = {}
        for one in departures:
            counts.setdefault(kind_of(one), Counter()).update(one.witnesses)
        kinds = (*BarChange, *DifferenceKind)
        return self._table("kinds", "collation.kinds", counts, [kind.value for kind in kinds])

    def set_aside(self, counted: Counts) -> CountTable:
        """Return how often notation differs without another meaning, by kind."""
        counts: dict[str, Counter[str]] = {}
        for (siglum, _), found in counted.items():
            for kind, n in found.items():
                counts.setdefault(kind.name, Counter())[siglum] += n
        names = [kind.name for kind in SetAside]
        return self._table("set_aside", "collation.set_aside", counts, names)

    def _table(
        self, caption: str, section: str, counts: Mapping[str, Counter[str]], order: Sequence[str]
    ) -> CountTable:
        rows = [
            CountRow(
                self.wording.say(f"{section}.{name}"),
                (*(counts[name][siglum] for siglum in self.sigla), counts[name].total()),
            )
            for name in order
            if name in counts
        ]
        return CountTable(
            self.wording.say(f"collation.captions.{caption}"), tuple(self.sigla), tuple(rows)
        )

    def _row(self, collation: Collation, text: Passage, still_open: int) -> OverviewRow:
        beside, siglum = collation.beside, Markup.escape(collation.siglum)
        movement = roman(collation.movement)
        if beside.obstacle is not None:
            return OverviewRow(siglum, movement, (), (self._obstacle(beside, beside.obstacle),))
        paired = {p.text for p in beside.pairs if p.text is not None and p.reading is not None}
        notes = sum(
            len(event.heads)
            for event in text.events
            if event.bar in paired and event.staff in beside.staves
        )
        of = self.wording.say("collation.of", n=len(paired), all=str(len(text.bars)))
        cells = (
            of.striptags(),
            str(notes),
            self._share(beside.likeness),
            str(len(collation.differences) + len(collation.bars)),
            str(still_open),
        )
        return OverviewRow(siglum, movement, cells, tuple(self._besides(beside, text)))

    def _share(self, share: float) -> str:
        written = self.wording.number(100 * share, 1)
        return self.wording.say("collation.share", share=written).striptags()

    def _obstacle(self, beside: Beside, obstacle: Obstacle) -> Markup:
        share = self._share(beside.likeness)
        return self.wording.say(f"collation.obstacles.{obstacle.name}", share=share)

    def _besides(self, beside: Beside, text: Passage) -> Iterator[Markup]:
        names = {
            staff.n: Markup.escape(staff.label) or self.wording.say("place.staff", n=staff.n)
            for staff in text.staves
        }
        for staff, shift in beside.shifts.items():
            way = self.wording.say(f"collation.ways.{'higher' if shift.semitones > 0 else 'lower'}")
            octaves, rest = divmod(abs(shift.semitones), _SEMITONES_OF_OCTAVE)
            key, n = ("shift", abs(shift.semitones)) if rest else ("octave_shift", octaves)
            yield self.wording.say(f"collation.{key}", n=n, staff=names[staff], way=way)
        if beside.missing_staves:
            staves = self.wording.listed(dict.fromkeys(names[n] for n in beside.missing_staves))
            yield self.wording.say("collation.missing_staves", staves=staves)
        if beside.further_staves:
            yield self.wording.say("collation.further_staves", n=len(beside.further_staves))


def kind_of(departure: Departure) -> str:
    """Return the kind of a departure as the wording names it."""
    first = departure.differences[0]
    if isinstance(first, BarDifference):
        return first.change.value
    return first.kind.value
