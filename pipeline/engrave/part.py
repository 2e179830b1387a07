"""The solo part: the layered MEI in, lines of music for the page and the screen out.

    one staff    the edited staff alone, the layers wanted, every mark with its classes
    looks        the house style, layer by layer
    rests        bars of rest joined
    lines        Verovio breaks the lines; each is a picture of its own
    keys         at a record's first mark in a line the number of its remark

Which alternatives of a fingering or bowing stand in the layered document is settled before it is
written: those that the record says are `printed`.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import replace

from lxml import etree

from pipeline.edition.layer import Layer
from pipeline.engrave.excerpts import MUST_BE_DRAWN
from pipeline.engrave.house_style import HouseStyle
from pipeline.engrave.mei_tree import XML_ID, local, mei
from pipeline.engrave.part_instead import put_instead
from pipeline.engrave.part_keys import Keyed, figure_box, figure_group, place_figures
from pipeline.engrave.part_lines import LineDrawing, line_drawing, touched_up
from pipeline.engrave.part_looks import dress, signs_of_small_staves
from pipeline.engrave.part_model import (
    EngravedPart,
    PartLine,
    PartMark,
    PartMovement,
    PartOrder,
)
from pipeline.engrave.part_rests import Bars, join_rests, seconds_per_quarter
from pipeline.engrave.part_staff import Mark, Solo, solo_movements
from pipeline.engrave.verovio import (
    SVG_UNITS_PER_STAFF,
    EngravingFault,
    Layout,
    engrave,
    line_width,
)
from pipeline.problems import Origin, Outcome, Problem, error, warning
from pipeline.score.mei_names import Element
from pipeline.strings.instruments import Instrument

LAYERED_FILE = "edition.mei"
_TWO_ENDS = frozenset({"slur", "tie", "trill"})


def engrave_part(
    mei_document: bytes,
    order: PartOrder,
    style: HouseStyle,
    numbers: Mapping[str, int],
    labels: Mapping[str, str],
    families: str,
    instrument: Instrument | None = None,
) -> Outcome[EngravedPart]:
    """Return the part's lines of music, movement by movement.

    `mei_document` is the layered MEI of the whole edition. `numbers` are the remarks' numbers in
    the commentary and `labels` what stands above an ossia or tradition, both by record; `families`
    is the CSS font-family of words and digits; by `instrument` strings are numbered. Music that is
    missing from the page is an error, any other complaint a warning.
    Raises NotLayeredError, NotMeiError.
    """
    movements: list[PartMovement] = []
    problems: list[Problem] = []
    for solo in solo_movements(mei_document, order.staff, order.layers, order.alternatives):
        failed = put_instead(solo, order.instead)
        dress(solo.score, style, labels, instrument)
        bars = join_rests(solo.score)
        drawn = engrave(
            etree.tostring(solo.root, encoding="unicode"),
            Layout(line_width(order.line_width_mm, order.staff_height_mm), breaks="auto"),
            _must_be_drawn(solo.score),
        )
        problems += [*_left_as_they_are(solo, failed), *_curves_without_end(solo)]
        problems += [_problem(fault, solo) for fault in dict.fromkeys(drawn.faults)]
        lines = _lines(solo, bars, drawn.systems, order, numbers, families)
        movements.append(PartMovement(solo.n, lines, seconds_per_quarter(solo.score) or 1.0))
    return Outcome(EngravedPart(tuple(movements)), tuple(problems))


def _must_be_drawn(score: Element) -> frozenset[str]:
    ids = {
        e.get(XML_ID, "")
        for e in score.iter(etree.Element)
        if local(e) in MUST_BE_DRAWN and e.get("visible") != "false" and not _lacks_an_end(e)
    }
    return frozenset(ids - {""})


def _lacks_an_end(sign: Element) -> bool:
    """Whether a curve or trill line of the score has one end only: there is nothing to draw."""
    if local(sign) == "trill" and sign.get("lstartsym") != "none":
        return False
    if local(sign) not in _TWO_ENDS:
        return False
    begins = sign.get("startid") or sign.get("tstamp")
    return not begins or not (sign.get("endid") or sign.get("tstamp2"))


def _lines(
    solo: Solo,
    bars: Bars,
    systems: Sequence[str],
    order: PartOrder,
    numbers: Mapping[str, int],
    families: str,
) -> tuple[PartLine, ...]:
    marks: dict[str, list[Mark]] = defaultdict(list)
    for mark in solo.marks:
        measure = bars.joined.get(mark.measure, mark.measure)
        marks[measure].append(replace(mark, measure=measure))
    small = signs_of_small_staves(solo.score)
    made = []
    for svg in systems:
        drawing = line_drawing(svg, families)
        here = [mark for measure in drawing.measures for mark in marks[measure]]
        made.append(_line(drawing, bars, here, order, numbers, small))
    return tuple(made)


def _line(
    drawing: LineDrawing,
    bars: Bars,
    marks: Sequence[Mark],
    order: PartOrder,
    numbers: Mapping[str, int],
    small: Collection[str],
) -> PartLine:
    spans = [bars.of_measure[measure] for measure in drawing.measures]
    first, last = spans[0][0], spans[-1][1]
    ink = touched_up(drawing, small)
    units_per_mm = SVG_UNITS_PER_STAFF / order.staff_height_mm
    figures = place_figures(
        _keyed(marks), numbers, ink, drawing.staff_tops(), units_per_mm, drawing.width
    )
    drawing.body.extend(figure_group(figure) for figure in figures)
    boxes = [*(piece.box for piece in ink), *map(figure_box, figures)]
    markup, width_mm, height_mm = drawing.svg(order.staff_height_mm, boxes)
    return PartLine(
        svg=markup,
        width_mm=width_mm,
        height_mm=height_mm,
        first_bar=bars.bars[first].n,
        last_bar=bars.bars[last].n,
        silence_before=bars.silence_from(first, last),
        silence_after=bars.silence_until(first, last),
        marks=_gathered(marks),
    )


def _keyed(marks: Iterable[Mark]) -> list[Keyed]:
    """Return each record once, with all that it has in the line."""
    held: dict[str, list[Mark]] = {}
    for mark in marks:
        held.setdefault(mark.record, []).append(mark)
    return [
        Keyed(
            record,
            next((m.layer for m in these if m.layer is Layer.TRADITION), these[0].layer),
            tuple(mark.xml_id for mark in these if mark.xml_id),
            these[0].measure,
        )
        for record, these in held.items()
    ]


def _gathered(marks: Iterable[Mark]) -> tuple[PartMark, ...]:
    """Put together the marks of one record and layer in a line, in the order of their first."""
    found: dict[tuple[str, Layer], list[str]] = {}
    for mark in marks:
        ids = found.setdefault((mark.record, mark.layer), [])
        if mark.xml_id:
            ids.append(mark.xml_id)
    return tuple(PartMark(record, layer, tuple(ids)) for (record, layer), ids in found.items())


def _left_as_they_are(solo: Solo, failed: Iterable[str]) -> Iterator[Problem]:
    """Tell of ossias that are not drawn, or not where the player wants them."""
    for record in sorted(failed):
        yield warning(
            "ossia-not-instead",
            Origin(LAYERED_FILE),
            f"the ossia {record} cannot replace the text: it cuts through a beam or tuplet",
            "it stands above the text; let the record's place begin and end with whole beams",
            f"movement {solo.n}",
        )
    for record in sorted(solo.undrawn):
        yield warning(
            "ossia-not-drawn",
            Origin(LAYERED_FILE),
            f"the alternative {record} is not drawn: another one stands above the same bars",
            "leave the other one out of the part",
            f"movement {solo.n}",
        )


def _curves_without_end(solo: Solo) -> Iterator[Problem]:
    for sign in solo.score.iter(*map(mei, sorted(_TWO_ENDS))):
        if _lacks_an_end(sign):
            yield warning(
                "curve-without-end",
                Origin(LAYERED_FILE),
                f"the {_named(sign.get(XML_ID, ''), solo)} has one end only and is not drawn",
                "say in the score at which note it begins and ends",
                f"movement {solo.n}",
            )


def _problem(fault: EngravingFault, solo: Solo) -> Problem:
    """Word a fault of the engraving: an error where music is missing from the page."""
    place = f"movement {solo.n}"
    match fault.kind:
        case "refused":
            return error(
                "part-not-engraved",
                Origin(LAYERED_FILE),
                f"the part of movement {solo.n} could not be engraved: {fault.detail}",
                "look at the edited staff of that movement in the score",
                place,
            )
        case "not drawn":
            return error(
                "lost-in-engraving",
                Origin(LAYERED_FILE),
                f"in the part the {_named(fault.detail, solo)} is not drawn",
                "see to what it is attached to in the score: a note or beat that is there",
                place,
            )
        case "cramped":
            return warning(
                "part-cramped",
                Origin(LAYERED_FILE),
                f"a bar of movement {solo.n} hardly fits into the line of the part",
                "order a smaller staff or a wider page for the part",
                place,
            )
        case _:
            return warning(
                "engraving-complaint",
                Origin(LAYERED_FILE),
                f"engraving the part of movement {solo.n}: {fault.detail}",
                "look at the part; mend the score where it is wrong",
                place,
            )


def _named(xml_id: str, solo: Solo) -> str:
    """Name an element as a musician finds it: what it is and in which bar."""
    for measure in solo.score.iter(mei("measure")):
        for element in measure.iter(etree.Element):
            if element.get(XML_ID) == xml_id:
                return f"{local(element)} {xml_id} of bar {measure.get('n', '?')}"
    return f"element {xml_id}"
