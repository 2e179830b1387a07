"""A tempo as it is printed: words, and a metronome mark where one is printed.

MusicXML 4.0 `metronome`; MEI `tempo` with its text, `mm`, `mm.unit` and `mm.dots`. Note signs in
the text are those of Unicode (U+2669 to U+266C, U+1D15D to U+1D164) and SMuFL (U+ECA0 to U+ECB7).
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from fractions import Fraction

from pipeline.exchange.rhythm import TYPES
from pipeline.exchange.xml import make, put
from pipeline.score.durations import quarters_of
from pipeline.score.mei_names import Element, amount, whole_number
from pipeline.score.model import Marking

_SIGNS: Mapping[str, str] = {
    "♩": "4", "♪": "8", "𝅝": "1", "𝅗𝅥": "2", "𝅘𝅥": "4", "𝅘𝅥𝅮": "8", "𝅘𝅥𝅯": "16",
    "\ueca2": "1", "\ueca3": "2", "\ueca4": "2", "\ueca5": "4", "\ueca6": "4",
    "\ueca7": "8", "\ueca8": "8", "\ueca9": "16", "\uecaa": "16",
}  # fmt: skip
_DOT = "[.·\u1d16d\uecb7𝅭]"
_MARK = re.compile(
    rf"(?P<before>.*?)(?P<open>[(\[]?)\s*(?P<sign>{'|'.join(map(re.escape, _SIGNS))})"
    rf"\s*(?P<dots>(?:{_DOT}\s*)*)=\s*(?P<number>(?:ca?\.\s*)?\d+(?:\s*[-–]\s*\d+)?)"
    r"\s*(?P<close>[)\]]?)(?P<after>.*)"
)


def per_minute(element: Element) -> Fraction | None:
    """Return how many quarter notes a minute a tempo asks for, None where it does not say.

    By its `mm` (a dotted quarter at 46 is 69 quarters), else by `midi.bpm`, which counts quarters.
    """
    count = amount(element.get("mm", ""))
    unit = quarters_of(element.get("mm.unit", ""), whole_number(element.get("mm.dots", "")) or 0)
    if count and unit is not None:
        return count * unit
    return amount(element.get("midi.bpm", "")) or None


def tempo_types(marking: Marking, element: Element) -> list[Element]:
    """Return the words and the metronome mark of a tempo, in the order in which they are printed.

    A tempo whose text has no number is words alone, whatever it says about playing back.
    """
    found = _MARK.fullmatch(marking.content)
    if found is not None:
        made = []
        if found["before"].strip():
            made.append(make("words", found["before"].strip()))
        made.append(
            _metronome(
                _SIGNS[found["sign"]],
                len(re.findall(_DOT, found["dots"])),
                found["number"],
                bool(found["open"] and found["close"]),
            )
        )
        if found["after"].strip():
            made.append(make("words", found["after"].strip()))
        return made
    if marking.content:
        return [make("words", marking.content)]
    unit, dots = element.get("mm.unit", ""), whole_number(element.get("mm.dots", "")) or 0
    if not element.get("mm") or unit not in TYPES:
        return []
    return [_metronome(unit, dots, element.get("mm", ""), False)]


def _metronome(unit: str, dots: int, number: str, enclosed: bool) -> Element:
    made = make("metronome", parentheses="yes" if enclosed else "")
    put(made, "beat-unit", TYPES[unit])
    for _ in range(dots):
        put(made, "beat-unit-dot")
    put(made, "per-minute", number)
    return made
