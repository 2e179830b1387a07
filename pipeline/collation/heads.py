"""What two notes or chords that stand at the same time have differently.

In come one event of either side; out go kinds of difference, each with the way it differs. Stem,
beam and placement carry no meaning here and are not looked at.
"""

from __future__ import annotations

from collections import Counter

from pipeline.collation.model import Change, DifferenceKind
from pipeline.score.model import Event, NoteHead

BOW_SIGNS = frozenset({"dnbow", "upbow"})
"""MEI data.ARTICULATION values that are bow signs, not articulations."""

Found = tuple[DifferenceKind, Change]


def compare_chord(text: Event, reading: Event) -> tuple[Found, ...]:
    """Compare two notes or chords of the same duration in all that they carry."""
    return (
        *_compare_pitches(text, reading),
        *_compare_signs(text, reading),
        *compare_articulations(text, reading),
    )


def compare_articulations(text: Event, reading: Event) -> tuple[Found, ...]:
    """Compare articulations and bow signs, whatever their order."""
    found: list[Found] = []
    for kind, wanted in ((DifferenceKind.ARTICULATION, False), (DifferenceKind.BOW_SIGN, True)):
        one = Counter(a for a in text.articulations if (a in BOW_SIGNS) is wanted)
        other = Counter(a for a in reading.articulations if (a in BOW_SIGNS) is wanted)
        if one != other:
            found.append((kind, _change(bool(one - other), bool(other - one))))
    return tuple(found)


def compare_ties_ended(text: Event, reading: Event) -> Change | None:
    """Return how ties that come from before differ, None where they do not."""
    ended = [
        (one.tie in {"m", "t"}, other.tie in {"m", "t"}) for one, other in _matched(text, reading)
    ]
    return _tie_change(ended)


def _compare_pitches(text: Event, reading: Event) -> tuple[Found, ...]:
    one, other = Counter(text.pitches), Counter(reading.pitches)
    if one == other:
        return ()
    if not one - other:
        return ((DifferenceKind.NOTES_ADDED, Change.ADDED),)
    if not other - one:
        return ((DifferenceKind.NOTES_MISSING, Change.MISSING),)
    return ((DifferenceKind.PITCH, Change.OTHERWISE),)


def _compare_signs(text: Event, reading: Event) -> tuple[Found, ...]:
    """Compare printed accidentals (of the same pitch only), head shapes and ties begun."""
    found: list[Found] = []
    pairs = _matched(text, reading)
    same_pitch = [(a, b) for a, b in pairs if a.pitch == b.pitch]
    if any(a.accidental != b.accidental for a, b in same_pitch):
        less = any(a.accidental and not b.accidental for a, b in same_pitch)
        more = any(b.accidental and not a.accidental for a, b in same_pitch)
        found.append((DifferenceKind.ACCIDENTAL, _change(less, more)))
    if any(a.shape != b.shape for a, b in pairs):
        found.append((DifferenceKind.NOTE_HEAD, Change.OTHERWISE))
    tie = _tie_change([(a.tie in {"i", "m"}, b.tie in {"i", "m"}) for a, b in pairs])
    if tie is not None:
        found.append((DifferenceKind.TIE, tie))
    return tuple(found)


def _matched(text: Event, reading: Event) -> list[tuple[NoteHead, NoteHead]]:
    """Pair the heads of the same pitch; what is left is paired from low to high if it can be."""
    left = list(reading.heads)
    pairs, unmatched = [], []
    for head in text.heads:
        same = next((other for other in left if other.pitch == head.pitch), None)
        if same is None:
            unmatched.append(head)
        else:
            left.remove(same)
            pairs.append((head, same))
    if len(unmatched) == len(left):
        unmatched.sort(key=lambda head: head.pitch.midi)
        left.sort(key=lambda head: head.pitch.midi)
        pairs += zip(unmatched, left, strict=True)
    return pairs


def _change(less: bool, more: bool) -> Change:
    if less and not more:
        return Change.MISSING
    if more and not less:
        return Change.ADDED
    return Change.OTHERWISE


def _tie_change(ties: list[tuple[bool, bool]]) -> Change | None:
    if all(one == other for one, other in ties):
        return None
    return _change(
        any(one and not other for one, other in ties),
        any(other and not one for one, other in ties),
    )
