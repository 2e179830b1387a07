"""Which part of the text an encoding covers: all that lies between its first and its last bar.

In come the aligned pairs and what the bars are known by; out go the pairs of that part. A few bars
at its edge that happen to be like others far away are taken back to where the rest stands.
"""

from __future__ import annotations

from collections.abc import Sequence

from pipeline.collation.beside import BarPair
from pipeline.collation.movement_alignment import Bars, distance, tokens

Pairs = tuple[BarPair, ...]


def encoded_part(pairs: Pairs, text: Bars, reading: Bars) -> Pairs:
    """Leave out the text's bars before the first and after the last that the encoding holds."""
    pairs = _with_edge_taken_back(_trimmed(pairs), text, reading)
    turned = _trimmed(pairs)[::-1]
    return _trimmed(_with_edge_taken_back(turned, text, reading)[::-1])


def _trimmed(pairs: Sequence[BarPair]) -> Pairs:
    held = [index for index, pair in enumerate(pairs) if pair.reading is not None]
    return tuple(pairs[held[0] : held[-1] + 1]) if held else ()


def _with_edge_taken_back(pairs: Pairs, text: Bars, reading: Bars) -> Pairs:
    """Close the first stretch of missing bars, if the bars before it are as well at its end.

    "As well" allows one token for each bar of the stretch: one changed note does not send a bar to
    its like in the reprise. Bars that are the same, printed number and all, stay.
    """
    edge = 0
    while edge < len(pairs) and None not in (pairs[edge].text, pairs[edge].reading):
        edge += 1
    end = edge
    while end < len(pairs) and pairs[end].reading is None:
        end += 1
    gap = end - edge
    if not gap or edge > gap or end == len(pairs):
        return pairs
    texts = [pair.text for pair in pairs[:end]][-edge:]
    closed = tuple(BarPair(at, pair.reading) for at, pair in zip(texts, pairs[:edge], strict=True))
    before, after = (_cost(some, text, reading) for some in (pairs[:edge], closed))
    if before == 0 or after - before > tokens(gap):
        return pairs
    return closed + pairs[end:]


def _cost(pairs: Pairs, text: Bars, reading: Bars) -> int:
    return sum(
        distance(text[pair.text], reading[pair.reading])
        for pair in pairs
        if pair.text is not None and pair.reading is not None
    )
