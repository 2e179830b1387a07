"""A small edition written as MusicXML, and the file read back by the project's own reader."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import replace
from pathlib import Path

from lxml import etree

from pipeline.collation.collate import collate
from pipeline.collation.collated import Collation
from pipeline.collation.laying import lay_beside
from pipeline.edition.layer import Layer
from pipeline.engrave.house_style import read_house_style
from pipeline.exchange.header import Heading
from pipeline.exchange.musicxml import ExchangedPart, Wished, write_musicxml
from pipeline.exchange.source import StaffMusic, music_of
from pipeline.problems import Origin, Problem
from pipeline.score.mei_names import Element
from pipeline.score.model import Passage, Staff
from pipeline.score.read import read_passage
from pipeline.strings.instruments import INSTRUMENTS
from tests.layers.small_edition import Row, small

ALL = frozenset(Layer)
STYLE = read_house_style()
NO_HEADING = Heading()


def exchanged(
    layered: bytes,
    layers: Collection[Layer] = ALL,
    staff: int = 1,
    heading: Heading = NO_HEADING,
    instrument: str = "violin",
    movements: Collection[int] = (),
    without: Collection[str] = (),
) -> ExchangedPart:
    """Return the part of a layered file."""
    wished = Wished(
        frozenset(layers),
        staff,
        INSTRUMENTS.get(instrument),
        frozenset(movements),
        frozenset(without),
    )
    return write_musicxml(layered, wished, heading, STYLE)


def exchanged_edition(
    folder: Path,
    base: bytes | Sequence[bytes],
    records: Sequence[Row] = (),
    music: Mapping[str, bytes] | None = None,
    layers: Collection[Layer] = ALL,
) -> ExchangedPart:
    """Return the part of a small edition."""
    return exchanged(small(folder, base, records, music=music).layered, layers)


def tree(part: ExchangedPart) -> Element:
    """Return the file as a tree."""
    return etree.fromstring(part.musicxml)


def musicxml(element: Element) -> str:
    """Return an element on one line, without ids: what a test can be read by."""
    copy = etree.fromstring(etree.tostring(element))
    for one in copy.iter("*"):
        one.attrib.pop("id", None)
        one.tail = None
        if not (one.text or "").strip():
            one.text = None
    return etree.tostring(copy, encoding="unicode")


def all_of(part: ExchangedPart, path: str) -> list[str]:
    """Return all elements of a path, each on one line."""
    return [musicxml(one) for one in tree(part).iterfind(f".//{path}")]


def as_one_staff(music: StaffMusic) -> Passage:
    """Return the music of a staff as if the score had no other."""
    return replace(
        music.passage,
        staves=(Staff(1, "part"),),
        events=tuple(replace(event, staff=1) for event in music.events),
        markings=tuple(replace(marking, staff=1) for marking in music.markings),
    )


def read_back(part: ExchangedPart, folder: Path) -> tuple[Passage, tuple[Problem, ...]]:
    """Return what the project's own reader finds on the main staff, and what it has to tell."""
    (folder / "part.musicxml").write_bytes(part.musicxml)
    read = read_passage(folder, "part.musicxml", Origin("edition.yaml"))
    assert read.value is not None, read.problems
    main = len(read.value.staves)
    return replace(
        read.value,
        staves=(Staff(1, "part"),),
        events=tuple(replace(e, staff=1) for e in read.value.events if e.staff == main),
        markings=tuple(replace(m, staff=1) for m in read.value.markings if m.staff == main),
    ), read.problems


def compared(
    layered: bytes, folder: Path, staff: int = 1, layers: Collection[Layer] = ALL, movement: int = 1
) -> Collation:
    """Collate the staff of a layered file with the part that was written of it."""
    part = exchanged(layered, layers, staff, movements={movement})
    music = next(one for one in music_of(layered, layers, staff) if one.n == movement)
    text, (written, _) = as_one_staff(music.main), read_back(part, folder)
    return collate(text, lay_beside(text, written), "X", 1)


def untold(layered: bytes, part: ExchangedPart, staff: int = 1) -> set[str]:
    """Return the events, signs and articulations that are neither in the file nor told as lost."""
    found: set[str] = set()
    for movement in music_of(layered, ALL, staff):
        for music in (movement.main, movement.ossia):
            if music is not None:
                found |= {marking.xml_id for marking in music.markings}
                for event in music.events:
                    found |= {event.xml_id, *(f"{event.xml_id} {a}" for a in event.articulations)}
        found |= {one.xml_id for one in movement.undrawn}
    return found - part.held - part.lost
