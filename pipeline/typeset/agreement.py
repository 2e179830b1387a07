"""How the sources agree, worded: a table of sources by sources in greys, and a table by kind.

In comes the agreement of the encoded witnesses; out goes a view for the commentary and for the page
of the collation. The figures are printed on the greys, which only help the eye.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from markupsafe import Markup

from pipeline.collation.agreement import Agreement, Kind, Tally
from pipeline.typeset.wording import Wording

DARKEST = 0x8C
"""The grey of full agreement, as an sRGB value; black figures on it have a contrast of 6 to 1."""

_WHITE = 0xFF
_PAIRS_THAT_FIT = 6
"""So many pairs of sources have a column each in the table by kind: those of four sources."""

_TABLE_MM = 133.0
_SIGLUM_MM = 10.0
_WIDEST_MM = 24.0
_KIND_MM = 33.0
_WIDEST_COUNT_MM = 22.0
_SMALL, _TINY = 6, 9
"""From so many sources on the figures are set smaller."""


@dataclass(frozen=True)
class PairCell:
    """What a cell of sources by sources says: a figure, a smaller one below it, and its grey.

    `grey` is a CSS colour, empty for the diagonal and for pairs that have no place in common.
    """

    figure: str
    below: Markup
    grey: str


@dataclass(frozen=True)
class PairRow:
    """A source's agreement with every source."""

    siglum: str
    cells: tuple[PairCell, ...]


@dataclass(frozen=True)
class KindRow:
    """A kind of difference: how often each source has it, and how often two have it alike."""

    name: Markup
    departures: tuple[str, ...]
    pairs: tuple[str, ...]


@dataclass(frozen=True)
class AgreementView:
    """Both tables with their captions; widths in mm, `size` a class for the size of the figures."""

    heading: Markup
    lead: Markup
    note: Markup
    size: str
    sigla: tuple[str, ...]
    pairs_caption: Markup
    pairs: tuple[PairRow, ...]
    pair_mm: float
    kinds_caption: Markup
    departures_heading: Markup
    agreements_heading: Markup
    kind_heading: Markup
    pair_headings: tuple[Markup, ...]
    kinds: tuple[KindRow, ...]
    totals: tuple[KindRow, ...]
    count_mm: float


def agreement_view(
    agreement: Agreement, wording: Wording, not_encoded: Sequence[str] = ()
) -> AgreementView | None:
    """Return the tables, without rows where nothing differs; None for fewer than two sources.

    `not_encoded` are the sigla of the sources that cannot appear.
    """
    sigla = agreement.witnesses
    if len(sigla) < 2:
        return None
    say = wording.say
    pairs = list(agreement.pairs) if len(agreement.pairs) <= _PAIRS_THAT_FIT else []
    different = bool(agreement.units)
    notes = [say("agreement.held")] if different else []
    if not_encoded:
        names = wording.listed(_siglum(siglum) for siglum in not_encoded)
        notes.append(say("agreement.not_encoded", n=len(not_encoded), sigla=names))
    columns = len(sigla) + len(pairs)
    return AgreementView(
        heading=say("agreement.heading"),
        lead=_lead(agreement, wording),
        note=Markup(" ").join(notes),
        size="tiny" if len(sigla) >= _TINY else "small" if len(sigla) >= _SMALL else "plain",
        sigla=sigla,
        pairs_caption=say("agreement.pairs_caption"),
        pairs=tuple(_pair_row(s, agreement, wording) for s in sigla) if different else (),
        pair_mm=min(_WIDEST_MM, (_TABLE_MM - _SIGLUM_MM) / len(sigla)),
        kinds_caption=say("agreement.kinds_caption" if pairs else "agreement.kinds_alone_caption"),
        departures_heading=say("agreement.departures"),
        agreements_heading=say("agreement.agreements") if pairs else Markup(""),
        kind_heading=say("agreement.kind"),
        pair_headings=tuple(Markup("{}–{}").format(*pair) for pair in pairs),
        kinds=tuple(_kind_row(kind, agreement, pairs, wording) for kind in agreement.kinds),
        totals=_totals(agreement, pairs, wording) if different else (),
        count_mm=min(_WIDEST_COUNT_MM, (_TABLE_MM - _KIND_MM) / columns),
    )


def grey(share: float) -> str:
    """Return the grey of a share of agreements as a CSS colour: white for none, dark for all."""
    value = round(_WHITE - share * (_WHITE - DARKEST))
    return f"#{value:02x}{value:02x}{value:02x}"


def _lead(agreement: Agreement, wording: Wording) -> Markup:
    names = wording.listed(_siglum(siglum) for siglum in agreement.witnesses)
    if not agreement.units:
        return wording.say("agreement.none", sigla=names)
    return wording.say("agreement.lead", n=len(agreement.units), sigla=names)


def _pair_row(siglum: str, agreement: Agreement, wording: Wording) -> PairRow:
    return PairRow(
        siglum,
        tuple(
            PairCell(str(agreement.singular[siglum]), wording.say("agreement.alone"), "")
            if other == siglum
            else _pair_cell(agreement.pair(siglum, other))
            for other in agreement.witnesses
        ),
    )


def _pair_cell(tally: Tally) -> PairCell:
    if tally.share is None:
        return PairCell("–", Markup(""), "")
    return PairCell(f"{_percent(tally)}", Markup(_counts(tally)), grey(tally.share))


def _percent(tally: Tally) -> int:
    """Return the share in whole per cent; 100 and 0 only where it is all or none."""
    if tally.agreements in (0, tally.units):
        return 100 if tally.agreements else 0
    return min(99, max(1, round(100 * tally.agreements / tally.units)))


def _counts(tally: Tally) -> str:
    return f"{tally.agreements}/{tally.units}"


def _kind_row(
    kind: Kind, agreement: Agreement, pairs: Sequence[tuple[str, str]], wording: Wording
) -> KindRow:
    tallies = [agreement.pairs_by_kind[pair].get(kind, Tally()) for pair in pairs]
    return KindRow(
        wording.say(f"collation.kinds.{kind.value}"),
        tuple(str(agreement.departures[s].get(kind, 0)) for s in agreement.witnesses),
        tuple(_counts(tally) if tally.units else "–" for tally in tallies),
    )


def _totals(
    agreement: Agreement, pairs: Sequence[tuple[str, str]], wording: Wording
) -> tuple[KindRow, ...]:
    sigla, say = agreement.witnesses, wording.say
    tallies = [agreement.pairs[pair] for pair in pairs]
    departing = [sum(agreement.departures[s].values()) for s in sigla]
    return (
        KindRow(
            say("agreement.all_kinds"),
            tuple(map(str, departing)),
            tuple(_counts(tally) if tally.units else "–" for tally in tallies),
        ),
        KindRow(
            say("agreement.places"),
            tuple(str(agreement.held[s]) for s in sigla),
            tuple("" for _ in pairs),
        ),
    )


def _siglum(siglum: str) -> Markup:
    return Markup('<b class="siglum">{}</b>').format(siglum)
