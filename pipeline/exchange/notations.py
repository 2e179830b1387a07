"""Signs that hang on notes, slurs to breath marks: markings in, elements of `notations` out.

MusicXML 4.0 `slur`, `ornaments`, `fermata`, `arpeggiate`, `glissando`, `slide`; MEI Guidelines 5.1,
chapter 4.3.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass

from pipeline.engrave.house_style import HouseStyle
from pipeline.exchange.account import Account
from pipeline.exchange.provenance import provenance_on
from pipeline.exchange.signs import ARTICULATIONS, ORNAMENTS, PLAIN, Hung, Sign
from pipeline.exchange.source import StaffMusic
from pipeline.exchange.xml import make
from pipeline.score.mei_names import Element, local
from pipeline.score.model import Event, EventKind, Marking, MarkingKind, Moment

ACCIDENTALS: Mapping[str, str] = {
    "s": "sharp", "f": "flat", "n": "natural", "x": "double-sharp", "ss": "sharp-sharp",
    "ff": "flat-flat", "xs": "triple-sharp", "sx": "triple-sharp", "ts": "triple-sharp",
    "tf": "triple-flat", "nf": "natural-flat", "ns": "natural-sharp", "su": "sharp-up",
    "sd": "sharp-down", "fu": "flat-up", "fd": "flat-down", "nu": "natural-up",
    "nd": "natural-down", "1qf": "quarter-flat", "3qf": "three-quarters-flat",
    "1qs": "quarter-sharp", "3qs": "three-quarters-sharp", "kf": "koron", "ks": "sori",
}  # fmt: skip
"""MEI data.ACCIDENTAL.WRITTEN as MusicXML 4.0 names it (accidental-value)."""

_FERMATAS = {"curved": "normal", "angular": "angled", "square": "square"}
_FORMS = {"norm": "upright", "inv": "inverted"}
_LINES = {"dashed": "dashed", "dotted": "dotted", "wavy": "wavy"}
_WITH_TWO_NOTES = {MarkingKind.SLUR: "slur", MarkingKind.GLISSANDO: "glissando"}


@dataclass(frozen=True)
class Notes:
    """Where the notes of a staff stand in the file; rests go by the id of their event.

    `order` counts them in the order in which they are written.
    """

    music: StaffMusic
    order: Mapping[str, tuple[int, int]]

    def written_on(self, xml_id: str) -> str | None:
        """Return the note that a sign on a note or event is written on: a chord's first."""
        if xml_id in self.order:
            return xml_id
        event = self.music.passage.by_id.get(xml_id)
        if event is None:
            return None
        return next((h.xml_id for h in event.heads if h.xml_id in self.order), None)

    def at(self, moment: Moment, last: bool = False) -> str | None:
        """Return what begins at a moment; with `last`, else the last that began in its bar."""
        events = [
            e
            for e in self.music.passage.events_in.get((self.music.staff, moment.bar), ())
            if e.kind is not EventKind.SPACE
        ]
        here = [e for e in events if e.onset == moment.offset and not e.grace]
        if not here and last:
            here = [e for e in events if e.onset <= moment.offset][-1:]
        return self.written_on(_id(here[0])) if here else None

    def start(self, marking: Marking) -> str | None:
        """Return the note on which a sign begins."""
        return (
            self.written_on(marking.start_id) if marking.start_id else self.at(marking.start, True)
        )

    def end(self, marking: Marking) -> str | None:
        """Return the note to which a sign reaches."""
        if marking.end_id:
            return self.written_on(marking.end_id)
        return None if marking.end is None else self.at(marking.end, True)


def _id(event: Event) -> str:
    return event.heads[0].xml_id if event.heads else event.xml_id


def notes_of(music: StaffMusic, written: Iterable[Event]) -> Notes:
    """Return the places of the notes, given the events in the order in which they are written."""
    order: dict[str, tuple[int, int]] = {}
    for number, event in enumerate(written):
        for xml_id in [head.xml_id for head in event.heads] or [event.xml_id]:
            order[xml_id] = (event.bar, number)
    return Notes(music, order)


def hang_notations(notes: Notes, hung: Hung, style: HouseStyle, account: Account) -> None:
    """Hang every marking that belongs to notes, digits apart; tell what cannot be held."""
    music = notes.music
    for kind in _WITH_TWO_NOTES:
        _with_two_notes(kind, notes, hung, style, account)
    for marking in music.markings:
        element = music.elements[marking.xml_id]
        make_sign = _ON_ONE_NOTE.get(marking.kind)
        if marking.kind is MarkingKind.OTHER and local(element) == "caesura":
            make_sign = _caesura
        if make_sign is None:
            continue
        note = notes.start(marking)
        if note is None:
            name = f"{local(element)} without a note"
            account.lose(marking.xml_id, name, "it hangs on a note there", _bar(music, marking))
            continue
        account.hold(marking.xml_id)
        sign = make_sign(marking, element)
        provenance = provenance_on(music, element)
        hung.add(note, Sign(sign.group, sign.elements, provenance, mark=marking.xml_id))
        if marking.kind is MarkingKind.ARPEGGIO:
            _arpeggio_of_others(notes, note, sign.elements[0], hung)


def _bar(music: StaffMusic, marking: Marking) -> str:
    return music.bar_name(marking.start.bar)


def _with_two_notes(
    kind: MarkingKind, notes: Notes, hung: Hung, style: HouseStyle, account: Account
) -> None:
    music = notes.music
    found: list[tuple[Marking, str, str]] = []
    for marking in music.markings:
        if marking.kind is not kind:
            continue
        start, end = notes.start(marking), notes.end(marking)
        if start is None or end is None or start == end:
            name, why = f"{_WITH_TWO_NOTES[kind]} without an end", "it needs a last note"
            ended = music.passage.by_id.get(marking.end_id)
            if ended is not None and ended.staff != music.staff:
                name, why = (
                    f"{_WITH_TWO_NOTES[kind]} to another staff",
                    "the part has not that staff",
                )
            account.lose(marking.xml_id, name, why, _bar(music, marking))
        else:
            found.append((marking, start, end))
    extents = [(notes.order[start], notes.order[end]) for _, start, end in found]
    numbers = account.numbers.give(kind, extents)
    for (marking, start, end), number in zip(found, numbers, strict=True):
        if number is None:
            why = "no more than 16 may be open at once"
            account.lose(marking.xml_id, _WITH_TWO_NOTES[kind], why, _bar(music, marking))
            continue
        account.hold(marking.xml_id)
        element = music.elements[marking.xml_id]
        provenance = provenance_on(music, element)
        for note, end_of in ((start, "start"), (end, "stop")):
            if kind is MarkingKind.SLUR:
                added = style.look(provenance.layer).slur if provenance.added else ""
                made = _slur(marking, element, end_of, number, added)
            else:
                made = _glissando(marking, element, end_of, number)
            mark = marking.xml_id if end_of == "start" else ""
            hung.add(note, Sign(PLAIN, (made,), provenance, mark=mark))


def _slur(marking: Marking, element: Element, end: str, number: int, added: str) -> Element:
    made = make("slur", type=end, number=str(number))
    if end == "start":
        line = _LINES.get(element.get("lform", ""), "") or added
        if line not in {"", "solid", "wavy"}:
            made.set("line-type", line)
        if marking.side in {"above", "below"}:
            made.set("placement", marking.side)
            made.set("orientation", {"above": "over", "below": "under"}[marking.side])
    return made


def _glissando(marking: Marking, element: Element, end: str, number: int) -> Element:
    """Return a wavy line as `glissando`, any other as `slide`, as the standard tells them apart."""
    form = element.get("lform", "")
    made = make("glissando" if form == "wavy" else "slide", type=end, number=str(number))
    made.set("line-type", form if form in {"dashed", "dotted", "wavy"} else "solid")
    if end == "start" and marking.content:
        made.text = marking.content
    return made


def _placed(name: str, marking: Marking, text: str | None = None, **more: str) -> Element:
    side = marking.side if marking.side in {"above", "below"} else ""
    return make(name, text, placement=side, **more)


def _trill(marking: Marking, element: Element) -> Sign:
    return Sign(ORNAMENTS, (_placed("trill-mark", marking), *_marks(element)))


def _mordent(marking: Marking, element: Element) -> Sign:
    name = "inverted-mordent" if element.get("form") == "upper" else "mordent"
    long = "yes" if element.get("long") == "true" else ""
    return Sign(ORNAMENTS, (_placed(name, marking, long=long), *_marks(element)))


def _turn(marking: Marking, element: Element) -> Sign:
    name = "inverted-turn" if element.get("form") == "lower" else "turn"
    if element.get("delayed") == "true":
        name = f"delayed-{name}"
    return Sign(ORNAMENTS, (_placed(name, marking), *_marks(element)))


def _marks(element: Element) -> tuple[Element, ...]:
    """Return the accidentals above and below an ornament."""
    return tuple(
        make("accidental-mark", ACCIDENTALS[element.get(name, "")], placement=side)
        for name, side in (("accidupper", "above"), ("accidlower", "below"))
        if element.get(name, "") in ACCIDENTALS
    )


def _fermata(marking: Marking, element: Element) -> Sign:
    """Return a fermata, its shape and form only where they are stated; one below is inverted."""
    shape = _FERMATAS.get(element.get("shape", ""), "")
    form = _FORMS.get(element.get("form", "inv" if marking.side == "below" else ""), "")
    return Sign(PLAIN, (make("fermata", shape or None, type=form),))


def _breath(marking: Marking, _: Element) -> Sign:
    return Sign(ARTICULATIONS, (_placed("breath-mark", marking, "comma"),))


def _caesura(marking: Marking, _: Element) -> Sign:
    return Sign(ARTICULATIONS, (_placed("caesura", marking, "normal"),))


def _arpeggio(_: Marking, element: Element) -> Sign:
    order = element.get("order", "")
    if order == "nonarp":
        return Sign(PLAIN, (make("non-arpeggiate", type="bottom"),))
    return Sign(PLAIN, (make("arpeggiate", direction=order if order in {"up", "down"} else ""),))


def _arpeggio_of_others(notes: Notes, first: str, written: Element, hung: Hung) -> None:
    """Write an arpeggio on every note of its chord; a bracket at its lowest and highest note."""
    event = notes.music.passage.by_id[first]
    others = [head for head in event.heads if head.xml_id != first]
    if written.tag == "non-arpeggiate":
        ranked = sorted(event.heads, key=lambda head: head.pitch.midi)
        if others:
            hung.signs[first].pop()
            hung.add(ranked[0].xml_id, Sign(PLAIN, (written,)))
            hung.add(ranked[-1].xml_id, Sign(PLAIN, (make("non-arpeggiate", type="top"),)))
        return
    for head in others:
        copy = make("arpeggiate", direction=written.get("direction", ""))
        hung.add(head.xml_id, Sign(PLAIN, (copy,)))


_ON_ONE_NOTE: Mapping[MarkingKind, Callable[[Marking, Element], Sign]] = {
    MarkingKind.TRILL: _trill,
    MarkingKind.MORDENT: _mordent,
    MarkingKind.TURN: _turn,
    MarkingKind.FERMATA: _fermata,
    MarkingKind.BREATH: _breath,
    MarkingKind.ARPEGGIO: _arpeggio,
}
