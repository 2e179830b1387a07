"""Music examples for a collation: the text's bars, and under them every other reading of them.

In come the score, the collations and their departures; out go pictures by place, one for all that
begins in a bar of a staff. Witnesses that depart alike there share a staff. About 10 ms a place.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass

from pipeline.collation.bar_signs import KINDS_OF_BAR_LINES
from pipeline.collation.collated import BarDifference, Collation, Departure
from pipeline.collation.model import Comparison, Difference, DifferenceKind, Version
from pipeline.edition.layer import Layer
from pipeline.engrave.difference_brackets import with_difference_brackets
from pipeline.engrave.excerpts import cut
from pipeline.engrave.house_style import HouseStyle
from pipeline.engrave.markings import in_text_look
from pipeline.engrave.pictures import Faults, pictures
from pipeline.engrave.svg_for_print import Svg
from pipeline.engrave.systems import StaffLine, System, can_be_aligned
from pipeline.problems import Origin, Outcome, Problem, warning
from pipeline.score.model import Passage, Score

MOST_BARS = 4
"""What reaches further is shown by its beginning: a longer line is no longer one glance."""

_PREFIX = re.compile(r"^(t|r\d*)-")
"""What an excerpt puts before the xml:ids of the file."""


@dataclass(frozen=True, order=True)
class CollatedPlace:
    """Where departures stand that share an example: bar index of the text, and staff.

    `staff` is 0 for whole bars, which differ on every staff; `added` says that the bars shown are
    those of the witnesses, which follow that bar.
    """

    movement: int
    bar: int
    staff: int
    added: bool = False


@dataclass(frozen=True)
class CollationLabels:
    """The wording: what the text's staff is called, and a description of the picture of a bar.

    `described` is given the bar as printed and the witnesses.
    """

    text: str
    described: Callable[[str, Sequence[str]], str]


CollationExamples = Mapping[CollatedPlace, tuple[Svg, ...]]


def place_of(departure: Departure) -> CollatedPlace:
    """Return the place whose example shows a departure."""
    first = departure.differences[0]
    if isinstance(first, BarDifference):
        return CollatedPlace(departure.movement, first.at, 0, not first.text)
    return CollatedPlace(departure.movement, first.start.bar, first.staff)


def by_place(departures: Iterable[Departure]) -> Mapping[CollatedPlace, tuple[Departure, ...]]:
    """Return the departures of each place, places and departures in the order they come in."""
    found: dict[CollatedPlace, list[Departure]] = {}
    for departure in departures:
        found.setdefault(place_of(departure), []).append(departure)
    return {place: tuple(held) for place, held in found.items()}


def collation_examples(
    score: Score,
    collations: Mapping[tuple[str, int], Collation],
    departures: Iterable[Departure],
    labels: CollationLabels,
    style: HouseStyle,
    width_mm: float,
    text_face: str = "serif",
) -> Outcome[CollationExamples]:
    """Return the examples by place, for a column `width_mm` wide.

    `text_face` is a CSS font-family for labels, digits and words. What Verovio did not draw comes
    back as a warning; a place that could not be engraved has no example.
    """
    texts = {movement.n: movement.passage for movement in score.movements}
    made: dict[CollatedPlace, tuple[Svg, ...]] = {}
    problems: list[Problem] = []
    for place, held in by_place(departures).items():
        if all(map(_of_bar_lines, held)):
            continue
        text = texts[place.movement]
        systems = tuple(_systems(place, held, text, collations, labels, style))
        drawn: list[Svg] = []
        sigla = tuple(dict.fromkeys(siglum for one in held for siglum in one.witnesses))
        described = labels.described(text.bars[place.bar].n, sigla)
        for system in systems:
            lines, faults = pictures(system, style, width_mm, described, text_face)
            drawn.extend(lines)
            problems.extend(_problems(faults, text, place))
        if drawn:
            made[place] = tuple(drawn)
    return Outcome(made, tuple(problems))


def _of_bar_lines(departure: Departure) -> bool:
    first = departure.differences[0]
    return isinstance(first, Difference) and first.kind in KINDS_OF_BAR_LINES


def _systems(
    place: CollatedPlace,
    departures: Sequence[Departure],
    text: Passage,
    collations: Mapping[tuple[str, int], Collation],
    labels: CollationLabels,
    style: HouseStyle,
) -> Iterator[System]:
    if place.staff == 0:
        yield from _whole_bars(departures, text, collations, labels, style)
        return
    bars = _bars(place, departures)
    ours = _text_staff(text, bars, place.staff, labels, style)
    under: list[StaffLine] = []
    apart: list[System] = []
    for sigla, differences in _alike(departures).items():
        collation = collations[sigla[0], place.movement]
        version = _version(collation, sigla, bars, place.staff)
        if version is None:
            continue
        excerpt = cut(version.passage, version.bars, version.staff, f"r{len(under)}-")
        look = style.look(Layer.WITNESS)
        if can_be_aligned(ours.excerpt, excerpt):
            comparison = Comparison(version, 0, differences)
            if style.difference_bracket:
                excerpt = with_difference_brackets(excerpt, comparison, text, bars)
            tempo = any(one.kind is DifferenceKind.TEMPO for one in differences)
            label = ", ".join(sigla)
            under.append(StaffLine(excerpt, label, look.label, look.staff, keeps_tempo=tempo))
        else:
            apart.append(System((StaffLine(excerpt, ", ".join(sigla), look.label, look.staff),)))
    yield System((ours, *under))
    yield from apart


def _text_staff(
    text: Passage,
    bars: tuple[int, ...],
    staff: int,
    labels: CollationLabels,
    style: HouseStyle,
) -> StaffLine:
    look = style.look(Layer.TEXT)
    return StaffLine(in_text_look(cut(text, bars, staff, "t-"), look), labels.text, look.label)


def _bars(place: CollatedPlace, departures: Sequence[Departure]) -> tuple[int, ...]:
    """Return the bars from the one of the place to where the last of its departures ends."""
    last = max(
        _last_bar(difference)
        for one in departures
        for difference in one.differences[:1]
        if isinstance(difference, Difference)
    )
    return tuple(range(place.bar, min(max(last, place.bar), place.bar + MOST_BARS - 1) + 1))


def _last_bar(difference: Difference) -> int:
    """Return the last bar that a difference touches: a slur holds for the note it ends on."""
    of_sign = difference.text.marking is not None or difference.reading.marking is not None
    within = of_sign or difference.end.offset > 0 or difference.end == difference.start
    return difference.end.bar if within else difference.end.bar - 1


def _alike(departures: Sequence[Departure]) -> dict[tuple[str, ...], tuple[Difference, ...]]:
    """Return the differences of each group of witnesses that have all of them alike."""
    of_witness: dict[str, list[tuple[int, Difference]]] = {}
    for index, departure in enumerate(departures):
        for siglum, difference in zip(departure.witnesses, departure.differences, strict=True):
            if isinstance(difference, Difference):
                of_witness.setdefault(siglum, []).append((index, difference))
    groups: dict[tuple[object, ...], list[str]] = {}
    for siglum, held in of_witness.items():
        said = tuple(departures[index].differences[0] for index, _ in held)
        groups.setdefault(tuple(map(id, said)), []).append(siglum)
    return {
        tuple(sigla): tuple(difference for _, difference in of_witness[sigla[0]])
        for sigla in groups.values()
    }


def _version(
    collation: Collation, sigla: tuple[str, ...], bars: Sequence[int], staff: int
) -> Version | None:
    """Return the witness's music over those bars of the text, or None where it has none."""
    beside = collation.beside
    held = tuple(bar for b in bars if (bar := beside.reading_bar.get(b)) is not None)
    if not held:
        return None
    return Version(beside.passage, held, beside.staves[staff], "encoding", sigla, beside=beside)


def _whole_bars(
    departures: Sequence[Departure],
    text: Passage,
    collations: Mapping[tuple[str, int], Collation],
    labels: CollationLabels,
    style: HouseStyle,
) -> Iterator[System]:
    """Show bars that only one side has, on the first staff that both have."""
    lacking: tuple[int, ...] = ()
    for departure in departures:
        difference, siglum = departure.differences[0], departure.witnesses[0]
        beside = collations[siglum, departure.movement].beside
        if not isinstance(difference, BarDifference):
            continue
        staff = min(beside.staves)
        if len(difference.text) > len(lacking):
            lacking = difference.text
        elif difference.reading:
            look = style.look(Layer.WITNESS)
            bars = difference.reading[:MOST_BARS]
            excerpt = cut(beside.passage, bars, beside.staves[staff], "r-")
            label = ", ".join(departure.witnesses)
            yield System((StaffLine(excerpt, label, look.label, look.staff),))
    if lacking:
        yield System((_text_staff(text, lacking[:MOST_BARS], staff, labels, style),))


def _problems(faults: Faults, text: Passage, place: CollatedPlace) -> Iterator[Problem]:
    where = f"movement {place.movement}, bar {text.bars[place.bar].n}"
    for fault in faults:
        if fault.kind in {"refused", "not drawn"}:
            yield warning(
                "example-not-engraved",
                Origin(text.file),
                f"not everything of this bar could be engraved for the collation: "
                f"{_PREFIX.sub('', fault.detail)}",
                "Look at the bar in the score and in the encodings of the witnesses.",
                where,
            )
