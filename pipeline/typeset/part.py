"""The part: engraved lines of music in, a PDF out that a player puts on the stand.

words     head, legend, footnotes, headings, in one language
heights   the typesetter tells how high these are
plan      which lines stand on which page (`part_plan`)
places    where on its page each of them stands
pages     the typesetter draws them
"""

from __future__ import annotations

import json
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import asdict, dataclass, replace
from itertools import pairwise
from math import inf

from pipeline.collation.model import Decision
from pipeline.edition.model import Edition
from pipeline.engrave.legend import Sample
from pipeline.engrave.part_model import EngravedPart, PartLine, PartMovement
from pipeline.engrave.svg_for_print import Svg
from pipeline.problems import Origin, Outcome, Problem, error
from pipeline.score.model import Score
from pipeline.strings.pace import pace_of
from pipeline.typeset.environment import TEMPLATES
from pipeline.typeset.faces import FACE_ITSELF, faces
from pipeline.typeset.part_paper import Paper
from pipeline.typeset.part_pictures import in_music_face
from pipeline.typeset.part_places import page_views
from pipeline.typeset.part_plan import PlanLine, Planner, PlanRoom
from pipeline.typeset.part_view import PaperView, PartView
from pipeline.typeset.part_words import PartWords, noted, part_words
from pipeline.typeset.signs_face import FAMILY as SIGNS_FAMILY
from pipeline.typeset.typst_pdf import MAIN, measured, typst_to_pdf

PART_FAMILIES = f"'{FACE_ITSELF}', '{SIGNS_FAMILY}', serif"
"""The faces of words and digits in the music, as a CSS font-family, by their own names."""

_TEMPLATE, _HEIGHTS = "part.typ", "heights"
_ORIGIN = Origin("edition.yaml")


@dataclass(frozen=True)
class Heights:
    """How high the blocks of text are at the width of a line, in millimetres."""

    title: float
    legend: float
    rule: float
    notes: Mapping[str, float]
    headings: Mapping[str, float]


def part_pdf(
    edition: Edition,
    score: Score,
    decisions: Iterable[Decision],
    part: EngravedPart,
    samples: Mapping[Sample, Svg],
    numbers: Mapping[str, int],
    paper: Paper,
    language: str,
) -> Outcome[bytes]:
    """Return the PDF/UA-1 of the part.

    `samples` are the legend's, `numbers` the remarks' numbers in the commentary by record. Raises
    KeyError for a language without wording (see `find_wording`).
    """
    words = part_words(edition, decisions, numbers, language)
    lines = [(movement, line) for movement in part.movements for line in movement.lines]
    view, legend_pictures = _worded(words, part, samples, paper, language)
    found = faces()
    heights = _heights(view, legend_pictures)
    planner = Planner(_plan_lines(lines, heights, edition, score), _room(heights, paper))
    pages = planner.best()
    if pages is None:
        return Outcome(None, (*found.problems, _too_high(lines, paper)))
    drawn = replace(view, pages=page_views(planner, pages, lines, words, heights.title))
    pictures = {
        f"line-{index}.svg": in_music_face(line.svg).encode()
        for index, (_, line) in enumerate(lines)
    }
    files = _files(drawn, {**legend_pictures, **pictures})
    bleed = paper.bleed_mm if paper.crop_marks else 0.0
    made = typst_to_pdf(files, found, _ORIGIN, bleed)
    return Outcome(made.value, (*found.problems, *made.problems))


def _worded(
    words: PartWords,
    part: EngravedPart,
    samples: Mapping[Sample, Svg],
    paper: Paper,
    language: str,
) -> tuple[PartView, Mapping[str, bytes]]:
    legend, pictures = words.legend(part, samples)
    margins = paper.margins
    notes = {
        record: words.note(record)
        for movement in part.movements
        for line in movement.lines
        for record in noted(line)
    }
    view = PartView(
        language=language,
        document_title=words.document_title(),
        author=words.author(),
        description=words.scoring(),
        running=words.running(),
        quick_turn=words.quick_turn(),
        paper=PaperView(
            paper.width_mm,
            paper.height_mm,
            margins.top,
            margins.bottom,
            margins.inside,
            margins.outside,
            paper.around_mm,
            paper.bleed_mm,
        ),
        title=words.title(),
        legend=legend,
        headings={str(movement.n): words.heading(movement.n) for movement in part.movements},
        notes=notes,
    )
    return view, pictures


def _heights(view: PartView, pictures: Mapping[str, bytes]) -> Heights:
    told = measured(_files(view, pictures), faces(), _HEIGHTS)
    assert isinstance(told, dict)
    return Heights(**told)


def _files(view: PartView, pictures: Mapping[str, bytes]) -> dict[str, bytes]:
    return {
        MAIN: (TEMPLATES / _TEMPLATE).read_bytes(),
        "part.json": json.dumps(asdict(view), ensure_ascii=False).encode(),
        **pictures,
    }


def _room(heights: Heights, paper: Paper) -> PlanRoom:
    return PlanRoom(
        page_mm=paper.text_height_mm,
        first_mm=paper.text_height_mm - heights.title - heights.legend,
        note_mm=heights.notes,
        rule_mm=heights.rule,
    )


def _plan_lines(
    lines: Sequence[tuple[PartMovement, PartLine]],
    heights: Heights,
    edition: Edition,
    score: Score,
) -> list[PlanLine]:
    rests = [*_rests(lines, edition, score), inf]
    before: PartMovement | None = None
    planned = []
    for (movement, line), rest in zip(lines, rests, strict=True):
        first = movement is not before
        above = heights.headings[str(movement.n)] if first else 0.0
        planned.append(PlanLine(line.height_mm, movement.n, above, rest, noted(line)))
        before = movement
    return planned


def _rests(
    lines: Sequence[tuple[PartMovement, PartLine]], edition: Edition, score: Score
) -> list[float]:
    """Return for each line but the last the seconds of rest before the next one begins to sound.

    The tempo is the one at the line's end; between movements there is time to turn.
    """
    heads = {movement.n: movement for movement in edition.head.movements}
    passages = {movement.n: movement.passage for movement in score.movements}
    paces = {n: pace_of(head, passages[n]) for n, head in heads.items() if n in passages}
    rests = []
    for (movement, line), (following, after) in pairwise(lines):
        if movement is not following:
            rests.append(inf)
            continue
        quarters = line.silence_after + after.silence_before
        bar = passages[movement.n].bar_index.get(line.last_bar, 0)
        quarter = paces[movement.n].quarter_at(bar) or movement.seconds_per_quarter
        rests.append(float(quarters) * float(quarter))
    return rests


def _too_high(lines: Sequence[tuple[PartMovement, PartLine]], paper: Paper) -> Problem:
    movement, line = max(lines, key=lambda one: one[1].height_mm)
    return error(
        "line-higher-than-page",
        _ORIGIN,
        f"a line of the part is {line.height_mm:.0f} mm high, and with what belongs to it there is "
        f"no room for it on a page of {paper.width_mm:g} x {paper.height_mm:g} mm",
        "order a smaller staff, a larger page, or fewer alternatives",
        f"movement {movement.n}, bar {line.first_bar}",
    )
