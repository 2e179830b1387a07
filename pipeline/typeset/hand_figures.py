"""What the hand does in the fingerings of a record: a table beside a picture, or a few words."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import zip_longest

from markupsafe import Markup

from pipeline.score.model import Bar
from pipeline.strings.left_hand import HandFacts, LeftHand
from pipeline.typeset.hand_picture import AxisWords, hand_picture, line_kind, line_sample
from pipeline.typeset.pictures import PictureView, picture
from pipeline.typeset.views import HandRow, HandView
from pipeline.typeset.wording import Wording

PICTURE_WIDTH_MM = 133.0
"""The width of the text column."""


def hand_in_words(facts: HandFacts, wording: Wording) -> tuple[Markup, ...]:
    """Return the moves of the hand and its widest span, for a fingering that stands alone."""
    say = wording.say
    said = [say("hand.still")]
    if facts.moves:
        said = [say("hand.moves", n=facts.moves, travel=_mm(facts.travel_mm))]
        if facts.moves_under_slurs:
            said.append(say("hand.under_slurs", n=facts.moves_under_slurs))
    if facts.widest_double_stop_mm:
        said.append(say("hand.double_stop", span=_mm(facts.widest_double_stop_mm)))
    elif facts.widest_in_place_mm:
        said.append(say("hand.in_place", span=_mm(facts.widest_in_place_mm)))
    return tuple(said)


def hand_view(
    names: Sequence[Markup],
    hands: Sequence[LeftHand | None],
    bars: Sequence[Bar],
    wording: Wording,
) -> HandView | None:
    """Return the table of several fingerings and the picture of their hands, or None for one."""
    known = [(name, hand) for name, hand in zip(names, hands, strict=True) if hand is not None]
    if len(known) < 2:
        return None
    say = wording.say
    double_stops = any(hand.facts.widest_double_stop_mm for _, hand in known)
    shown = ["moves", "slurs", "travel", "in_place", "double_stop", "strings"]
    headings = [say(f"hand.head.{one}") for one in shown if one != "double_stop" or double_stops]
    rows = [_cells(hand.facts, double_stops) for _, hand in known]
    drawn = hand_picture(
        [hand for _, hand in known],
        bars,
        AxisWords(str(say("hand.position").striptags()), str(say("hand.bar").striptags())),
        PICTURE_WIDTH_MM,
        _described([name for name, _ in known], headings, rows, wording),
    )
    samples: list[PictureView | None] = []
    if drawn is not None:
        kinds = [str(say(f"hand.lines.{line_kind(n)}").striptags()) for n in range(len(known))]
        samples = [picture(line_sample(number, kind)) for number, kind in enumerate(kinds)]
    inferred = max(hand.facts.inferred for _, hand in known)
    return HandView(
        picture=picture(drawn) if drawn is not None else None,
        caption=say("hand.caption") if drawn is not None else Markup(""),
        headings=tuple(headings),
        rows=tuple(
            HandRow(name, tuple(cells), sample)
            for (name, _), cells, sample in zip_longest(known, rows, samples)
        ),
        inferred=say("hand.inferred", n=inferred) if inferred else Markup(""),
    )


def _cells(facts: HandFacts, double_stops: bool) -> list[str]:
    cells = [str(facts.moves), str(facts.moves_under_slurs), _mm(facts.travel_mm)]
    cells += [_mm(facts.widest_in_place_mm)]
    cells += [_mm(facts.widest_double_stop_mm)] if double_stops else []
    return [*cells, str(facts.string_changes)]


def _described(
    names: Sequence[Markup],
    headings: Sequence[Markup],
    rows: Sequence[Sequence[str]],
    wording: Wording,
) -> str:
    """Return what a reader who does not see the picture is told: the table in words."""
    told = [
        f"{name.striptags()}: "
        + ", ".join(f"{head.striptags()} {cell}" for head, cell in zip(headings, row, strict=True))
        for name, row in zip(names, rows, strict=True)
    ]
    return f"{wording.say('hand.picture').striptags()}: {'; '.join(told)}"


def _mm(value: float) -> str:
    return f"{value:.0f}"
