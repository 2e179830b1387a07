"""Rules that hold what records say of encoded witnesses against what their encodings have."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Sequence

from pipeline.checks.differences_in_words import bars_in_words, sides_in_words
from pipeline.checks.material import Material
from pipeline.checks.rule import Fault
from pipeline.checks.wording import counted, listed_differences, moment_in_words, place_in_words
from pipeline.collation.bar_signs import KINDS_OF_BARS
from pipeline.collation.collated import BarDifference, Departure
from pipeline.collation.departures import what_differs
from pipeline.collation.differences import differences
from pipeline.collation.model import Comparison, Decision, Difference, DifferenceKind, Version
from pipeline.collation.versions import witness_version
from pipeline.edition.model import Step
from pipeline.edition.records import Emendation, Reading
from pipeline.score.model import Passage, Span
from pipeline.score.resolve import staff_name

_MOST_OPEN = 10
"""Open differences that are told one by one of a witness in a movement; the rest is counted."""

_DRAFT = "apparatus collate EDITION --draft records/new.yaml"


def difference_open(material: Material) -> Iterator[Fault]:
    """A difference of an encoded witness that no record speaks of.

    The reader takes the source for one that has just what is printed.
    """
    open_ones: dict[tuple[str, int], list[Departure]] = defaultdict(list)
    for departure in material.departures:
        if departure.open:
            open_ones[departure.witnesses[0], departure.movement].append(departure)
    for (siglum, movement), departures in open_ones.items():
        path: tuple[Step, ...] = ("witnesses", siglum, "encodings", movement)
        origin = material.edition.head_origins.at(*path)
        for departure in departures[:_MOST_OPEN]:
            yield Fault(
                origin,
                f"{_what(departure, material)}; no record speaks of it",
                f"Write a reading or an emendation, or let `{_DRAFT}` begin it.",
                _where(departure, material),
            )
        rest = len(departures) - _MOST_OPEN
        if rest > 0:
            yield Fault(
                origin,
                f"no record speaks of {counted(rest, 'more difference')} of {siglum}",
                f"`apparatus collate EDITION --open` lists them, `{_DRAFT}` begins their records.",
                f"movement {movement}, further on",
            )


def reading_not_in_witness(material: Material) -> Iterator[Fault]:
    """A reading with notes of its own that the encoding of its witness does not have.

    One of the two is false, and the reader cannot tell which.
    """
    for decision in material.decisions:
        for comparison in decision.comparisons:
            version = comparison.version
            if version.origin == "encoding" or version.hand is not None:
                continue
            for index, siglum in enumerate(version.witnesses):
                has = _in_encoding(siglum, decision, material)
                if has is None:
                    continue
                span, text = decision.span, material.texts[decision.span.movement]
                message = _contradiction(siglum, comparison, has, span, text)
                if message:
                    yield Fault(
                        decision.filed.origins.at(
                            "readings", comparison.variant, "witnesses", index
                        ),
                        message,
                        "Correct the notes of the reading or the encoding; without `music` the "
                        "reading is taken from the encoding. For a later addition name its `hand`.",
                        place_in_words(decision.filed.record.place),
                    )


def described_against_encoding(material: Material) -> Iterator[Fault]:
    """A reading described in words, of a witness whose encoding has just the text there.

    The words tell of a difference that the layered file does not hold.
    """
    for decision in material.decisions:
        record = decision.filed.record
        if not isinstance(record, Reading | Emendation):
            continue
        for number, variant in enumerate(record.readings):
            if not variant.says or variant.hand is not None or variant.music is not None:
                continue
            for index, siglum in enumerate(variant.witnesses):
                if _in_encoding(siglum, decision, material) != ():
                    continue
                if _has_other_bars(siglum, decision, material):
                    continue
                yield Fault(
                    decision.filed.origins.at("readings", number, "witnesses", index),
                    f"a reading of {siglum} is described, but its encoding has at this place what "
                    "the text has",
                    f"Correct the encoding or the place, or move {siglum} to `lemma`. For a later "
                    "addition name its `hand`.",
                    place_in_words(record.place),
                )


def _in_encoding(
    siglum: str, decision: Decision, material: Material
) -> tuple[Difference, ...] | None:
    """Return what a witness's encoding has otherwise in a place; None where it has not the place.

    Of a record on what differs throughout, only what it is about.
    """
    span, record = decision.span, decision.filed.record
    beside = material.besides.get((siglum, span.movement))
    if beside is None or not isinstance(record, Reading | Emendation):
        return None
    text = material.texts[span.movement]
    version = witness_version(text, span, beside, siglum, None)
    if not isinstance(version, Version):
        return None
    found = differences(text, span, version)
    return tuple(d for d in found if record.speaks_of(d.kind, d.change))


def _has_other_bars(siglum: str, decision: Decision, material: Material) -> bool:
    collation = material.collations[siglum, decision.span.movement]
    start, end = decision.span.start.bar, decision.span.end.bar
    return any(start <= bars.at <= end for bars in collation.bars)


def _contradiction(
    siglum: str, comparison: Comparison, has: Sequence[Difference], span: Span, text: Passage
) -> str:
    claimed = {_key(one): one for one in comparison.differences if _counts(one)}
    there = {_key(one): one for one in has if _counts(one)}
    file = comparison.version.passage.file
    lacking = [one for key, one in claimed.items() if key not in there]
    if lacking:
        listed = listed_differences(lacking, text)
        return f"the encoding of {siglum} does not have what `{file}` has here: {listed}"
    besides = [
        one
        for key, one in there.items()
        if key not in claimed and span.start <= one.start and one.end <= span.end
    ]
    if besides:
        listed = listed_differences(besides, text)
        return f"the encoding of {siglum} has here what `{file}` does not have: {listed}"
    return ""


def _counts(difference: Difference) -> bool:
    """Whether a difference is of the music: an accidental may be printed again in a fragment."""
    return difference.kind is not DifferenceKind.ACCIDENTAL


def _key(difference: Difference) -> tuple[object, ...]:
    return (difference.kind, difference.start, *what_differs(difference))


def _what(departure: Departure, material: Material) -> str:
    first = departure.differences[0]
    text = material.texts[departure.movement]
    who = _named(departure.witnesses)
    if isinstance(first, BarDifference):
        return bars_in_words(first, who, len(departure.witnesses) > 1, text)
    return sides_in_words(first, who, len(departure.witnesses) > 1)


def _named(sigla: Sequence[str]) -> str:
    """Return E, or A, E and S."""
    return " and ".join([", ".join(sigla[:-1]), sigla[-1]] if len(sigla) > 1 else sigla)


def _where(departure: Departure, material: Material) -> str:
    first = departure.differences[0]
    text = material.texts[departure.movement]
    movement = f"movement {departure.movement}"
    if isinstance(first, BarDifference):
        return f"{movement}, bar {text.bars[first.at].n}" if text.bars else movement
    if first.kind in KINDS_OF_BARS:
        return f"{movement}, bar {text.bars[first.start.bar].n}"
    staff = staff_name(text, first.staff)
    return f"{movement}, {moment_in_words(text, first.start)}, {staff}"
