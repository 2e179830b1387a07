"""Where a witness or a fragment has the music of a place.

In come a span of the text and a passage; out goes the version that stands beside it, or the
reason, in words, why the passage has nothing for that place.
"""

from __future__ import annotations

from collections.abc import Sequence

from pipeline.collation.bars import bars_of
from pipeline.collation.model import Version
from pipeline.score.model import Passage, Span, Staff


def witness_version(
    text: Passage, span: Span, encoding: Passage, siglum: str, hand: str | None
) -> Version | str:
    """Return the witness's bars of the same printed numbers, or why there are none.

    A bar missing between two bars that are encoded counts as missing in the witness; one missing
    at either end of the place is taken for a bar that was not encoded.
    """
    staff = staff_answering(text, span.staff, encoding)
    if isinstance(staff, str):
        return staff
    wanted = bars_of(span)
    found = [_same_number(text, index, encoding) for index in wanted]
    missing = [text.bars[index].n for index, bar in zip(wanted, found, strict=True) if bar is None]
    if found[0] is None or found[-1] is None:
        return f"its encoding has no {bar_list(missing)}"
    bars = tuple(bar for bar in found if bar is not None)
    return Version(encoding, bars, staff, "encoding", (siglum,), hand)


def fragment_version(fragment: Passage, witnesses: tuple[str, ...], hand: str | None) -> Version:
    """Return all bars of a fragment on its only staff."""
    bars = tuple(bar.index for bar in fragment.bars)
    return Version(fragment, bars, fragment.staves[0].n, "file", witnesses, hand)


def bar_list(numbers: Sequence[str]) -> str:
    """Return `bar 14`, `bars 14 and 15` or `bars 14, 15 and 16`."""
    if len(numbers) == 1:
        return f"bar {numbers[0]}"
    return f"bars {', '.join(numbers[:-1])} and {numbers[-1]}"


def staff_list(staves: Sequence[Staff]) -> str:
    """Return the staves as an editor knows them: number and label."""
    return ", ".join(f"{s.n} ({s.label})" if s.label else str(s.n) for s in staves)


def _same_number(text: Passage, index: int, encoding: Passage) -> int | None:
    """Return the encoding's bar of that printed number; of repeated numbers, the same turn."""
    n = text.bars[index].n
    turn = sum(1 for bar in text.bars[text.bar_index[n] : index] if bar.n == n)
    if n not in encoding.bar_index:
        return None
    if turn == 0:
        return encoding.bar_index[n]
    same = [bar.index for bar in encoding.bars if bar.n == n]
    return same[turn] if turn < len(same) else None


def staff_answering(text: Passage, n: int, encoding: Passage) -> int | str:
    """Return the encoding's staff that answers the text's staff n, or why none is known to.

    The label decides, among staves of one label their order; then the order of all staves. A
    single staff of a label that the text does not know answers the first: a part names itself as
    it likes.
    """
    ours = _of_label(text, _label(text, n))
    theirs = _of_label(encoding, _label(text, n))
    if theirs and len(theirs) == len(ours):
        return theirs[ours.index(n)]
    numbers = [staff.n for staff in text.staves]
    if not theirs and not _known_labels(text, encoding):
        if len(encoding.staves) == len(text.staves):
            return encoding.staves[numbers.index(n)].n
        if len(encoding.staves) == 1 and n == numbers[0]:
            return encoding.staves[0].n
    return (
        f"it is not clear which of its staves is staff {n} of the text: "
        f"it has {staff_list(encoding.staves)}"
    )


def _label(passage: Passage, n: int) -> str:
    return next((staff.label.casefold() for staff in passage.staves if staff.n == n), "")


def _of_label(passage: Passage, label: str) -> list[int]:
    return [staff.n for staff in passage.staves if label and staff.label.casefold() == label]


def _known_labels(text: Passage, encoding: Passage) -> set[str]:
    """Return the labels that both have."""
    return {s.label.casefold() for s in text.staves if s.label} & {
        s.label.casefold() for s in encoding.staves
    }
