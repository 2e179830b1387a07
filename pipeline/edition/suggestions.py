"""What somebody may have meant: the nearest of the words that could stand there."""

from __future__ import annotations

from collections.abc import Iterable

from rapidfuzz.distance import DamerauLevenshtein

_LIKE_ENOUGH = 0.6
"""Share of letters that must agree; lower values offer words that have nothing in common."""


def closest(written: str, known: Iterable[str]) -> str | None:
    """Return the known word that is most like the written one, or None if none is like it.

    Capitals, hyphens, spaces and underlines count as alike. The measure is the optimal edit
    distance with transpositions (F. Damerau, "A technique for computer detection and correction
    of spelling errors", 1964), as a share of the longer word; ties go to the alphabet.
    """
    best: tuple[float, str] | None = None
    for word in sorted(known):
        likeness = DamerauLevenshtein.normalized_similarity(_bare(written), _bare(word))
        if likeness >= _LIKE_ENOUGH and (best is None or likeness > best[0]):
            best = (likeness, word)
    return best[1] if best else None


def _bare(word: str) -> str:
    return word.casefold().translate(_SEPARATORS)


_SEPARATORS = str.maketrans({"-": "", "_": "", " ": "", "\xa0": ""})
