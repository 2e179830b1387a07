"""What a string player reads on a note: digits, strings, harmonics, bow signs, other articulations.

MusicXML 4.0 `technical` and `articulations`; MEI `fing`, `artic` and the `dir` that name a string.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping

from pipeline.engrave.house_style import HouseStyle
from pipeline.exchange.account import Account
from pipeline.exchange.notations import Notes
from pipeline.exchange.provenance import Provenance, brackets_of, provenance_on
from pipeline.exchange.signs import ARTICULATIONS, TECHNICAL, Hung, Sign
from pipeline.exchange.source import StaffMusic
from pipeline.exchange.xml import make, put
from pipeline.score.mei_names import XML_ID, Element, chosen_children, local
from pipeline.score.model import Event, Marking, MarkingKind
from pipeline.strings.instruments import ROMAN, Instrument

_ARTICULATIONS: Mapping[str, tuple[str, str]] = {
    "acc": (ARTICULATIONS, "accent"), "stacc": (ARTICULATIONS, "staccato"),
    "ten": (ARTICULATIONS, "tenuto"), "stacciss": (ARTICULATIONS, "staccatissimo"),
    "marc": (ARTICULATIONS, "strong-accent"), "spicc": (ARTICULATIONS, "spiccato"),
    "ten-stacc": (ARTICULATIONS, "detached-legato"), "doit": (ARTICULATIONS, "doit"),
    "scoop": (ARTICULATIONS, "scoop"), "plop": (ARTICULATIONS, "plop"),
    "fall": (ARTICULATIONS, "falloff"), "stress": (ARTICULATIONS, "stress"),
    "unstress": (ARTICULATIONS, "unstress"),
    "dnbow": (TECHNICAL, "down-bow"), "upbow": (TECHNICAL, "up-bow"),
    "open": (TECHNICAL, "open-string"), "stop": (TECHNICAL, "stopped"),
    "lhpizz": (TECHNICAL, "stopped"), "snap": (TECHNICAL, "snap-pizzicato"),
    "dbltongue": (TECHNICAL, "double-tongue"), "trpltongue": (TECHNICAL, "triple-tongue"),
    "fingernail": (TECHNICAL, "fingernails"), "heel": (TECHNICAL, "heel"),
    "toe": (TECHNICAL, "toe"), "tap": (TECHNICAL, "tap"),
}  # fmt: skip
"""MEI data.ARTICULATION as MusicXML 4.0 names it."""

_ONLY_THE_SIGN = {"lhpizz": ("left-hand pizzicato", "its plus is in the file as `stopped`")}
"""What the standard has the sign of but not the meaning: in words, and what stands for it."""

_BOW_SIGNS = frozenset({"dnbow", "upbow"})
_HARMONICS = frozenset({"harm", "flageolet"})
_EXCHANGED = re.compile(r"^([0-4T])\s*[–-]\s*([0-4])$")
_PARTS = {
    "harmonic base": "base-pitch",
    "harmonic touching": "touching-pitch",
    "harmonic sounding": "sounding-pitch",
}
_THUMB = "T"


def hang_technical(
    notes: Notes, hung: Hung, style: HouseStyle, instrument: Instrument | None, account: Account
) -> None:
    """Hang harmonics, articulations, digits and strings on the notes of a staff."""
    for event in notes.music.events:
        if event.heads:
            _harmonics(event, notes.music, hung)
        _articulations(event, notes, hung, style, account)
    for marking in notes.music.markings:
        if marking.kind is MarkingKind.FINGERING:
            _digit(marking, notes, hung, style, account)
        elif names_string(marking, notes.music, instrument):
            _string(marking, notes, hung, instrument, account)


def names_string(marking: Marking, music: StaffMusic, instrument: Instrument | None) -> bool:
    """Whether words only name the string of a note, as a fingering record has it written."""
    tokens = music.elements[marking.xml_id].get("type", "").split()
    return (
        marking.kind is MarkingKind.WORDS
        and "string" in tokens
        and bool(marking.start_id)
        and bool(_numbers(marking.content, instrument))
    )


def _numbers(written: str, instrument: Instrument | None) -> list[int]:
    """Return the numbers of strings named as "G", "IV" or "G+D"; 1 is the highest."""
    found = []
    for name in written.split("+"):
        pitch = instrument.string(name) if instrument is not None else None
        if instrument is not None and pitch is not None:
            found.append(instrument.strings.index(pitch) + 1)
        elif name in ROMAN:
            found.append(ROMAN.index(name) + 1)
        else:
            return []
    return found


def _string(
    marking: Marking, notes: Notes, hung: Hung, instrument: Instrument | None, account: Account
) -> None:
    music = notes.music
    event = music.passage.by_id[marking.start_id]
    first = notes.written_on(marking.start_id)
    if first is None:
        kind, why = "string over no note", "it hangs on a note there"
        account.lose(marking.xml_id, kind, why, music.bar_name(marking.start.bar))
        return
    account.hold(marking.xml_id)
    provenance = provenance_on(music, music.elements[marking.xml_id])
    numbers = _numbers(marking.content, instrument)
    ranked = sorted(event.heads, key=lambda head: head.pitch.midi)
    holders = [head.xml_id for head in ranked] if len(ranked) == len(numbers) > 1 else []
    for index, number in enumerate(numbers):
        made = make("string", str(number), placement=_side(marking))
        hung.add(
            holders[index] if holders else first,
            Sign(TECHNICAL, (made,), provenance, mark=marking.xml_id if not index else ""),
        )


def _side(marking: Marking) -> str:
    return marking.side if marking.side in {"above", "below"} else ""


def _digit(marking: Marking, notes: Notes, hung: Hung, style: HouseStyle, account: Account) -> None:
    music = notes.music
    note = notes.written_on(marking.start_id) if marking.start_id else notes.at(marking.start)
    element = music.elements[marking.xml_id]
    if note is None:
        kind, why = "fingering over no note", "it hangs on a note there"
        account.lose(marking.xml_id, kind, why, music.bar_name(marking.start.bar))
        return
    account.hold(marking.xml_id)
    provenance = provenance_on(music, element)
    look = style.look(provenance.layer).fingering
    more = {"placement": _side(marking)}
    if provenance.added:
        more["alternate"] = "" if element.get("n", "1") == "1" else "yes"
        more["font_style"] = "italic" if look.slant == "italic" else ""
    brackets = brackets_of("fingering", provenance, style)
    fingers = tuple(_fingers(marking.content, more))
    hung.add(note, Sign(TECHNICAL, fingers, provenance, brackets, marking.xml_id))


def _fingers(written: str, more: Mapping[str, str]) -> Iterator[Element]:
    """Yield the elements of one fingering: two where a finger is exchanged for another."""
    exchanged = _EXCHANGED.match(written)
    if written == _THUMB:
        yield make("thumb-position", placement=more["placement"])
    elif exchanged and exchanged[1] != _THUMB:
        yield make("fingering", exchanged[1], **more)
        yield make("fingering", exchanged[2], substitution="yes", **more)
    else:
        yield make("fingering", written, **more)


def _harmonics(event: Event, music: StaffMusic, hung: Hung) -> None:
    """Say of each note of a harmonic whether it is stopped, touched or heard."""
    touched = [head for head in event.heads if head.shape == "diamond"]
    told = {head.xml_id: _told_part(head.xml_id, music) for head in event.heads}
    for head in event.heads:
        part = told[head.xml_id]
        if not part and touched and len(event.heads) > 1:
            part = "touching-pitch" if head in touched else "base-pitch"
        if part:
            made = make("harmonic", print_object="no")
            put(made, "artificial")
            put(made, part)
        elif head in touched:
            made = make("harmonic", print_object="no")
            put(made, "natural")
            put(made, "touching-pitch")
        else:
            continue
        hung.add(head.xml_id, Sign(TECHNICAL, (made,)))


def _told_part(xml_id: str, music: StaffMusic) -> str:
    handle = music.elements[xml_id].get("type", "")
    return next((part for words, part in _PARTS.items() if words in handle), "")


def _articulations(
    event: Event, notes: Notes, hung: Hung, style: HouseStyle, account: Account
) -> None:
    music = notes.music
    element = music.elements.get(event.xml_id)
    if element is None or not event.articulations:
        return
    for bearer, written, name in _written(element):
        key = f"{event.xml_id} {name}"
        note = notes.written_on(bearer) or notes.written_on(event.xml_id)
        provenance = provenance_on(music, written)
        sign = None if note is None else _sign(name, written, provenance, style)
        if note is None or sign is None:
            account.lose(
                key, f"articulation {name}", "there is no such sign", music.bar_name(event.bar)
            )
            continue
        hung.add(note, sign)
        if name in _ONLY_THE_SIGN:
            account.lose(key, *_ONLY_THE_SIGN[name], music.bar_name(event.bar))
        else:
            account.hold(key)


def _written(element: Element) -> Iterator[tuple[str, Element, str]]:
    """Yield the note or chord that bears an articulation, what says so, and its name."""
    notes = [one for one in chosen_children(element) if local(one) == "note"]
    for bearer in (element, *notes):
        xml_id = bearer.get(XML_ID, "")
        for name in bearer.get("artic", "").split():
            yield xml_id, bearer, name
        for child in chosen_children(bearer):
            if local(child) == "artic":
                for name in child.get("artic", "").split():
                    yield xml_id, child, name


def _sign(name: str, written: Element, provenance: Provenance, style: HouseStyle) -> Sign | None:
    place = written.get("place", "")
    mark = written.get(XML_ID, "") if local(written) == "artic" else ""
    side = place if local(written) == "artic" and place in {"above", "below"} else ""
    if name in _HARMONICS:
        made = make("harmonic", placement=side)
        put(made, "natural")
        return Sign(TECHNICAL, (made,), provenance, mark=mark)
    if name not in _ARTICULATIONS:
        return None
    group, tag = _ARTICULATIONS[name]
    kind = "bow sign" if name in _BOW_SIGNS else ""
    made = make(tag, placement=side)
    return Sign(group, (made,), provenance, brackets_of(kind, provenance, style), mark)
