"""What text and witnesses have where they differ, in plain words for the messages of the rules."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from pipeline.checks.wording import kind_in_words
from pipeline.collation.collated import BarDifference
from pipeline.collation.model import Change, Difference, DifferenceKind, Side
from pipeline.score.model import Event, Marking, MarkingKind, Passage
from pipeline.score.resolve import note_name

_NOTHING = "nothing"
_BOW_SIGNS = frozenset({"dnbow", "upbow"})
_WHOLE = frozenset({Change.OTHERWISE, Change.MISSING, Change.ADDED})
"""Changes of which both sides are told; of the others the change says all."""

_SIGNS: Mapping[str, str] = {
    "acc": "accent",
    "dnbow": "down bow",
    "harm": "harmonic circle",
    "marc": "marcato wedge",
    "stacc": "staccato dot",
    "stacciss": "staccato wedge",
    "ten": "tenuto stroke",
    "upbow": "up bow",
}
"""Articulations by MEI data.ARTICULATION; one that is not here is told as it is encoded."""

_OTHER_SIGNS: Mapping[MarkingKind, str] = {
    MarkingKind.ARPEGGIO: "an arpeggio",
    MarkingKind.BREATH: "a breath mark",
    MarkingKind.FERMATA: "a fermata",
    MarkingKind.GLISSANDO: "a glissando",
    MarkingKind.OCTAVE: "an octave sign",
    MarkingKind.PEDAL: "a pedal sign",
}
_VALUES: Mapping[str, str] = {
    "long": "long",
    "breve": "breve",
    "1": "semibreve",
    "2": "minim",
    "4": "crotchet",
    "8": "quaver",
    "16": "semiquaver",
    "32": "demisemiquaver",
}
_HAIRPINS = {"cres": "crescendo hairpin", "dim": "diminuendo hairpin"}
_ACCIDENTALS = {"s": "♯", "f": "♭", "n": "♮", "x": "𝄪", "ss": "𝄪", "ff": "𝄫"}


def sides_in_words(difference: Difference, who: str, several: bool) -> str:
    """Return `pitch: the text has d″, E and S have b′`; `who` are the witnesses in words."""
    what = kind_in_words(difference)
    have = "have" if several else "has"
    if difference.change not in _WHOLE:
        return f"{what} in {who}"
    ours, theirs = (_side(side, difference.kind) for side in (difference.text, difference.reading))
    if difference.kind is DifferenceKind.TIE:
        ours, theirs = ("a tie", "none") if difference.change is Change.MISSING else ("none", "one")
    return f"{what}: the text has {ours}, {who} {have} {theirs}"


def bars_in_words(difference: BarDifference, who: str, several: bool, text: Passage) -> str:
    """Return `bars missing: E lacks bars 5 to 7`, or what it has more."""
    if difference.text:
        first, last = (text.bars[index].n for index in (difference.text[0], difference.text[-1]))
        bars = f"bar {first}" if len(difference.text) == 1 else f"bars {first} to {last}"
        return f"{difference.change}: {who} {'lack' if several else 'lacks'} {bars}"
    count = len(difference.reading)
    bars = "a bar" if count == 1 else f"{count} bars"
    where = "before the first"
    if difference.after >= 0:
        where = f"after bar {text.bars[difference.after].n}"
    return f"{difference.change}: {who} {'have' if several else 'has'} {bars} more {where}"


def _side(side: Side, kind: DifferenceKind) -> str:
    markings = side.markings
    if markings:
        return " and ".join(map(_marking, markings))
    return _events([event for event in side.events if event.heads], kind) or _NOTHING


def _events(events: Sequence[Event], kind: DifferenceKind) -> str:
    match kind:
        case DifferenceKind.ARTICULATION | DifferenceKind.BOW_SIGN:
            bows = kind is DifferenceKind.BOW_SIGN
            signs = [s for e in events for s in e.articulations if (s in _BOW_SIGNS) == bows]
            return ", ".join(_SIGNS.get(sign, sign) for sign in dict.fromkeys(signs))
        case DifferenceKind.ACCIDENTAL:
            signs = [head.accidental for e in events for head in e.heads if head.accidental]
            return ", ".join(_ACCIDENTALS.get(sign, sign) for sign in signs)
        case DifferenceKind.NOTE_HEAD:
            shapes = [head.shape or "ordinary" for e in events for head in e.heads]
            return f"{' and '.join(dict.fromkeys(shapes))} heads"
        case DifferenceKind.RHYTHM:
            return ", ".join(f"{note_name(e)} as {_value(e.written)}" for e in events)
        case _:
            return " ".join(map(note_name, events))


def _value(written: str) -> str:
    value = written.rstrip(".")
    dotted = ("", "dotted ", "double-dotted ")[min(len(written) - len(value), 2)]
    return dotted + _VALUES.get(value, f"1/{value} note")


def _marking(marking: Marking) -> str:
    match marking.kind:
        case MarkingKind.FINGERING:
            return f"fingering {marking.content}"
        case MarkingKind.HAIRPIN:
            return _HAIRPINS.get(marking.content, "hairpin")
        case MarkingKind.DYNAMIC | MarkingKind.WORDS | MarkingKind.TEMPO:
            return f"“{marking.content}”"
        case MarkingKind.METER:
            return marking.content
        case MarkingKind.ENDING:
            return f"ending {marking.content}"
        case MarkingKind.REPEAT:
            what, _, inside = marking.content.partition(" ")
            of_bar = "inside" if inside else f"at the {'beginning' if what == 'start' else what} of"
            return f"a repeat sign {of_bar} the bar"
        case MarkingKind.SLUR | MarkingKind.TRILL | MarkingKind.MORDENT | MarkingKind.TURN:
            return f"a {marking.kind.value}"
        case _:
            return _OTHER_SIGNS.get(marking.kind, "a sign of another kind")
