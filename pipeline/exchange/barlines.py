"""Bar lines with repeat signs and endings: bars and MEI measures in, `barline` elements out.

MusicXML 4.0 `barline`, `bar-style`, `repeat`, `ending`; MEI `measure/@left`, `@right`.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from pipeline.exchange.source import StaffMusic
from pipeline.exchange.xml import make, put
from pipeline.score.mei_names import Element
from pipeline.score.model import Bar

_STYLES: Mapping[str, str] = {
    "dashed": "dashed", "dotted": "dotted", "dbl": "light-light", "dbldashed": "light-light",
    "dbldotted": "light-light", "end": "light-heavy", "heavy": "heavy", "dblheavy": "heavy-heavy",
    "invis": "none", "segno": "light-light", "rptstart": "heavy-light", "rptend": "light-heavy",
    "rptboth": "heavy-heavy",
}  # fmt: skip
"""MEI data.BARRENDITION as MusicXML 4.0 names it (bar-style)."""


def left_barline(bars: Sequence[Bar], index: int, music: StaffMusic) -> Element | None:
    """Return the line before a bar where there is more than the one after the bar before."""
    bar = bars[index]
    begins = bool(bar.ending) and (index == 0 or bars[index - 1].ending != bar.ending)
    style = _STYLES.get(_drawn(music, bar, "left"), "")
    if not (begins or bar.repeat_start or style):
        return None
    made = make("barline", location="left")
    if bar.repeat_start:
        put(made, "bar-style", "heavy-light")
    elif style:
        put(made, "bar-style", style)
    if begins:
        put(made, "ending", _label(bar), number=_numbers(bar), type="start")
    if bar.repeat_start:
        put(made, "repeat", direction="forward")
    return made


def right_barline(bars: Sequence[Bar], index: int, music: StaffMusic) -> Element | None:
    """Return the line after a bar unless it is an ordinary one."""
    bar, last = bars[index], index + 1 == len(bars)
    ends = bool(bar.ending) and (last or bars[index + 1].ending != bar.ending)
    drawn = _drawn(music, bar, "right")
    style = "light-heavy" if bar.repeat_end else _STYLES.get(drawn, "")
    if drawn == "rptstart":
        style = ""  # the repeat begins the next bar and is written there
    if not (ends or bar.repeat_end or style):
        return None
    made = make("barline", location="right")
    if style:
        put(made, "bar-style", style)
    if ends:
        kind = "stop" if bar.repeat_end else "discontinue"
        put(made, "ending", number=_numbers(bar), type=kind)
    if bar.repeat_end:
        put(made, "repeat", direction="backward")
    return made


def _drawn(music: StaffMusic, bar: Bar, side: str) -> str:
    element = music.elements.get(bar.xml_id)
    return "" if element is None else element.get(side, "")


def _numbers(bar: Bar) -> str:
    return bar.ending.replace(" ", "")


def _label(bar: Bar) -> str:
    return ", ".join(f"{number}." for number in bar.ending.split(", "))
