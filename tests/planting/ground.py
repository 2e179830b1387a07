"""A work to plant in: the same MEI twice, as text and as witness, and where its notes stand.

Every note is first made to say how it sounds (`accid.ges`), on both sides, so that a sign that is
taken away changes the note it stood at and no later one of the bar.
"""

from __future__ import annotations

import random
from collections.abc import Callable, Iterable, Iterator
from copy import deepcopy
from dataclasses import dataclass, field
from fractions import Fraction
from functools import cached_property, lru_cache
from pathlib import Path
from tempfile import TemporaryDirectory

from lxml import etree

from pipeline.collation.collate import collate
from pipeline.collation.collated import Collation
from pipeline.collation.laying import lay_beside
from pipeline.collation.model import Change, DifferenceKind
from pipeline.problems import Origin
from pipeline.score.model import Event, EventKind, Marking, MarkingKind, Moment, Passage
from pipeline.score.read import read_passage

MEI = "{http://www.music-encoding.org/ns/mei}"
XML_ID = "{http://www.w3.org/XML/1998/namespace}id"
SOUND = {-2: "ff", -1: "f", 0: "n", 1: "s", 2: "ss"}
Element = etree._Element


@dataclass(frozen=True, order=True)
class Told:
    """What a collation tells of one difference. Whole bars have no staff; their change names the
    bars by xml:id."""

    start: Moment
    end: Moment
    staff: int
    kind: str
    change: str


@dataclass(frozen=True)
class Plant:
    """What has to be told of one change, and the xml:ids, on either side, that it touches."""

    told: tuple[Told, ...]
    touched: frozenset[str] = frozenset()


@dataclass(frozen=True, eq=False)
class Tree:
    """One side: the document, its elements by xml:id, and the notes on which signs were hung."""

    root: Element
    by_id: dict[str, Element]
    bearing: set[str] = field(default_factory=set)

    def __getitem__(self, xml_id: str) -> Element:
        return self.by_id[xml_id]

    def put(
        self,
        name: str,
        xml_id: str,
        start: Event,
        text: str = "",
        end: Event | None = None,
        **attributes: str,
    ) -> None:
        """Hang a sign on a note, as an element of its bar."""
        sign = etree.SubElement(measure_of(self[start.xml_id]), f"{MEI}{name}", attributes)
        sign.set(XML_ID, xml_id)
        sign.set("staff", str(start.staff))
        sign.set("startid", f"#{start.xml_id}")
        if end is not None:
            sign.set("endid", f"#{end.xml_id}")
        sign.text = text or None
        self.by_id[xml_id] = sign
        self.bearing.update(event.xml_id for event in (start, end) if event is not None)

    def take(self, xml_id: str) -> None:
        """Remove an element."""
        element = self[xml_id]
        parent = element.getparent()
        assert parent is not None
        parent.remove(element)


class Ground:
    """The two sides of one work, and what may be planted where."""

    def __init__(self, base: Passage) -> None:
        self.base = base
        root = etree.fromstring(base.mei)
        self.text = _tree(root)
        for event in base.events:
            for head in event.heads:
                say_sound(self.text[head.xml_id], head.pitch.alter)
        self.witness = _tree(deepcopy(root))
        self.taken: set[str] = set()
        """The xml:ids of notes that were changed already and must be left alone."""
        self._count = 0

    def new_id(self) -> str:
        """Return an xml:id that nothing has."""
        self._count += 1
        return f"planted{self._count}"

    @property
    def both(self) -> tuple[Tree, Tree]:
        return self.text, self.witness

    @cached_property
    def attached(self) -> frozenset[str]:
        """The xml:ids that signs, ties apart, hang on."""
        signs = [m for m in self.base.markings if m.kind is not MarkingKind.TIE]
        return frozenset({m.start_id for m in signs} | {m.end_id for m in signs})

    @cached_property
    def notes_by_bar(self) -> dict[int, list[Event]]:
        """Notes and chords of each bar that stand in their own staff, grace notes left out."""
        found: dict[int, list[Event]] = {}
        for event in self.base.events:
            if event.heads and not event.grace and self.staff_of(event.xml_id) == event.staff:
                found.setdefault(event.bar, []).append(event)
        return found

    @cached_property
    def signs_by_bar(self) -> dict[int, list[Marking]]:
        """Signs that begin in each bar."""
        found: dict[int, list[Marking]] = {}
        for marking in self.base.markings:
            found.setdefault(marking.start.bar, []).append(marking)
        return found

    def staff_of(self, xml_id: str) -> int:
        """Return the number of the staff in which an element is written."""
        (staff,) = self.text[xml_id].iterancestors(f"{MEI}staff")
        return int(staff.get("n", "0"))

    def free(self, event: Event) -> bool:
        """Return whether no sign hangs on the event or on one of its notes."""
        names = {event.xml_id, *(h.xml_id for h in event.heads)}
        return names.isdisjoint(self.attached | self.text.bearing | self.witness.bearing)

    def notes(self, bar: int) -> list[Event]:
        """Return the notes and chords of a bar."""
        return [e for e in self.notes_by_bar.get(bar, ()) if e.xml_id not in self.taken]

    def single(self, bar: int) -> list[Event]:
        """Return the notes of a bar that are no chords and not tied."""
        return [e for e in self.notes(bar) if e.kind is EventKind.NOTE and not e.heads[0].tie]

    def voice_from(self, event: Event, bars: int = 1) -> list[Event]:
        """Return the notes of the event's voice from it to the end of so many bars."""
        return [
            e
            for bar in range(event.bar, event.bar + bars)
            for e in self.notes(bar)
            if (e.staff, e.voice) == (event.staff, event.voice) and e.start >= event.start
        ]

    def clear(self, kinds: Iterable[MarkingKind], staff: int, first: int, last: int) -> bool:
        """Return whether no sign of these kinds touches these bars of the staff."""
        wanted = set(kinds)
        return not any(
            m.kind in wanted
            for bar in range(first, last + 1)
            for m in self.base.markings_in.get((staff, bar), ())
        )

    def collated(self) -> Collation:
        """Read both sides as files and collate them."""
        text, witness = read_tree(self.text.root), read_tree(self.witness.root)
        return collate(text, lay_beside(text, witness), "W", 1)


Operation = Callable[[Ground, int, random.Random], Plant | None]
"""Plants one change in a bar (or from it into the next), None where the bar does not offer it."""


def at_event(event: Event, kind: DifferenceKind, change: Change = Change.OTHERWISE) -> Told:
    """Return what is told of one whole note or chord."""
    return Told(event.start, event.end, event.staff, kind, change)


def ids(*events: Event) -> frozenset[str]:
    """Return the xml:ids of events."""
    return frozenset(event.xml_id for event in events)


def told_by(collation: Collation, text: Passage) -> list[Told]:
    """Return all that a collation tells, sorted."""
    found = [Told(d.start, d.end, d.staff, d.kind, d.change) for d in collation.differences]
    for one in collation.bars:
        bars = [text.bars[index] for index in one.text]
        bars += [collation.beside.passage.bars[index] for index in one.reading]
        at = Moment(one.at, Fraction(0))
        found.append(Told(at, at, 0, one.change, " ".join(bar.xml_id for bar in bars)))
    return sorted(found)


def named_by(collation: Collation) -> frozenset[str]:
    """Return the xml:ids of all notes, chords and signs of which a collation tells something."""
    found: set[str] = set()
    for difference in collation.differences:
        for side in (difference.text, difference.reading):
            found |= {event.xml_id for event in side.events if event.heads}
            found |= {sign.xml_id for sign in side.markings}
    return frozenset(found)


def say_sound(note: Element, alter: int) -> None:
    """Let a note without a printed accidental say how it sounds."""
    bearers = [note, *note.findall(f"{MEI}accid")]
    if not any(one.get("accid") for one in bearers):
        bearers[-1].set("accid.ges", SOUND[alter])


def measure_of(element: Element) -> Element:
    """Return the bar an element stands in."""
    return next(element.iterancestors(f"{MEI}measure"))


def shuffled(chance: random.Random, found: Iterable[Event]) -> Iterator[Event]:
    """Yield events in the order of chance."""
    events = list(found)
    chance.shuffle(events)
    yield from events


def _tree(root: Element) -> Tree:
    return Tree(root, {one.get(XML_ID, ""): one for one in root.iter("*") if one.get(XML_ID)})


def read_tree(root: Element) -> Passage:
    """Return the music of a document, written to a file and read again."""
    return _read(etree.tostring(root))


@lru_cache(maxsize=24)
def _read(mei: bytes) -> Passage:
    """Read a file; often the text is the same for many changes of the witness."""
    with TemporaryDirectory() as folder:
        (Path(folder) / "work.mei").write_bytes(mei)
        outcome = read_passage(Path(folder), "work.mei", Origin("edition.yaml"))
    assert outcome.value is not None, outcome.problems
    return outcome.value
