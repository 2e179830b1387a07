"""Which part of the text an encoding covers: all that lies between its first and its last bar.

In come what the bars of both are known by; out go the pairs of that part. Where a part could stand
in several places, its printed numbers decide, then what is nearest: a few bars at its edge that
happen to be like others far away are taken back to where the rest stands.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from pipeline.collation.beside import BarPair
from pipeline.collation.movement_alignment import Bars, align, pair_cost, tokens
from pipeline.collation.part_alignment import part_of

Pairs = tuple[BarPair, ...]


def encoded_part(text: Bars, reading: Bars) -> Pairs:
    """Align the bars and leave out the text's before the first and after the last encoded."""
    pairs = _with_edge_taken_back(_trimmed(align(text, reading).pairs), text, reading)
    turned = _with_edge_taken_back(_trimmed(pairs)[::-1], text, reading)
    pairs = _without_the_rest_of_the_text(_trimmed(turned[::-1]), text, reading)
    by_number = _where_the_numbers_say(text, reading)
    if by_number and by_number[0] != pairs[0]:
        allowed = tokens(_SLIPS * len(reading))
        if _cost(by_number, text, reading) <= _cost(pairs, text, reading) + allowed:
            return by_number
    return pairs


_FEWER = 0.75
"""Share of the text's bars up to which an encoding clearly holds only a part of them."""

_STRAY = 3
"""Unlike bars that stand against each other from which on a part may have been drawn out of place;
fewer are bars composed anew."""


def _without_the_rest_of_the_text(pairs: Pairs, text: Bars, reading: Bars) -> Pairs:
    """Return the pairs of a part to which the text's other bars are nothing, if these are better.

    Aligned with all of the text, bars that only the part has are drawn to bars outside it. Aligned
    without, the first bar may be torn from its place before a stretch that is missing. So those
    pairs are taken that have more in common; of another work nothing has.
    """
    if len(reading) > _FEWER * len(text) or _unlike(pairs, text, reading) < _STRAY:
        return pairs
    part = tuple(part_of(text, reading))
    if not part:
        return pairs
    if _in_common(part, text, reading) > max(0, _in_common(pairs, text, reading)):
        return part
    return pairs


def _in_common(pairs: Pairs, text: Bars, reading: Bars) -> int:
    """Return how much more paired bars have in common than not, in tokens of both."""
    return sum(_likenesses(pairs, text, reading))


def _unlike(pairs: Pairs, text: Bars, reading: Bars) -> int:
    return sum(like < 0 for like in _likenesses(pairs, text, reading))


def _likenesses(pairs: Pairs, text: Bars, reading: Bars) -> Iterator[int]:
    """Yield for each pair of bars with notes by how many tokens more they are alike than not."""
    for pair in pairs:
        if pair.text is not None and pair.reading is not None:
            one, other = text[pair.text].tokens, reading[pair.reading].tokens
            if one and other:
                yield 2 * len(one & other) - len(one ^ other)


_SLIPS = 2
"""Tokens a bar by which a few bars may be less like those of their own numbers than others."""


def _where_the_numbers_say(text: Bars, reading: Bars) -> Pairs:
    """Return the pairs of a part that does not begin with bar 1 and has numbers of the text.

    None where that leaves its first or last bar without an answer: its numbers are then its own,
    as where the upbeat is counted as bar 1.
    """
    numbers = [bar.n for bar in text]
    first, last = reading[0].n, reading[-1].n
    if numbers.count(first) != 1 or numbers.count(last) != 1:
        return ()
    start, end = numbers.index(first), numbers.index(last) + 1
    if start == 0 or end - start < len(reading):
        return ()
    found = align(text[start:end], reading).pairs
    if found[0].text is None or found[-1].text is None:
        return ()
    return _trimmed([BarPair(None if p.text is None else p.text + start, p.reading) for p in found])


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
    return sum(pair_cost(pair, text, reading) for pair in pairs)
