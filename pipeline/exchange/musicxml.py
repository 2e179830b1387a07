"""EXCHANGE: the solo part as MusicXML 4.0, for notation programs.

In comes the layered MEI; out goes one `score-partwise` file, the same bytes for the same input, and
an account of what the standard has no place for.

The part is written from the layered MEI and not from records and base text. Every layer has been
written there already, with whose it is; taking layers out, alternatives and emendations are solved
there; beams, clefs, stems are nowhere else. The file is then read by the reader of the score stage,
so that times and pitches come from the typed model: what is written here is what the checks saw.

- Pitches are those of the model. Where the staff sounds an octave lower than it is written,
  `transpose` says so, as players are used to it.
- Several movements follow each other in one part, each on a new page under its title, for a
  MusicXML file has one `movement-title` only; all attributes are stated anew.
- Who put a mark there is told by `level` (see `provenance`), brackets, slants and dashes follow the
  house style. Layers, records, and what is not held are fields of `miscellaneous`.
- Nothing is used that MusicXML 3.1 lacks, so that older programs open the file.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace

from lxml import etree

from pipeline.edition.layer import Layer
from pipeline.engrave.house_style import HouseStyle
from pipeline.exchange.account import Account, LeftOut
from pipeline.exchange.bars import (
    Opening,
    WrittenStaff,
    divisions_of,
    has_music,
    voices_of,
    write_bars,
)
from pipeline.exchange.directions import Direction, directions_of
from pipeline.exchange.header import Heading, header_of
from pipeline.exchange.notations import hang_notations, notes_of
from pipeline.exchange.notes import Pen, tuplet_ends
from pipeline.exchange.provenance import provenance_of, put_footnotes
from pipeline.exchange.rhythm import rhythm_of
from pipeline.exchange.signatures import changes_of
from pipeline.exchange.signs import Hung
from pipeline.exchange.source import MovementMusic, StaffMusic, music_of
from pipeline.exchange.technical import hang_technical
from pipeline.exchange.xml import MUSICXML_VERSION, make, put
from pipeline.score.mei_names import Element
from pipeline.strings.instruments import Instrument

_PART = "P1"
_OSSIA_VOICES = 10
"""Added to the voices of an ossia: voices belong to a part, not to a staff."""
_LARGEST_OSSIA = 0.8
_DOCTYPE = (
    '<!DOCTYPE score-partwise PUBLIC "-//Recordare//DTD MusicXML 4.0 Partwise//EN" '
    '"http://www.musicxml.org/dtds/partwise.dtd">'
)


@dataclass(frozen=True)
class Wished:
    """What of the edition the file is to hold; the text is always among it.

    `staff` is the edited staff; `movements` are numbers, all where there are none; `without` are
    records that a player leaves out.
    """

    layers: frozenset[Layer]
    staff: int
    instrument: Instrument | None = None
    movements: frozenset[int] = frozenset()
    without: frozenset[str] = frozenset()


@dataclass(frozen=True)
class ExchangedPart:
    """The file, the xml:ids of events and signs that it holds, and what it does not."""

    musicxml: bytes
    held: frozenset[str]
    lost: frozenset[str]
    left_out: tuple[LeftOut, ...] = field(default=())


def write_musicxml(
    mei: bytes, wished: Wished, heading: Heading, style: HouseStyle
) -> ExchangedPart:
    """Return the part as MusicXML 4.0.

    `mei` is what `layers.write_layers` wrote. Raises NotLayeredError, NotMeiError. The time grows
    with the number of notes.
    """
    movements = [
        one
        for one in music_of(mei, wished.layers, wished.staff, wished.without)
        if not wished.movements or one.n in wished.movements
    ]
    account = Account()
    staves = [one for m in movements for one in (m.main, m.ossia) if one is not None]
    divisions = divisions_of(
        (event for one in staves for event in one.events),
        (marking for one in staves for marking in one.markings),
    )
    has_ossia = any(m.ossia is not None for m in movements)
    measures: list[Element] = []
    for index, movement in enumerate(movements):
        account.begin(movement.n)
        title = movement.title if len(movements) > 1 else ""
        opening = Opening(index > 0, title)
        measures += _movement(
            movement, opening, divisions, has_ossia, wished.instrument, style, account
        )
    root = make("score-partwise", version=MUSICXML_VERSION)
    put_footnotes(measures, heading.footnotes)
    only = movements[0].title if len(movements) == 1 else ""
    name = heading.part_name or (movements[0].main.label if movements else "")
    heading = replace(heading, part_name=name)
    root.extend(header_of(heading, wished.layers, only, measures, account.left_out()))
    part = put(root, "part", id=_PART)
    part.extend(measures)
    return ExchangedPart(
        _as_bytes(root), frozenset(account.held), frozenset(account.lost), account.left_out()
    )


def _as_bytes(root: Element) -> bytes:
    etree.indent(root)
    return etree.tostring(root, encoding="UTF-8", xml_declaration=True, doctype=_DOCTYPE) + b"\n"


def _movement(
    movement: MovementMusic,
    opening: Opening,
    divisions: int,
    has_ossia: bool,
    instrument: Instrument | None,
    style: HouseStyle,
    account: Account,
) -> Sequence[Element]:
    main = _staff(movement.main, divisions, "2" if has_ossia else "", 0, instrument, style, account)
    ossia = None
    if has_ossia:
        music = movement.ossia or _silent(movement.main)
        sizes = _sizes(music, style) if movement.ossia is not None else {}
        ossia = _staff(music, divisions, "1", _OSSIA_VOICES, instrument, style, account, sizes)
    for one in movement.undrawn:
        kind = "second alternative over the same bar"
        kind = f"sign of a {kind}" if one.is_sign else kind
        account.lose(one.xml_id, kind, "the part prints one there", one.bar)
    return write_bars(main, ossia, opening)


def _silent(music: StaffMusic) -> StaffMusic:
    """Return a staff beside another that has nothing in any bar."""
    passage = replace(music.passage, events=(), markings=())
    return replace(music, passage=passage)


def _sizes(ossia: StaffMusic, style: HouseStyle) -> Mapping[int, float]:
    """Return the bars that have an alternative, and how small its staff is."""
    found: dict[int, float] = {}
    printed = has_music(ossia)
    for event in ossia.events:
        if event.bar in printed and event.bar not in found:
            layer = provenance_of(ossia.elements[event.xml_id], ossia.names).layer
            found[event.bar] = min(style.look(layer).staff, _LARGEST_OSSIA)
    return found


def _staff(
    music: StaffMusic,
    divisions: int,
    staff: str,
    first_voice: int,
    instrument: Instrument | None,
    style: HouseStyle,
    account: Account,
    sizes: Mapping[int, float] | None = None,
) -> WrittenStaff:
    """Find out what is to be written for one staff, before the first bar is written."""
    hung = Hung()
    notes = notes_of(music, (e for voice in voices_of(music) for e in voice))
    hang_notations(notes, hung, style, account)
    hang_technical(notes, hung, style, instrument, account)
    directions: dict[int, list[Direction]] = {}
    for one in directions_of(music, style, instrument, account):
        directions.setdefault(one.at.bar, []).append(one)
    account.hold(*(m.xml_id for m in music.markings if m.kind == "tie"))
    rhythm = rhythm_of(music)
    ends = tuplet_ends(rhythm)
    pen = Pen(music, rhythm, hung, account, divisions, staff, first_voice, ends)
    return WrittenStaff(pen, directions, changes_of(music) if sizes is None else {}, sizes)
