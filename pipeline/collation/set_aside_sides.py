"""How often a sign that both sides have stands on the other side of the staff.

What a file leaves to the engraver stands where it usually does (common practice, no source):
dynamics and hairpins below; tempo, ornaments, fermatas, fingerings and bow signs above; slurs and
dots at the heads, away from the stems. Where no usage decides, nothing is counted.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass

from pipeline.collation.beside import Beside
from pipeline.collation.notation import Notation
from pipeline.collation.same_events import EventPair
from pipeline.score.model import Marking, MarkingKind, Moment, Passage

_USUAL: Mapping[MarkingKind, str] = {
    **dict.fromkeys((MarkingKind.DYNAMIC, MarkingKind.HAIRPIN, MarkingKind.PEDAL), "below"),
    **dict.fromkeys((MarkingKind.TRILL, MarkingKind.MORDENT, MarkingKind.TURN), "above"),
    **dict.fromkeys((MarkingKind.TEMPO, MarkingKind.FERMATA, MarkingKind.FINGERING), "above"),
}
_SIDE_OF_FORM = {"norm": "above", "inv": "below"}
_ABOVE = frozenset({"upbow", "dnbow", "harm", "open", "snap"})
_AT_HEADS = frozenset({"stacc", "ten", "stacciss", "spicc"})

_Key = tuple[MarkingKind, str, Moment, Moment | None]


@dataclass(frozen=True)
class _Stands:
    """On which side a sign stands: as the file states, and as is usual; empty where unknown."""

    stated: str
    usual: str

    def elsewhere(self, other: _Stands) -> bool:
        """Return whether the sides differ; nothing is said where neither file states one."""
        one, two = self.stated or self.usual, other.stated or other.usual
        return bool(self.stated or other.stated) and bool(one and two) and one != two


def sides_exchanged(
    text: Passage,
    beside: Beside,
    staff: int,
    pairs: Sequence[EventPair],
    ours: Notation,
    theirs: Notation,
) -> int:
    """Count signs that are the same sign at the same place but stand on another side."""
    other = beside.staves[staff]
    waiting: dict[_Key, list[_Stands]] = defaultdict(list)
    in_text = _in_text(beside)
    for key, side in _sides(beside.passage, other, theirs, in_text):
        waiting[key].insert(0, side)
    found = 0
    for key, side in _sides(text, staff, ours, lambda moment: moment):
        if waiting[key]:
            found += side.elsewhere(waiting[key].pop())
    alike = (pair for pair in pairs if pair.same_sound)
    return found + sum(_articulations(pair, ours, theirs) for pair in alike)


def _in_text(beside: Beside) -> Callable[[Moment], Moment | None]:
    def moment_of_text(moment: Moment) -> Moment | None:
        bar = beside.text_bar.get(moment.bar)
        return None if bar is None else Moment(bar, moment.offset)

    return moment_of_text


def _sides(
    passage: Passage,
    staff: int,
    notation: Notation,
    in_text: Callable[[Moment], Moment | None],
) -> Iterator[tuple[_Key, _Stands]]:
    for marking in passage.markings:
        if marking.staff != staff or marking.kind in {MarkingKind.TIE, MarkingKind.OTHER}:
            continue
        start = in_text(marking.start)
        end = None if marking.end is None else in_text(marking.end)
        if start is None or (end is None and marking.end is not None):
            continue
        words = marking.content.split()
        if marking.kind is MarkingKind.FERMATA:
            forms = [_SIDE_OF_FORM[word] for word in words if word in _SIDE_OF_FORM]
            words = [word for word in words if word not in _SIDE_OF_FORM]
            usual = forms[0] if forms else "above"
        elif marking.kind is MarkingKind.SLUR:
            usual = _side_of_slur(passage, marking, notation)
        else:
            usual = _USUAL.get(marking.kind, "")
        yield (marking.kind, " ".join(words), start, end), _Stands(marking.side, usual)


def _side_of_slur(passage: Passage, slur: Marking, notation: Notation) -> str:
    """Return where a slur lies: above, unless all its notes have stems up; "" for two voices."""
    if slur.end is None:
        return ""
    events = [
        event
        for bar in range(slur.start.bar, slur.end.bar + 1)
        for event in passage.events_in.get((slur.staff, bar), ())
        if event.heads and slur.start <= event.start <= slur.end
    ]
    stems = {notation.stems.get(event.xml_id) for event in events}
    if len({event.voice for event in events}) != 1 or None in stems:
        return ""
    return "below" if stems == {"up"} else "above"


def _articulations(pair: EventPair, ours: Notation, theirs: Notation) -> int:
    shared = set(pair.text.articulations) & set(pair.reading.articulations)
    one, other = pair.text.xml_id, pair.reading.xml_id
    return sum(
        _articulation(sign, one, ours).elsewhere(_articulation(sign, other, theirs))
        for sign in shared
    )


def _articulation(sign: str, event: str, notation: Notation) -> _Stands:
    stem = notation.stems.get(event, "") if sign in _AT_HEADS else ""
    usual = "above" if sign in _ABOVE else {"up": "below", "down": "above"}.get(stem, "")
    return _Stands(notation.sides.get((event, sign), ""), usual)
