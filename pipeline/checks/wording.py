"""Places, pitches and lists in words, as the messages of the rules use them."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from fractions import Fraction

from pipeline.collation.bar_signs import KINDS_OF_BARS
from pipeline.collation.model import Change, Difference, DifferenceKind
from pipeline.edition.places import Place
from pipeline.edition.quoting import listed
from pipeline.edition.suggestions import closest
from pipeline.score.model import Moment, Passage

_MOST_TOLD = 4
"""Differences that one message lists; the rest is counted."""


def place_in_words(place: Place) -> str:
    """Return `movement 1, bar 14, note 3 to bar 15, note 2`, as the editor wrote the place."""
    staff = f", staff {place.staff}" if isinstance(place.staff, int) else f", {place.staff}"
    return _bars_in_words(place) + ("" if place.staff is None else staff)


def _bars_in_words(place: Place) -> str:
    words = f"movement {place.movement}"
    to = place.to
    if to is not None and to.bar is not None and _whole(place.beat, place.note, to.beat, to.note):
        return f"{words}, bars {place.bar} to {to.bar}"
    words += f", bar {place.bar}{_within_bar(place.beat, place.note)}"
    if to is None:
        return words
    if to.bar is not None and to.bar != place.bar:
        return f"{words} to bar {to.bar}{_within_bar(to.beat, to.note)}"
    return f"{words} to{_within_bar(to.beat, to.note).removeprefix(',')}"


def moment_in_words(passage: Passage, moment: Moment) -> str:
    """Return `bar 14, beat 2.5`, beats counted as the editor counts them."""
    bar = passage.bars[moment.bar]
    return f"bar {bar.n}, beat {number(moment.offset / bar.beat + 1)}"


def difference_in_words(difference: Difference, text: Passage) -> str:
    """Return `slur ends elsewhere at bar 14, beat 2`."""
    what = kind_in_words(difference)
    if difference.kind in KINDS_OF_BARS:
        return f"{what} at bar {text.bars[difference.start.bar].n}"
    return f"{what} at {moment_in_words(text, difference.start)}"


def kind_in_words(difference: Difference) -> str:
    """Return `pitch`, `slur ends elsewhere`, `notes missing`."""
    what = "sign" if difference.kind is DifferenceKind.OTHER else str(difference.kind)
    if difference.change is Change.OTHERWISE or str(difference.change) in what:
        return what
    return f"{what} {difference.change}"


def listed_differences(found: Iterable[Difference], text: Passage) -> str:
    """Return several differences in a row, each once; of many the rest is counted."""
    words = list(dict.fromkeys(difference_in_words(one, text) for one in found))
    if len(words) > _MOST_TOLD:
        return f"{'; '.join(words[:_MOST_TOLD])}; and {len(words) - _MOST_TOLD} more"
    return "; ".join(words)


def number(amount: Fraction) -> str:
    """Return a number of beats as a musician writes it: 2, 2.5 or 2 1/3."""
    whole, rest = divmod(amount, 1)
    if not rest:
        return str(whole)
    if rest.denominator in {2, 4, 8}:
        return f"{float(amount):g}"
    return f"{whole} {rest}" if whole else str(rest)


def counted(count: int, one: str, many: str = "") -> str:
    """Return `1 note` or `3 notes`."""
    return f"{count} {one if count == 1 else many or one + 's'}"


def suggestion(written: str, known: Iterable[str], all_are: str) -> str:
    """Return `Did you mean `A`?`, or what there is: `Witnesses are `A` and `E`.`."""
    known = list(known)
    near = closest(written, known)
    if near is not None:
        return f"Did you mean `{near}`?"
    return f"{all_are} {listed(known, 'and')}." if known else f"{all_are} none yet."


def rows(names: tuple[str, str], first: Sequence[str], second: Sequence[str]) -> str:
    """Return two rows of words in columns, each row indented and named, for a message."""
    columns = max(len(first), len(second))
    padded = [[*row, *[""] * (columns - len(row))] for row in (first, second)]
    widths = [max(len(a), len(b)) for a, b in zip(*padded, strict=True)]
    name_width = max(len(name) for name in names)
    lines = [
        f"        {name.ljust(name_width)}  "
        + "  ".join(word.ljust(width) for word, width in zip(row, widths, strict=True))
        for name, row in zip(names, padded, strict=True)
    ]
    return "".join(f"\n{line.rstrip()}" for line in lines)


def _whole(*parts: object) -> bool:
    return all(part is None for part in parts)


def _within_bar(beat: Fraction | None, note: int | None) -> str:
    if note is not None:
        return f", note {note}"
    return f", beat {number(beat)}" if beat is not None else ""
