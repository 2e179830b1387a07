"""One event in, its `note` elements out: pitch, value, accidental, ties, beams, what hangs on it.

MusicXML 4.0 `note`; a chord is several, each after the first with `chord`.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction

from pipeline.exchange.account import Account
from pipeline.exchange.notations import ACCIDENTALS
from pipeline.exchange.provenance import level, provenance_of
from pipeline.exchange.rhythm import Rhythm, Tuplet, tuplet_notation, type_of
from pipeline.exchange.signs import ORNAMENTS, PLAIN, Hung, Sign, notations
from pipeline.exchange.source import StaffMusic
from pipeline.exchange.xml import figures, make, put
from pipeline.score.mei_names import XML_ID, Element, chosen_children, local
from pipeline.score.model import Event, EventKind, NoteHead

_SHAPES: Mapping[str, str] = {
    "diamond": "diamond", "x": "x", "slash": "slash", "backslash": "back slashed",
    "square": "square", "rectangle": "square", "+": "cross", "isotriangle": "triangle",
    "circle": "circled", "quarter": "normal", "half": "normal", "whole": "normal",
}  # fmt: skip
"""MEI data.HEADSHAPE as MusicXML 4.0 names it (notehead-value)."""

_BRACKETS = {"paren": "parentheses", "brack": "bracket"}
_REPEAT_SIGNS = frozenset({"mRpt", "mRpt2", "multiRpt", "beatRpt", "halfmRpt"})


@dataclass(frozen=True)
class Pen:
    """What is needed to write the notes of one staff. `staff` is empty where there is only one."""

    music: StaffMusic
    rhythm: Rhythm
    hung: Hung
    account: Account
    divisions: int
    staff: str
    first_voice: int
    tuplets: Mapping[str, Sequence[tuple[Tuplet, str]]]

    def voice(self, event: Event) -> str:
        """Return the voice of an event; no two staves share a voice."""
        return str(event.voice + self.first_voice)

    def length(self, quarters: Fraction) -> str:
        """Return a duration in divisions."""
        return figures(quarters * self.divisions)


def tuplet_ends(rhythm: Rhythm) -> Mapping[str, Sequence[tuple[Tuplet, str]]]:
    """Return the ends of tuplets by event: outer ones begin first and stop last."""
    found: dict[str, list[tuple[Tuplet, str]]] = {}
    for tuplet in sorted(rhythm.tuplets, key=lambda one: one.number):
        found.setdefault(tuplet.first, []).append((tuplet, "start"))
    for tuplet in sorted(rhythm.tuplets, key=lambda one: -one.number):
        found.setdefault(tuplet.last, []).append((tuplet, "stop"))
    return found


def elements_of(event: Event, pen: Pen, octaves: int) -> list[Element]:
    """Return what an event is in MusicXML; `octaves` is how much higher it sounds than written."""
    element = pen.music.elements.get(event.xml_id)
    _tell_what_it_stands_for(event, element, pen)
    pen.account.hold(event.xml_id)
    if event.kind is EventKind.SPACE:
        return [_forward(event, pen)] if event.duration else []
    if not event.heads:
        return [_rest(event, element, pen)]
    return [_note(event, at, element, pen, octaves) for at in range(len(event.heads))]


def _tell_what_it_stands_for(event: Event, element: Element | None, pen: Pen) -> None:
    name = "" if element is None else local(element)
    bar = pen.music.bar_name(event.bar)
    if name in _REPEAT_SIGNS:
        why = "the notes it stands for are not written out"
        pen.account.lose(f"{event.xml_id} {name}", f"repeat sign {name}", why, bar)
    if name == "multiRest" and element is not None and element.get("num", "1") != "1":
        why = "each bar needs a rest of its own"
        pen.account.lose(f"{event.xml_id} {name}", "rest of several bars", why, bar)
    for verse in [] if element is None else element.iter("{*}verse"):
        why = "words that are sung are not read"
        pen.account.lose(verse.get(XML_ID, event.xml_id + " verse"), "lyrics", why, bar)


def _forward(event: Event, pen: Pen) -> Element:
    made = make("forward")
    put(made, "duration", pen.length(event.duration))
    put(made, "voice", pen.voice(event))
    if pen.staff:
        put(made, "staff", pen.staff)
    return made


def _rest(event: Event, element: Element | None, pen: Pen) -> Element:
    made = make("note", id=event.xml_id)
    if event.grace:
        put(made, "grace")
    whole_bar = element is not None and local(element) in {"mRest", "multiRest"}
    put(made, "rest", measure="yes" if whole_bar else "")
    if not event.grace:
        put(made, "duration", pen.length(event.duration))
    _common(made, event, element, pen, "")
    for one in notations([*_enclosing(event, pen), *pen.hung.signs.get(event.xml_id, ())]):
        made.append(one)
    return made


def _note(event: Event, at: int, element: Element | None, pen: Pen, octaves: int) -> Element:
    head = event.heads[at]
    own = pen.music.elements.get(head.xml_id)
    made = make("note", id=head.xml_id)
    if event.grace:
        put(made, "grace", slash="yes" if _is_slashed(element) else "")
    if at:
        put(made, "chord")
    _pitch(made, head, octaves)
    if not event.grace:
        put(made, "duration", pen.length(event.duration))
    ties = {"i": ["start"], "m": ["stop", "start"], "t": ["stop"]}.get(head.tie, [])
    for end in ties:
        put(made, "tie", type=end)
    _common(made, event, element, pen, _accidental_name(head), own, head, first=not at)
    signs = [Sign(PLAIN, (make("tied", type=end),)) for end in ties]
    signs += _enclosing(event, pen) if not at else ()
    signs += pen.hung.signs.get(head.xml_id, ())
    made.extend(notations(signs))
    return made


def _is_slashed(element: Element | None) -> bool:
    return element is not None and (
        element.get("stem.mod") == "1slash"
        or element.get("grace") == "unacc"
        or any(one.get("grace") == "unacc" for one in element.iterancestors("{*}graceGrp"))
    )


def _pitch(made: Element, head: NoteHead, octaves: int) -> None:
    pitch = put(made, "pitch")
    put(pitch, "step", head.pitch.step)
    if head.pitch.alter:
        put(pitch, "alter", str(head.pitch.alter))
    put(pitch, "octave", str(head.pitch.octave - octaves))


def _accidental_name(head: NoteHead) -> str:
    return ACCIDENTALS.get(head.accidental, "")


def _common(
    made: Element,
    event: Event,
    element: Element | None,
    pen: Pen,
    accidental: str,
    own: Element | None = None,
    head: NoteHead | None = None,
    first: bool = True,
) -> None:
    """Write what follows the duration, in the order in which the schema has it."""
    bearer = own if own is not None else element
    told = None if bearer is None else level([provenance_of(bearer, pen.music.names)])
    if told is not None:
        made.append(told)
    put(made, "voice", pen.voice(event))
    _value(made, event, element, pen)
    if head is not None and head.accidental:
        _accidental(made, head, accidental, own, event, pen)
    modification = pen.rhythm.modifications.get(event.xml_id)
    if modification is not None:
        ratio = put(made, "time-modification")
        put(ratio, "actual-notes", str(modification[0]))
        put(ratio, "normal-notes", str(modification[1]))
    stem = "" if element is None else element.get("stem.dir", "")
    if head is not None and stem in {"up", "down"}:
        put(made, "stem", stem)
    if head is not None and head.shape:
        _shape(made, head, event, pen)
    if pen.staff:
        put(made, "staff", pen.staff)
    for number, line in enumerate(pen.rhythm.beams.get(event.xml_id, ()) if first else (), 1):
        put(made, "beam", line, number=str(number))


def _value(made: Element, event: Event, element: Element | None, pen: Pen) -> None:
    if not event.written:
        return
    name = type_of(event)
    if not name:
        key, why = f"{event.xml_id} {event.written}", "there is no such note value"
        pen.account.lose(key, f"note value {event.written}", why, pen.music.bar_name(event.bar))
        return
    cue = element is not None and element.get("cue") == "true"
    put(made, "type", name, size="cue" if cue else "")
    for _ in range(event.written.count(".")):
        put(made, "dot")


def _accidental(
    made: Element, head: NoteHead, name: str, own: Element | None, event: Event, pen: Pen
) -> None:
    if not name:
        kind, why = f"accidental {head.accidental}", "there is no such sign"
        pen.account.lose(f"{head.xml_id} accid", kind, why, pen.music.bar_name(event.bar))
        return
    accid = next(
        (one for one in ([] if own is None else chosen_children(own)) if local(one) == "accid"),
        None,
    )
    around = "" if accid is None else _BRACKETS.get(accid.get("enclose", ""), "")
    function = "" if accid is None else accid.get("func", "")
    accidental = put(made, "accidental", name)
    if around:
        accidental.set(around, "yes")
    if function == "caution":
        accidental.set("cautionary", "yes")
    if function == "edit":
        accidental.set("editorial", "yes")


def _shape(made: Element, head: NoteHead, event: Event, pen: Pen) -> None:
    name = _SHAPES.get(head.shape)
    if name is None:
        kind, why = f"note head {head.shape}", "there is no such head"
        pen.account.lose(f"{head.xml_id} head", kind, why, pen.music.bar_name(event.bar))
        return
    put(made, "notehead", name)


def _enclosing(event: Event, pen: Pen) -> list[Sign]:
    """Return the ends of tuplets and the tremolo of an event."""
    found = [Sign(PLAIN, (tuplet_notation(*one),)) for one in pen.tuplets.get(event.xml_id, ())]
    tremolo = pen.rhythm.tremolos.get(event.xml_id)
    if tremolo is not None:
        found.append(Sign(ORNAMENTS, (make("tremolo", str(tremolo[1]), type=tremolo[0]),)))
    return found
