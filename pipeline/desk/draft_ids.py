"""Ids of drafted records: speaking, and of no other record: `e-s-1-b014-pitch`."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterable, Sequence

from pipeline.collation.collated import BarDifference
from pipeline.collation.model import DifferenceKind
from pipeline.desk.draft_subjects import Subject

_MOST_SIGLA = 3


class Ids:
    """Gives out ids that no record has yet."""

    def __init__(self, taken: Iterable[str]) -> None:
        self._taken = set(taken)

    def new(self, subject: Subject, sigla: Sequence[str], bar: str) -> str:
        """Return witnesses, movement, bar and what differs, with a number where that is taken."""
        wanted = f"{_names(sigla)}-{subject.movement}-{bar_name(bar)}-{_what(subject)}"
        name, count = wanted, 1
        while name in self._taken:
            count += 1
            name = f"{wanted}-{count}"
        self._taken.add(name)
        return name


def bar_name(bar: str) -> str:
    """Return `b014` for bar 14, `b014a` for bar 14a."""
    found = re.match(r"(\d*)(.*)", _plain(bar))
    digits, rest = (found[1], found[2]) if found else ("", "")
    return f"b{digits.zfill(3) if digits else ''}{rest}"


def _names(sigla: Sequence[str]) -> str:
    names = [_plain(siglum) or "w" for siglum in sigla[:_MOST_SIGLA]]
    if len(sigla) > _MOST_SIGLA:
        names.append("others")
    joined = "-".join(names)
    return joined if joined[0].isalpha() else f"w{joined}"


def _what(subject: Subject) -> str:
    if subject.throughout:
        return subject.throughout.replace(" ", "-")
    first = subject.departures[0].differences[0]
    if isinstance(first, BarDifference):
        return first.change.value.replace(" ", "-")
    kinds = {d.kind for departure in subject.departures for d in departure.differences
             if not isinstance(d, BarDifference)}  # fmt: skip
    return next(kind for kind in DifferenceKind if kind in kinds).value.replace(" ", "-")


def _plain(text: str) -> str:
    """Return the letters and digits of a text, in ASCII and small."""
    spelled = unicodedata.normalize("NFKD", text).encode("ascii", "ignore").decode()
    return re.sub(r"[^A-Za-z0-9]", "", spelled).lower()
