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

DARKEST = 0x98
"""The grey of full agreement, as an sRGB value: black figures on it have a contrast of 7 to 1.

That is the enhanced contrast of WCAG 2.1, 1.4.6, for figures are small here.
"""

_WHITE = 0xFF
_TABLE_MM = 133.0
_SIGLUM_MM = 10.0
_WIDEST_MM = 24.0
_KIND_MM = 33.0
_WIDEST_COUNT_MM = 14.0
_WIDEST_PAIR_COUNT_MM = 21.0
_LEAST_COUNT_MM = 8.0
_FIGURE_MM = 1.5
"""The width of a figure in the table by kind."""

_SIZES = ((6, "plain", 1.35), (9, "small", 1.28), (10**6, "tiny", 1.1))
"""Up to how many sources which size of figures holds, and how wide a small one is (mm)."""


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
    pair_count_mm: float


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
    pairs = _pairs_that_fit(agreement)
    size, figure_mm = next((name, mm) for below, name, mm in _SIZES if len(sigla) < below)
    pair_mm = min(_WIDEST_MM, (_TABLE_MM - _SIGLUM_MM) / len(sigla))
    room = int((pair_mm - 1) / figure_mm)
    different = bool(agreement.units)
    notes = [say("agreement.held")] if different else []
    if not_encoded:
        names = wording.listed(_siglum(siglum) for siglum in not_encoded)
        notes.append(say("agreement.not_encoded", n=len(not_encoded), sigla=names))
    return AgreementView(
        heading=say("agreement.heading"),
        lead=_lead(agreement, wording),
        note=Markup(" ").join(notes),
        size=size,
        sigla=sigla,
        pairs_caption=say("agreement.pairs_caption"),
        pairs=tuple(_pair_row(s, agreement, room, wording) for s in sigla) if different else (),
        pair_mm=pair_mm,
        kinds_caption=say("agreement.kinds_caption" if pairs else "agreement.kinds_alone_caption"),
        departures_heading=say("agreement.departures"),
        agreements_heading=say("agreement.agreements") if pairs else Markup(""),
        kind_heading=say("agreement.kind"),
        pair_headings=tuple(Markup("{}–{}").format(*pair) for pair in pairs),
        kinds=tuple(_kind_row(kind, agreement, pairs, wording) for kind in agreement.kinds),
        totals=_totals(agreement, pairs, wording) if different else (),
        count_mm=_count_mm(len(sigla)),
        pair_count_mm=_pair_count_mm(len(sigla), len(pairs)) if pairs else 0.0,
    )


def _pairs_that_fit(agreement: Agreement) -> list[tuple[str, str]]:
    """Return all pairs where each can have a column in the table by kind, else none."""
    pairs = list(agreement.pairs)
    longest = max(len(_counts(tally)) for tally in agreement.pairs.values())
    room = _pair_count_mm(len(agreement.witnesses), len(pairs))
    return pairs if (longest + 1) * _FIGURE_MM <= room else []


def _count_mm(sources: int) -> float:
    least = (_TABLE_MM - _KIND_MM) / sources
    return min(_WIDEST_COUNT_MM, least if sources > 4 else max(_LEAST_COUNT_MM, least / 3))


def _pair_count_mm(sources: int, pairs: int) -> float:
    left = _TABLE_MM - _KIND_MM - sources * _count_mm(sources)
    return min(_WIDEST_PAIR_COUNT_MM, left / pairs)


def grey(share: float) -> str:
    """Return the grey of a share of agreements as a CSS colour: white for none, dark for all."""
    value = round(_WHITE - share * (_WHITE - DARKEST))
    return f"#{value:02x}{value:02x}{value:02x}"


def _lead(agreement: Agreement, wording: Wording) -> Markup:
    names = wording.listed(_siglum(siglum) for siglum in agreement.witnesses)
    if not agreement.units:
        return wording.say("agreement.none", sigla=names)
    return wording.say("agreement.lead", n=len(agreement.units), sigla=names)


def _pair_row(siglum: str, agreement: Agreement, room: int, wording: Wording) -> PairRow:
    """Return a source's row; `room` is for how many small figures a cell is wide enough."""
    return PairRow(
        siglum,
        tuple(
            PairCell(str(agreement.singular[siglum]), wording.say("agreement.alone"), "")
            if other == siglum
            else _pair_cell(agreement.pair(siglum, other), room)
            for other in agreement.witnesses
        ),
    )


def _pair_cell(tally: Tally, room: int) -> PairCell:
    if tally.share is None:
        return PairCell("–", Markup(""), "")
    counts = _counts(tally)
    below = Markup(counts if len(counts) <= room else counts.replace("/", "/<br>"))
    return PairCell(str(_percent(tally)), below, grey(tally.share))


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
