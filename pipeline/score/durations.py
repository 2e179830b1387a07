"""Note values of MEI 5.1 (data.DURATION) in, exact quarter notes out."""

from __future__ import annotations

from fractions import Fraction
from functools import lru_cache

from pipeline.score.mei_names import Element, local, whole_number

_BY_NAME = {"maxima": 32, "longa": 16, "brevis": 8, "long": 16, "breve": 8}
_SHORTEST = 2048


@lru_cache(maxsize=256)
def quarters_of(dur: str, dots: int = 0) -> Fraction | None:
    """Return how many quarter notes a note value with that many dots lasts, None if it is none."""
    if dur in _BY_NAME:
        plain = Fraction(_BY_NAME[dur])
    else:
        part = whole_number(dur) or 0
        if not 0 < part <= _SHORTEST or part.bit_count() != 1:
            return None
        plain = Fraction(4, part)
    return plain * (2 - Fraction(1, 2**dots))


def written_value(quarters: Fraction) -> tuple[str, int] | None:
    """Return `dur` and number of dots (up to 3) of a duration, None if no one note lasts it."""
    for dur in ("long", "breve", *(str(2**power) for power in range(9))):
        for dots in range(4):
            if quarters_of(dur, dots) == quarters:
                return dur, dots
    return None


def dots_of(element: Element) -> int:
    """Return the number of augmentation dots an element carries, as attribute or as children."""
    written = whole_number(element.get("dots", ""))
    if written is not None:
        return min(written, 4)
    return sum(1 for child in element if local(child) == "dot") if len(element) else 0


def unreadable_figure(element: Element) -> str:
    """Return the attribute for dots or a tuplet's ratio that is no number, "" if all are."""
    for name, least in (("dots", 0), ("num", 1), ("numbase", 1)):
        written = element.get(name)
        number = whole_number(written) if written is not None else least
        if number is None or number < least:
            return f'{name}="{written}"'
    return ""


def ratio_of(element: Element) -> tuple[int, int] | None:
    """Return `num` and `numbase` of a tuplet or note ("num in the time of numbase"), if written.

    Where only `num` is written, as common practice has it: in the time of the next smaller power
    of two (3:2, 5:4, 6:4, 7:4), a duplet in the time of 3 (no source).
    """
    count, base = (whole_number(element.get(name, "")) for name in ("num", "numbase"))
    if not count:
        return None
    if base:
        return count, base
    if count == 1:
        return None
    return count, 3 if count == 2 else 1 << ((count - 1).bit_length() - 1)
