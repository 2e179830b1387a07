"""A reading that several witnesses share, shown by the music of the first of them.

In come its excerpt, the text's and the place; out goes the excerpt with the text's words, dynamics
and digits outside the place. The witnesses agree within the place only; what the first of them has
elsewhere in these bars must not be taken for a reading of all.
"""

from __future__ import annotations

from collections.abc import Iterator
from copy import deepcopy
from dataclasses import replace

from lxml import etree

from pipeline.collation.model import Version
from pipeline.engrave.excerpts import Excerpt
from pipeline.engrave.mei_tree import XML_ID, local
from pipeline.score.model import Marking, Moment, Passage, Span

_SIGNS = frozenset({"dir", "dynam", "tempo", "fing"})


def text_outside_place(
    shared: Excerpt, version: Version, text: Excerpt, passage: Passage, span: Span
) -> Excerpt:
    """Return the reading with the text's signs outside the place.

    `text` is the excerpt of the text, cut from `passage`, with as many bars as `shared`.
    """
    ours = {text.prefix + marking.xml_id: marking for marking in passage.markings}
    theirs = {shared.prefix + marking.xml_id: marking for marking in version.passage.markings}
    text_bars = range(text.first_bar, text.first_bar + len(text.bars))
    answering = dict(zip(version.bars, text_bars, strict=True))
    bars = []
    for index, bar in enumerate(shared.bars):
        kept = [
            element
            for element in bar.markings
            if not _is_sign_outside(element, theirs, answering, span)
        ]
        same = {n: n for n in text_bars}
        for element in text.bars[index].markings:
            if _is_sign_outside(element, ours, same, span):
                kept += _attached(
                    element, ours[element.get(XML_ID, "")], shared, version, answering
                )
        bars.append(replace(bar, markings=tuple(kept)))
    return replace(shared, bars=tuple(bars))


def _is_sign_outside(
    element: etree._Element, markings: dict[str, Marking], answering: dict[int, int], span: Span
) -> bool:
    marking = markings.get(element.get(XML_ID, ""))
    if marking is None or local(element) not in _SIGNS or marking.start.bar not in answering:
        return False
    moment = Moment(answering[marking.start.bar], marking.start.offset)
    return not span.start <= moment < span.end


def _attached(
    element: etree._Element,
    marking: Marking,
    shared: Excerpt,
    version: Version,
    answering: dict[int, int],
) -> Iterator[etree._Element]:
    """Yield the text's sign at the reading's note of the same time; nothing where it has none."""
    copy = deepcopy(element)
    copy.set(XML_ID, f"{shared.prefix}text-{marking.xml_id}")
    if copy.get("startid") is None:
        yield copy
        return
    for event in version.passage.events:
        if event.staff != version.staff or event.grace or not event.heads:
            continue
        if Moment(answering.get(event.bar, -1), event.onset) == marking.start:
            copy.set("startid", f"#{shared.prefix}{event.xml_id}")
            yield copy
            return
