"""A tree in MEI 5.1 with identifiers in, a `Passage` out: staves, bars, events and markings.

The tree itself goes along as bytes, for the stages that write MEI again.
"""

from __future__ import annotations

from dataclasses import replace

from lxml import etree

from pipeline.score.bars import Printed, ScoreReader
from pipeline.score.markings import MarkingReader
from pipeline.score.mei_names import Element, elements_with, local, tag
from pipeline.score.model import Event, Marking, MarkingKind, Passage
from pipeline.score.trouble import Trouble

_OCTAVES = {"8": 1, "15": 2, "22": 3}


def passage_of(root: Element, file: str, trouble: Trouble) -> Passage | None:
    """Return what the one score of the document holds, or None (told) where there is none."""
    score = _only_score(root, trouble)
    if score is None:
        return None
    _tell_copies(score, trouble)
    printed = ScoreReader(score, trouble).read()
    if not printed.bars:
        trouble.error(
            "no-bars", score, "the score has no measure", "A base text or reading needs its bars."
        )
        return None
    markings = MarkingReader(printed, trouble).read()
    events = _under_octave_signs(printed, markings, trouble)
    return Passage(
        file, printed.staves, tuple(printed.bars), tuple(events), markings, _as_bytes(root)
    )


def _as_bytes(root: Element) -> bytes:
    """Return the document with what stands before its first element, a DOCTYPE apart."""
    before = [etree.tostring(one, with_tail=False) for one in root.itersiblings(preceding=True)]
    lines = [b'<?xml version="1.0" encoding="UTF-8"?>', *reversed(before)]
    return b"\n".join([*lines, etree.tostring(root, encoding="UTF-8", with_tail=False), b""])


def _tell_copies(score: Element, trouble: Trouble) -> None:
    for element in elements_with(score, "copyof"):
        trouble.error(
            "copy-not-written-out",
            element,
            f"this {local(element)} stands for a copy of another; its notes are not read",
            "Write the music out, so that remarks can speak of it.",
        )


def _only_score(root: Element, trouble: Trouble) -> Element | None:
    scores = list(root.iter(tag("score")))
    if len(scores) == 1:
        return scores[0]
    if not scores:
        trouble.error(
            "no-score",
            root,
            "the file holds no score",
            "Encode the music in music/body/mdiv/score.",
        )
    else:
        trouble.error(
            "several-movements",
            scores[1],
            f"the file holds {len(scores)} scores; a file of the edition holds one movement",
            "Write each movement to a file of its own.",
        )
    return None


def _under_octave_signs(
    printed: Printed, markings: tuple[Marking, ...], trouble: Trouble
) -> list[Event]:
    """Return the events with those under an 8va or 15ma sign at the octave they sound."""
    signs = [m for m in markings if m.kind is MarkingKind.OCTAVE and _octave_shift(m.content)]
    if not signs:
        return printed.events
    shifts: dict[tuple[int, int], list[Marking]] = {}
    for sign in signs:
        if sign.end is None:
            trouble.warn(
                "octave-sign-without-end",
                None,
                f"the octave sign {sign.xml_id} does not say where it ends; no note is moved by it",
                "Give it an `endid` or a `tstamp2`.",
                f"bar {printed.bars[sign.start.bar].n}",
            )
            continue
        for bar in range(sign.start.bar, sign.end.bar + 1):
            shifts.setdefault((sign.staff, bar), []).append(sign)
    return [_moved(event, shifts, printed.stated) for event in printed.events]


def _moved(event: Event, shifts: dict[tuple[int, int], list[Marking]], stated: set[str]) -> Event:
    octaves = sum(
        _octave_shift(sign.content)
        for sign in shifts.get((event.staff, event.bar), ())
        if sign.end is not None and sign.start <= event.start <= sign.end
    )
    if not octaves or not event.heads:
        return event
    heads = tuple(
        head
        if head.xml_id in stated
        else replace(head, pitch=replace(head.pitch, octave=head.pitch.octave + octaves))
        for head in event.heads
    )
    return replace(event, heads=heads)


def _octave_shift(content: str) -> int:
    dis, _, side = content.partition(" ")
    return _OCTAVES.get(dis, 0) * (-1 if side == "below" else 1)
