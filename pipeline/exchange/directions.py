"""Signs at a time of the bar, dynamics to octave signs: markings in, `direction` elements out.

MusicXML 4.0 `direction-type`: words, dynamics, wedge, dashes, metronome, octave-shift, pedal,
rehearsal. MEI Guidelines 5.1, chapters 4.3 (control events) and 4.3.4 (tempo, dir, dynam, hairpin).
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass

from pipeline.engrave.house_style import HouseStyle
from pipeline.exchange.account import Account
from pipeline.exchange.provenance import Provenance, brackets_of, identifier, level, provenance_on
from pipeline.exchange.source import StaffMusic
from pipeline.exchange.technical import names_string
from pipeline.exchange.tempo import per_minute, tempo_types
from pipeline.exchange.xml import figures, make, put
from pipeline.score.mei_names import Element, local
from pipeline.score.model import Marking, MarkingKind, Moment
from pipeline.strings.instruments import Instrument

DYNAMICS = frozenset(
    {"p", "pp", "ppp", "pppp", "ppppp", "pppppp", "f", "ff", "fff", "ffff", "fffff", "ffffff"}
    | {"mp", "mf", "sf", "sfp", "sfpp", "fp", "rf", "rfz", "sfz", "sffz", "fz", "n", "pf", "sfzp"}
)
"""Signs that MusicXML 4.0 has an element for (`dynamics`)."""

_GRADUAL = re.compile(r"(?:cresc|decresc|dim)")
_STRETCHED = frozenset({MarkingKind.HAIRPIN, MarkingKind.OCTAVE})
_DASHED = frozenset({MarkingKind.WORDS, MarkingKind.DYNAMIC, MarkingKind.TEMPO})
_WORDS = frozenset({"attacca", "stageDir", "sp"})
_PEDALS = {"down": "start", "up": "stop", "half": "start", "bounce": "change"}
_REPEATS = {"segno": "segno", "coda": "coda"}
_OCTAVES = {"8": "8", "15": "15", "22": "22"}
_LINE_ENDS = {"angledown": "down", "angleup": "up", "arrow": "arrow"}
_WEDGES = {"cres": "crescendo", "dim": "diminuendo"}
_UNREADABLE = "there is no such sign"


@dataclass(frozen=True)
class Direction:
    """What is printed at a moment. `ends` stand before what begins at the same moment; `last` says
    that the moment is the onset of the last note that an octave sign reaches. Without `types` it is
    a tempo that is not printed."""

    at: Moment
    types: tuple[Element, ...]
    placement: str = ""
    level: Element | None = None
    tempo: str = ""
    xml_id: str = ""
    ends: bool = False
    last: bool = False

    def element(self, offset: int, staff: str) -> Element:
        """Return the direction, so many divisions after what it is written before."""
        if not self.types:
            sound = make("sound", tempo=self.tempo)
            if offset:
                put(sound, "offset", str(offset))
            return sound
        made = make("direction", placement=self.placement, directive="yes" if self.tempo else "")
        if self.xml_id:
            made.set("id", self.xml_id)
        for one in self.types:
            put(made, "direction-type").append(one)
        if offset:
            put(made, "offset", str(offset))
        if self.level is not None:
            made.append(self.level)
        if staff:
            put(made, "staff", staff)
        if self.tempo not in {"", "?"}:
            put(made, "sound", tempo=self.tempo)
        return made


def directions_of(
    music: StaffMusic, style: HouseStyle, instrument: Instrument | None, account: Account
) -> list[Direction]:
    """Return the directions of a staff in the order of the markings; tell what is none."""
    found: list[Direction] = []
    stretched: dict[str, list[Marking]] = {}
    for marking in music.markings:
        if names_string(marking, music, instrument):
            continue
        element = music.elements[marking.xml_id]
        provenance = provenance_on(music, element)
        if marking.kind in _STRETCHED or local(element) == "bracketSpan":
            if marking.end is None:
                _lose(marking, f"{local(element)} without an end", "it needs one", music, account)
            else:
                stretched.setdefault(local(element), []).append(marking)
            continue
        types = _types(marking, element, provenance, style)
        if types is None:
            continue  # it hangs on notes
        tempo = _tempo(marking, element)
        if not types and tempo in {"", "?"}:
            _lose(marking, local(element), _UNREADABLE, music, account)
            continue
        account.hold(marking.xml_id)
        if marking.kind in _DASHED and marking.end is not None and marking.end > marking.start:
            stretched.setdefault("dashes", []).append(marking)
        found.append(
            Direction(
                marking.start,
                tuple(types),
                _side(marking),
                level([provenance], brackets_of("words", provenance, style)),
                tempo,
                identifier(provenance, marking.xml_id),
            )
        )
    for kind, markings in stretched.items():
        found += _with_ends(kind, markings, music, account)
    return found


def _lose(marking: Marking, kind: str, why: str, music: StaffMusic, account: Account) -> None:
    account.lose(marking.xml_id, kind, why, music.bar_name(marking.start.bar))


def _side(marking: Marking) -> str:
    return marking.side if marking.side in {"above", "below"} else ""


def _types(
    marking: Marking, element: Element, provenance: Provenance, style: HouseStyle
) -> list[Element] | None:
    """Return the contents of `direction-type`, empty where there is none, None for a notation."""
    match marking.kind:
        case MarkingKind.DYNAMIC:
            return _dynamics(marking.content) if marking.content else []
        case MarkingKind.WORDS:
            return [_words(marking, element, provenance, style)] if marking.content else []
        case MarkingKind.TEMPO:
            return tempo_types(marking, element)
        case MarkingKind.PEDAL:
            sign = _PEDALS.get(marking.content)
            return [make("pedal", type=sign, line="no")] if sign else []
        case MarkingKind.OTHER:
            return _other(marking, element)
        case _:
            return None


def _dynamics(content: str) -> list[Element]:
    """Return a dynamic with the words before and after its letters: "più f", "sempre pp".

    A cresc. or dim. is words, as programs expect it. What has no such sign is `other-dynamics`.
    """
    words = content.split()
    at = next((index for index, word in enumerate(words) if word in DYNAMICS), None)
    if at is None:
        if _GRADUAL.match(content):
            return [make("words", content)]
        made = make("dynamics")
        put(made, "other-dynamics", content)
        return [made]
    sign = make("dynamics")
    put(sign, words[at])
    before, after = " ".join(words[:at]), " ".join(words[at + 1 :])
    return [
        *([make("words", f"{before} ")] if before else []),
        sign,
        *([make("words", f" {after}")] if after else []),
    ]


def _words(
    marking: Marking, element: Element, provenance: Provenance, style: HouseStyle
) -> Element:
    slants = {one.get("fontstyle", "") for one in element.iter("{*}rend")} - {""}
    slant = slants.pop() if len(slants) == 1 else ""
    if "label" in element.get("type", "").split() and provenance.decisions:
        slant = style.look(provenance.decisions[0][0]).label.slant
    elif provenance.added and not slant:
        slant = style.look(provenance.layer).words.slant
    weight = "bold" if any(o.get("fontweight") == "bold" for o in element.iter("{*}rend")) else ""
    slant = {"italic": "italic", "upright": "normal", "normal": "normal"}.get(slant, "")
    return make("words", marking.content, font_style=slant, font_weight=weight)


def _other(marking: Marking, element: Element) -> list[Element] | None:
    name = local(element)
    if name == "caesura":
        return None
    if name in _WORDS and marking.content:
        return [make("words", marking.content)]
    if name == "reh" and marking.content:
        return [make("rehearsal", marking.content)]
    if name == "repeatMark":
        sign = _REPEATS.get(element.get("func", ""))
        if sign and not marking.content:
            return [make(sign)]
        if marking.content:
            return [make("words", marking.content)]
    return []


def _tempo(marking: Marking, element: Element) -> str:
    """Return quarter notes a minute where the sign says so, "?" for a tempo without a number."""
    if marking.kind is not MarkingKind.TEMPO:
        return ""
    quarters = per_minute(element)
    return "?" if quarters is None else figures(quarters)


def _with_ends(
    kind: str, markings: list[Marking], music: StaffMusic, account: Account
) -> Iterator[Direction]:
    extents = [
        ((m.start.bar, m.start.offset), (m.end.bar, m.end.offset)) for m in markings if m.end
    ]
    for marking, number in zip(markings, account.numbers.give(kind, extents), strict=True):
        element = music.elements[marking.xml_id]
        if number is None or marking.end is None:
            _lose(marking, local(element), "no more than 16 may be open at once", music, account)
            continue
        ends = _ENDS_OF[kind](marking, element)
        if ends is None:
            _lose(marking, local(element), _UNREADABLE, music, account)
            continue
        account.hold(marking.xml_id)
        provenance = provenance_on(music, element)
        told = level([provenance])
        for made in ends:
            made.set("number", str(number))
        xml_id = "" if kind == "dashes" else identifier(provenance, marking.xml_id)
        yield Direction(marking.start, (ends[0],), _side(marking), told, xml_id=xml_id)
        is_last = kind == MarkingKind.OCTAVE
        yield Direction(marking.end, (ends[1],), ends=True, last=is_last)


def _wedge(marking: Marking, element: Element) -> tuple[Element, Element] | None:
    form = _WEDGES.get(marking.content)
    if form is None:
        return None
    niente = "yes" if element.get("niente") == "true" else ""
    line = element.get("lform", "")
    start = make("wedge", type=form, line_type=line if line in {"dashed", "dotted"} else "")
    stop = make("wedge", type="stop")
    (start if form == "crescendo" else stop).attrib.update({"niente": niente} if niente else {})
    return start, stop


def _octave(marking: Marking, element: Element) -> tuple[Element, Element] | None:
    """Return the ends of an octave sign; `type` says where the notes are put on the page."""
    size = _OCTAVES.get(element.get("dis", ""))
    if size is None:
        return None
    way = "up" if element.get("dis.place") == "below" else "down"
    return make("octave-shift", type=way, size=size), make("octave-shift", type="stop", size=size)


def _bracket(_: Marking, element: Element) -> tuple[Element, Element]:
    line = element.get("lform", "")
    line = line if line in {"dashed", "dotted", "solid"} else ""
    ends = [_LINE_ENDS.get(element.get(name, ""), "none") for name in ("lstartsym", "lendsym")]
    start = make("bracket", type="start", line_end=ends[0], line_type=line)
    return start, make("bracket", type="stop", line_end=ends[1])


def _dashes(*_: object) -> tuple[Element, Element]:
    return make("dashes", type="start"), make("dashes", type="stop")


_ENDS_OF: Mapping[str, Callable[[Marking, Element], tuple[Element, Element] | None]] = {
    "hairpin": _wedge,
    "octave": _octave,
    "bracketSpan": _bracket,
    "dashes": _dashes,
}
