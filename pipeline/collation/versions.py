"""Where a witness or a fragment has the music of a place.

In come a span of the text and an encoding laid beside it, or a passage; out goes the version that
stands beside the place, or the reason, in words, why there is nothing for it.
"""

from __future__ import annotations

from collections.abc import Collection, Sequence

from pipeline.collation.bars import bars_beside, bars_of
from pipeline.collation.beside import Beside, Obstacle
from pipeline.collation.model import Version
from pipeline.edition.quoting import listed
from pipeline.score.model import Passage, Span, Staff


def witness_version(
    text: Passage, span: Span, beside: Beside, siglum: str, hand: str | None
) -> Version | str:
    """Return the witness's bars that answer the place, or why there are none.

    A bar that the witness lacks between two that are encoded counts as missing in the witness; one
    before the first or after the last that is encoded was not encoded.
    """
    if beside.obstacle not in {None, Obstacle.NO_STAFF}:
        return str(beside.obstacle)
    if span.staff not in beside.staves:
        return str(staff_answering(text, span.staff, beside.passage))
    wanted = bars_of(span)
    absent = [text.bars[index].n for index in wanted if index not in beside.reading_bar]
    if absent:
        return f"its encoding has no {bar_list(absent)}"
    pairs = bars_beside(wanted, beside)
    bars = tuple(pair.reading for pair in pairs if pair.reading is not None)
    staff = beside.staves[span.staff]
    return Version(beside.passage, bars, staff, "encoding", (siglum,), hand, beside)


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


def staff_answering(text: Passage, n: int, encoding: Passage) -> int | str:
    """Return the encoding's staff that answers the text's staff n, or why none is known to.

    The label decides, among staves of one label their order; where no label is shared, where those
    that are left have none on one side, or where those that are shared stand at the same places
    among as many staves, the order: "Cello" here is "Violoncello" there. A single staff of a label
    that the text does not know answers the first: a part names itself as it likes.
    """
    ours, theirs = (_of_label(passage, _label(text, n)) for passage in (text, encoding))
    if theirs and len(theirs) == len(ours):
        return theirs[ours.index(n)]
    left_ours, left_theirs = _left_over(text, encoding), _left_over(encoding, text)
    if len(left_ours) == len(left_theirs) and n in left_ours:
        bare = {_label(text, m) for m in left_ours}, {_label(encoding, m) for m in left_theirs}
        if {""} in bare or not _known_labels(text, encoding) or _same_places(text, encoding):
            return left_theirs[left_ours.index(n)]
    single = len(encoding.staves) == 1 and n == text.staves[0].n
    if single and not _known_labels(text, encoding):
        return encoding.staves[0].n
    return (
        f"it is not clear which of its staves is staff {n} of the text: "
        f"it has {staff_list(encoding.staves)}"
    )


def label_remedy(text: Passage, staves: Collection[int]) -> str:
    """Return how to make it clear which staves of an encoding are those of the text.

    `staves` are those of the text that are not known; only labels that it has can be given.
    """
    bare = [str(staff.n) for staff in text.staves if staff.n in staves and not staff.label]
    if not bare:
        return "Give its staves the labels of the text."
    which = f"staff {bare[0]}" if len(bare) == 1 else f"staves {listed(bare, 'and')}"
    return f"Label {which} in the text, and give its own staves the same labels."


def _label(passage: Passage, n: int) -> str:
    return next((staff.label.casefold() for staff in passage.staves if staff.n == n), "")


def _of_label(passage: Passage, label: str) -> list[int]:
    return [staff.n for staff in passage.staves if label and staff.label.casefold() == label]


def _left_over(passage: Passage, other: Passage) -> list[int]:
    """Return the staves whose label does not say which staff of the other they answer."""
    labels = {staff.n: staff.label.casefold() for staff in passage.staves}
    return [
        n
        for n, label in labels.items()
        if not label or len(_of_label(passage, label)) != len(_of_label(other, label))
    ]


def _same_places(text: Passage, encoding: Passage) -> bool:
    """Return whether labels that both have stand at the same places among as many staves."""
    known = _known_labels(text, encoding)
    ours, theirs = (
        [staff.label.casefold() if staff.label.casefold() in known else "" for staff in of.staves]
        for of in (text, encoding)
    )
    return ours == theirs


def _known_labels(text: Passage, encoding: Passage) -> set[str]:
    """Return the labels that both have."""
    return {s.label.casefold() for s in text.staves if s.label} & {
        s.label.casefold() for s in encoding.staves
    }
