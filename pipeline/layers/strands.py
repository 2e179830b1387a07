"""A version's music lined up with the text: which of its bars, voices and notes answer which.

In come versions that stand beside the text; out goes one strand for each staff of a version's
music, however many records take a reading from it, with copies of its elements under new ids.
"""

from __future__ import annotations

from collections.abc import Sequence
from copy import deepcopy
from dataclasses import dataclass, field

from lxml import etree

from pipeline.collation.bars import pair_bars
from pipeline.collation.model import Decision, Version
from pipeline.layers.alignment import Block, align
from pipeline.layers.keys import keys_of, one_key, say_how_notes_sound
from pipeline.layers.names import Names
from pipeline.layers.sheet import Sheet, parse
from pipeline.layers.ties import ties_as_elements
from pipeline.score.identifiers import REFERENCES
from pipeline.score.mei_names import XML_ID, Element
from pipeline.score.model import Event, Moment, Passage

Events = tuple[Event, ...]


def references_of(element: Element) -> list[str]:
    """Return the names of the attributes of an element that point into the document."""
    names = [str(name) for name in element.attrib]
    return [n for n in names if n in REFERENCES and "#" in element.get(n, "")]


def voice_of(passage: Passage, staff: int, bar: int | None, voice: int) -> Events:
    """Return the events of one voice in the order of the file."""
    if bar is None:
        return ()
    return tuple(e for e in passage.events_in.get((staff, bar), ()) if e.voice == voice)


def voices_in(passage: Passage, staff: int, bar: int | None) -> list[int]:
    """Return the numbers of the voices that have events there."""
    if bar is None:
        return []
    return sorted({e.voice for e in passage.events_in.get((staff, bar), ())})


@dataclass(frozen=True)
class Line:
    """One voice of one bar of a version, aligned with the text's."""

    events: Events
    blocks: tuple[Block, ...]

    def blocks_at(self, start: int, end: int) -> list[Block]:
        """Return the blocks that hold any of the text's events of that index range."""
        return [b for b in self.blocks if b.text_from < end and start < b.text_to]


class Music:
    """A passage's tree, parsed once for all strands that take copies from it.

    `markings` are the passage's, and its ties where they were attributes: see `ties_as_elements`.
    """

    def __init__(self, passage: Passage, ties_are_elements: bool) -> None:
        root = parse(passage.mei)
        self.by_id = {e.get(XML_ID, ""): e for e in root.iter(etree.Element)}
        ties = ties_as_elements(passage, self.by_id) if ties_are_elements else ()
        self.markings = {one.xml_id: one for one in (*passage.markings, *ties)}
        self.keys = keys_of(root)
        self._bars = {self.by_id[bar.xml_id]: bar.index for bar in passage.bars}

    def bar_of(self, element: Element) -> int | None:
        """Return the index of the bar in which an element of the tree stands."""
        around = (self._bars[one] for one in element.iterancestors() if one in self._bars)
        return next(around, None)


@dataclass(eq=False)
class Strand:
    """One staff of one version's music beside one staff of a movement.

    `copied` gives the new ids of what was copied, `staves` the strand of each of its staves, by
    the version's number; both are one for all staves of a version.
    """

    text: Passage
    text_staff: int
    version: Version
    owner: str
    names: Names
    music: Music
    same_key: bool
    copied: dict[str, str]
    staves: dict[int, Strand]
    bars: dict[int, int | None] = field(default_factory=dict)

    def __post_init__(self) -> None:
        self._lines: dict[tuple[int, int], Line] = {}
        self._text_bar: dict[int, int] = {}

    @property
    def by_id(self) -> dict[str, Element]:
        """The elements of the version's own tree, not to be changed, by xml:id."""
        return self.music.by_id

    @property
    def passage(self) -> Passage:
        """The version's own music."""
        return self.version.passage

    @property
    def whole(self) -> bool:
        """Whether this is all that a witness has on the staff: its encoding beside the text."""
        return self.version.beside is not None and self.version.hand is None

    def know_bars(self, decision: Decision, version: Version) -> None:
        """Learn which bars stand against each other at the place of the decision."""
        if version.beside is not None:
            return
        for pair in pair_bars(self.text, decision.span, version):
            if pair.text is not None:
                self.bars.setdefault(pair.text, pair.reading)
                if pair.reading is not None:
                    self._text_bar.setdefault(pair.reading, pair.text)

    def text_bar(self, bar: int) -> int | None:
        """Return the text's bar that stands against a bar of the version."""
        if self.version.beside is not None:
            return self.version.beside.text_bar.get(bar)
        return self._text_bar.get(bar)

    def line(self, bar: int, voice: int) -> Line:
        """Return the version's voice that answers that voice of the text, aligned with it."""
        key = (bar, voice)
        if key not in self._lines:
            text = voice_of(self.text, self.text_staff, bar, voice)
            other = self._voice(bar, voice)
            events = voice_of(self.passage, self.version.staff, self.own_bar(bar), other)
            self._lines[key] = Line(events, align(text, events))
        return self._lines[key]

    def own_bar(self, bar: int) -> int | None:
        """Return the version's bar that stands against a bar of the text."""
        if self.version.beside is not None:
            return self.version.beside.reading_bar.get(bar)
        return self.bars.get(bar)

    def has(self, bar: int) -> bool:
        """Whether a bar of the text stands against one of the version; a fragment may lack it."""
        return not self.whole or self.own_bar(bar) is not None

    def _voice(self, bar: int, voice: int) -> int:
        """Return the version's number for a voice: the same, else what is left in order."""
        own = voices_in(self.passage, self.version.staff, self.own_bar(bar))
        text = voices_in(self.text, self.text_staff, bar)
        if voice in own:
            return voice
        left_own = [v for v in own if v not in text]
        left_text = [v for v in text if v not in own]
        if voice in left_text and left_text.index(voice) < len(left_own):
            return left_own[left_text.index(voice)]
        return voice

    def text_voice(self, bar: int, voice: int) -> int:
        """Return the text's number for a voice of the version: the inverse of the above."""
        for candidate in voices_in(self.text, self.text_staff, bar):
            if self._voice(bar, candidate) == voice:
                return candidate
        return voice

    def in_text(self, xml_id: str) -> str | None:
        """Return the text's note or event that is the same as one of the version's."""
        event = self.passage.by_id.get(xml_id)
        bar = None if event is None else self.text_bar(event.bar)
        if event is None or bar is None:
            return None
        voice = self.text_voice(bar, event.voice)
        text = voice_of(self.text, self.text_staff, bar, voice)
        line = self.line(bar, voice)
        if event not in line.events:
            return None
        at = line.events.index(event)
        block = next(b for b in line.blocks if b.version_from <= at < b.version_to)
        offset = min(at - block.version_from, block.text_to - block.text_from - 1)
        if offset < 0:
            return None
        return counterpart(event, xml_id, text[block.text_from + offset])

    def moment_in_text(self, moment: Moment) -> Moment | None:
        """Return the moment with the text's bar; None where the text has no such bar."""
        bar = self.text_bar(moment.bar)
        return None if bar is None else Moment(bar, moment.offset)

    def copies(self, elements: Sequence[Element]) -> list[Element]:
        """Return copies of elements of the version under ids of their own.

        References to other elements of the version are not yet turned: see `turn_references`.
        """
        made = []
        for element in elements:
            copy = deepcopy(element)
            copy.tail = None
            if not self.same_key:
                say_how_notes_sound(copy, self.passage)
            for one in copy.iter(etree.Element):
                xml_id = one.get(XML_ID)
                if xml_id is not None:
                    new = self.names.music(xml_id, self.owner)
                    one.set(XML_ID, new)
                    self.copied[xml_id] = new
                if "staff" in one.attrib:
                    one.set(
                        "staff", " ".join(map(self._staff_of_text, one.get("staff", "").split()))
                    )
            made.append(copy)
        return made

    def _staff_of_text(self, written: str) -> str:
        strand = self.staves.get(int(written)) if written.isdecimal() else None
        return written if strand is None else str(strand.text_staff)

    def turn_references(self, element: Element) -> None:
        """Let a copy point to other copies, else to the text's note that is the same, else not."""
        for one in element.iter(etree.Element):
            for name in references_of(one):
                tokens = one.get(name, "").split()
                turned = [t for t in map(self._turned, tokens) if t is not None]
                if turned:
                    one.set(name, " ".join(turned))
                else:
                    del one.attrib[name]

    def _turned(self, reference: str) -> str | None:
        if not reference.startswith("#"):
            return reference
        xml_id = reference[1:]
        if xml_id in self.copied:
            return f"#{self.copied[xml_id]}"
        event = self.passage.by_id.get(xml_id)
        strand = self if event is None else self.staves.get(event.staff, self)
        same = strand.in_text(xml_id)
        return None if same is None else f"#{same}"


def counterpart(event: Event, xml_id: str, other: Event) -> str:
    """Return the id, in `other`, of the note that answers the note `xml_id` of `event`."""
    if event.xml_id == xml_id or not other.heads:
        return other.xml_id
    index = next((i for i, head in enumerate(event.heads) if head.xml_id == xml_id), None)
    if index is None:
        return other.xml_id
    same = [head for head in other.heads if head.pitch == event.heads[index].pitch]
    return (same[0] if same else other.heads[min(index, len(other.heads) - 1)]).xml_id


class Strands:
    """The strands of a movement: one for each staff of each version, made when first asked for."""

    def __init__(self, sheet: Sheet) -> None:
        self._sheet = sheet
        self._found: dict[object, Strand] = {}
        self._music: dict[int, Music] = {}
        self._families: dict[object, tuple[dict[str, str], dict[int, Strand]]] = {}

    def of(self, version: Version, staff: int, owner: str) -> Strand:
        """Return the strand of a version beside that staff of the text.

        `owner` (a record, a later hand) tells apart copies that are made from one passage.
        """
        key = (id(version.passage), version.staff, staff, owner)
        if key not in self._found:
            family = (id(version.passage), owner)
            copied, staves = self._families.setdefault(family, ({}, {}))
            music = self._of_passage(version.passage)
            strand = Strand(
                self._sheet.movement.passage,
                staff,
                version,
                owner,
                self._sheet.names,
                music,
                one_key(self._sheet.keys, music.keys),
                copied,
                staves,
            )
            staves.setdefault(version.staff, strand)
            self._found[key] = strand
        return self._found[key]

    def whole(self) -> list[Strand]:
        """Return the strands of whole encodings, in the order in which they were asked for."""
        return [strand for strand in self._found.values() if strand.whole]

    def _of_passage(self, passage: Passage) -> Music:
        if id(passage) not in self._music:
            self._music[id(passage)] = Music(passage, self._sheet.has_tie_elements)
        return self._music[id(passage)]
