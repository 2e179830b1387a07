"""A collation for programs: one JSON object with stable keys, described in DEVELOPERS.md."""

from __future__ import annotations

import json
from collections import Counter
from collections.abc import Mapping

from pipeline.checks.wording import number
from pipeline.collation.bar_signs import KINDS_OF_BARS, element_of
from pipeline.collation.collated import BarDifference, Collation, Departure
from pipeline.collation.model import Difference, Side
from pipeline.desk.collation import Collated
from pipeline.desk.plain_words import plain_words
from pipeline.score.model import Moment, Passage
from pipeline.typeset.collation_figures import kind_of
from pipeline.typeset.collation_words import CollationWords

Row = dict[str, object]


def collation_json(collated: Collated) -> str:
    """Return the collation with its figures, ending in a line break.

    Kinds and changes are those of the collation, words are in the edition's main language. Beats
    are text, exact, as a record may write them.
    """
    answer = {
        "language": collated.wording.code,
        "collations": [_collation(one, collated) for one in collated.collations.values()],
        "differences": [_departure(one, collated) for one in collated.shown],
    }
    return json.dumps(answer, ensure_ascii=False, indent=2) + "\n"


def _collation(collation: Collation, collated: Collated) -> Row:
    beside, text = collation.beside, collated.material.texts[collation.movement]
    key = (collation.siglum, collation.movement)
    paired = {p.text for p in beside.pairs if p.text is not None and p.reading is not None}
    own = [d for d in collated.departures if collation.siglum in d.witnesses and
           d.movement == collation.movement]  # fmt: skip
    return {
        "witness": collation.siglum,
        "movement": collation.movement,
        "file": beside.passage.file,
        "obstacle": beside.obstacle.value if beside.obstacle else None,
        "likeness": round(beside.likeness, 4),
        "bars": len(text.bars),
        "bars_compared": len(paired),
        "notes_compared": _notes(text, beside.staves, paired),
        "staves": {str(ours): theirs for ours, theirs in beside.staves.items()},
        "missing_staves": list(beside.missing_staves),
        "further_staves": list(beside.further_staves),
        "shifts": [
            {"staff": staff, "steps": shift.steps, "semitones": shift.semitones}
            for staff, shift in beside.shifts.items()
        ],
        "differences": dict(Counter(map(kind_of, own))),
        "open": sum(one.open for one in own),
        "set_aside": {kind.value: n for kind, n in collated.set_aside[key].items()},
    }


def _notes(text: Passage, staves: Mapping[int, int], bars: set[int]) -> int:
    events = (e for e in text.events if e.bar in bars and e.staff in staves)
    return sum(len(event.heads) for event in events)


def _departure(departure: Departure, collated: Collated) -> Row:
    text = collated.material.texts[departure.movement]
    words = CollationWords(text, departure.movement, collated.wording)
    first = departure.differences[0]
    if isinstance(first, BarDifference):
        told = _bars(first, departure, words, collated)
    else:
        told = _difference(first, departure, words, collated)
    return {
        "movement": departure.movement,
        **told,
        "witnesses": list(departure.witnesses),
        "answered_by": list(departure.answers),
        "proposed_by": list(departure.proposed),
        "open": departure.open,
    }


def _bars(
    difference: BarDifference, departure: Departure, words: CollationWords, collated: Collated
) -> Row:
    bars, readings = words.text.bars, words.bars(difference)
    ids = {}
    for siglum, own in zip(departure.witnesses, departure.differences, strict=True):
        if isinstance(own, BarDifference):
            theirs = collated.collations[siglum, departure.movement].beside.passage.bars
            ids[siglum] = [theirs[index].xml_id for index in own.reading]
    last = difference.text[-1] if difference.text else difference.at
    before_first = not difference.text and difference.after < 0
    return {
        "bar": None if before_first else bars[difference.at].n,
        "beat": None,
        "to": None if before_first else {"bar": bars[last].n, "beat": None},
        "staff": None,
        "kind": difference.change.value,
        "change": difference.change.value.removeprefix("bars "),
        "text": {
            "words": plain_words(readings.text),
            "ids": [bars[index].xml_id for index in difference.text],
        },
        "reading": {"words": plain_words(readings.reading), "ids": ids},
    }


def _difference(
    first: Difference, departure: Departure, words: CollationWords, collated: Collated
) -> Row:
    collation = collated.collations[departure.witnesses[0], departure.movement]
    readings = words.readings(first, collation.beside)
    by_witness = zip(departure.witnesses, departure.differences, strict=True)
    start, end = _moment(first.start, words.text), _moment(first.end, words.text)
    of_bar = first.kind in KINDS_OF_BARS
    if of_bar:
        start = end = {**start, "beat": None}
    return {
        **start,
        "to": end,
        "staff": None if of_bar else first.staff,
        "kind": first.kind.value,
        "change": first.change.value,
        "text": {"words": plain_words(readings.text), "ids": _ids(first.text)},
        "reading": {
            "words": plain_words(readings.reading),
            "ids": {
                siglum: _ids(difference.reading)
                for siglum, difference in by_witness
                if isinstance(difference, Difference)
            },
        },
    }


def _moment(moment: Moment, text: Passage) -> Row:
    bar = text.bars[min(moment.bar, len(text.bars) - 1)]
    return {"bar": bar.n, "beat": number(moment.offset / bar.beat + 1)}


def _ids(side: Side) -> list[str]:
    return [event.xml_id for event in side.events] + list(map(element_of, side.markings))
