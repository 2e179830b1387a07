"""The place of the hand over the notes of a passage: one line for each fingering, in black alone.

In come the fingerings as a hand takes them, out goes a drawing. To the right run the notes, one
step each, with the bars; upwards runs the string, in true distances, with the positions by number
(the first finger on the letters above the open string; general violin text). A line that stays is a
hand that stays. A ring is a move under a slur, a dot a move on a new bow.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

from markupsafe import Markup

from pipeline.engrave.svg_for_print import Svg
from pipeline.score.model import Bar
from pipeline.strings.left_hand import LeftHand
from pipeline.typeset.faces import TEXT_FAMILIES

_POSITIONS = ((1.0, "½"), (2.0, "I"), (3.5, "II"), (5.0, "III"), (7.0, "IV"), (8.5, "V"),
              (10.0, "VI"), (12.0, "VII"), (14.0, "VIII"), (15.5, "IX"), (17.0, "X"),
              (19.0, "XI"), (20.5, "XII"), (22.0, "XIII"), (24.0, "XIV"))  # fmt: skip
"""Semitones above the open string where the first finger is in each position."""

_LEFT_MM, _RIGHT_MM, _TOP_MM, _BOTTOM_MM = 9.0, 1.0, 4.5, 1.5
_MARGIN_MM = 1.5
"""Above the highest and below the lowest place."""

_STEP_MM = 7.0
"""The widest that one note is drawn."""

_PER_STRING, _HIGHEST_MM = 115.0, 22.0
"""The height that a whole string would have, made smaller where the lines would come out higher."""

_LEAST_GAP_MM = 3.1
"""The least distance of two position numbers."""

_LINES = ("", "1.7 1.1", "0.01 1.15", "3.2 1 .01 1")
"""Solid, dashed, dotted, dots and dashes."""

_WIDTHS = (0.45, 0.45, 0.6, 0.45)
_APART_MM = 0.55
"""Lines that would cover each other stand so far apart."""

_DOT_MM = 0.62


@dataclass(frozen=True)
class AxisWords:
    """What is written at the axes."""

    position: str
    bar: str


@dataclass(frozen=True)
class _Frame:
    """Where things are: x of a note by its index, y of a place by its semitones."""

    step_mm: float
    lowest: int
    highest: int

    @property
    def scale(self) -> float:
        """Millimetres of the drawing for the whole length of the string."""
        share = _share(self.highest) - _share(self.lowest)
        return min(_PER_STRING, _HIGHEST_MM / share) if share else _PER_STRING

    @property
    def height(self) -> float:
        return self.y(self.lowest) + _MARGIN_MM + _BOTTOM_MM

    def x(self, note: float) -> float:
        return _LEFT_MM + (note + 0.5) * self.step_mm

    def y(self, semitones: float) -> float:
        return _TOP_MM + _MARGIN_MM + self.scale * (_share(self.highest) - _share(semitones))


def _share(semitones: float) -> float:
    """Return what share of the string is below a place: L (1 - 2^(-s/12)) for a length of 1."""
    return float(1 - 2 ** (-semitones / 12))


def hand_picture(
    hands: Sequence[LeftHand], bars: Sequence[Bar], words: AxisWords, width_mm: float, text: str
) -> Svg | None:
    """Return the drawing, or None where no hand moves or no two fingerings are to be compared.

    All hands play the same notes; `bars` are those of the passage; `text` describes the drawing.
    """
    places = [place for hand in hands for place in hand.places if place is not None]
    if len(hands) < 2 or not any(hand.facts.moves for hand in hands) or not places:
        return None
    notes = len(hands[0].notes)
    step = min(_STEP_MM, (width_mm - _LEFT_MM - _RIGHT_MM) / notes)
    frame = _Frame(step, min(places), max(places))
    width = _LEFT_MM + notes * step + _RIGHT_MM
    drawn = [*_positions(frame, width, words)]
    drawn += _bars(frame, hands[0], bars, words)
    for number, hand in enumerate(hands):
        drawn += _line(frame, hand, number, len(hands))
    markup = Markup(
        '<svg xmlns="http://www.w3.org/2000/svg" width="{w}mm" height="{h}mm" '
        'viewBox="0 0 {w} {h}"><g font-family="{face}" font-size="2.7">{drawn}</g></svg>'
    ).format(w=_mm(width), h=_mm(frame.height), face=TEXT_FAMILIES, drawn=Markup("").join(drawn))
    return Svg(str(markup), width, frame.height, text)


LINE_KINDS = ("solid", "dashed", "dotted", "dotted_dashed")
"""Names of the kinds of line, for the wording of each language."""


def line_kind(number: int) -> str:
    """Return which kind of line the fingering of that number is drawn in."""
    return LINE_KINDS[number % len(LINE_KINDS)]


def line_sample(number: int, text: str) -> Svg:
    """Return the kind of line that the fingering of that number is drawn in: a key."""
    markup = Markup(
        '<svg xmlns="http://www.w3.org/2000/svg" width="9mm" height="1.6mm" viewBox="0 0 9 1.6">'
        "{line}</svg>"
    ).format(line=_stroke("M.5 .8L8.5 .8", number))
    return Svg(str(markup), 9.0, 1.6, text)


def _positions(frame: _Frame, width: float, words: AxisWords) -> list[Markup]:
    """Draw a finely dotted line and a number for each position that the hands come to, where there
    is room, the lowest and the others from it upwards."""
    drawn = [Markup('<text x="0" y="2.6" font-style="italic">{w}</text>').format(w=words.position)]
    last: float | None = None
    for semitones, numeral in _POSITIONS:
        if not frame.lowest - 0.6 <= semitones <= frame.highest + 0.6:
            continue
        y = frame.y(semitones)
        if last is not None and last - y < _LEAST_GAP_MM:
            continue
        last = y
        drawn.append(
            Markup(
                '<path d="M{x1} {y}H{x2}" stroke="#000" stroke-width=".1" '
                'stroke-dasharray=".2 .8"/>'
                '<text x="{tx}" y="{ty}" text-anchor="end">{numeral}</text>'
            ).format(
                x1=_mm(_LEFT_MM - 1), x2=_mm(width), y=_mm(y), tx=_mm(_LEFT_MM - 1.7),
                ty=_mm(y + 0.95), numeral=numeral,
            )
        )  # fmt: skip
    return drawn


def _bars(frame: _Frame, hand: LeftHand, bars: Sequence[Bar], words: AxisWords) -> list[Markup]:
    """Draw the bar lines between the notes, and the number of each bar where there is room."""
    numbers = [note.event.bar for note in hand.notes]
    firsts = [0, *(n for n, (a, b) in enumerate(pairwise(numbers), 1) if a != b)]
    drawn: list[Markup] = []
    free = 0.0
    for first in firsts:
        x = frame.x(first - 0.5)
        if first:
            drawn.append(
                Markup('<path d="M{x} {y1}V{y2}" stroke="#000" stroke-width=".12"/>').format(
                    x=_mm(x), y1=_mm(_TOP_MM), y2=_mm(frame.height - 0.5)
                )
            )
        said = f"{words.bar} {bars[numbers[first]].n}" if not first else bars[numbers[first]].n
        at = _LEFT_MM + 1.5 if not first else x + 0.6
        if at >= free:
            drawn.append(Markup('<text x="{x}" y="2.6">{said}</text>').format(x=_mm(at), said=said))
            free = at + 1.6 * len(said) + 2.0
    return drawn


def _line(frame: _Frame, hand: LeftHand, number: int, count: int) -> list[Markup]:
    """Draw the way of one hand, and what its moves are."""
    aside = (number - (count - 1) / 2) * _APART_MM
    points: list[str] = []
    marks: list[Markup] = []
    for index, place in enumerate(hand.places):
        if place is None:
            continue
        y = frame.y(place) + aside
        half = frame.step_mm * 0.36
        points.append(
            f"{_mm(frame.x(index) - half)} {_mm(y)}L{_mm(frame.x(index) + half)} {_mm(y)}"
        )
        if hand.moved[index]:
            marks.append(_mark(frame.x(index) - half, y, hand.slurred[index]))
    return [_stroke("M" + "L".join(points), number), *marks] if points else []


def _mark(x: float, y: float, slurred: bool) -> Markup:
    return Markup(
        '<circle cx="{x}" cy="{y}" r="{r}" fill="{fill}" stroke="#000" stroke-width=".25"/>'
    ).format(x=_mm(x), y=_mm(y), r=_mm(_DOT_MM), fill="#fff" if slurred else "#000")


def _stroke(path: str, number: int) -> Markup:
    dashes, width = _LINES[number % len(_LINES)], _WIDTHS[number % len(_WIDTHS)]
    dashed = Markup(' stroke-dasharray="{d}"').format(d=dashes) if dashes else Markup("")
    return Markup(
        '<path d="{path}" fill="none" stroke="#000" stroke-width="{width}" '
        'stroke-linecap="{cap}" stroke-linejoin="round"{dashed}/>'
    ).format(path=path, width=width, cap="round" if number % 4 in {0, 2} else "butt", dashed=dashed)


def _mm(value: float) -> str:
    return f"{value:.2f}"
