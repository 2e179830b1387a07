"""What the encoding of a witness holds: told in the header, so that just that is taken out again.

Out go annots of type `encoding`, one for each witness and movement: `plist` the first and the last
bar, `n` the movement; items say the staves, how much higher one is written throughout, and the bar
numbers where they are not the text's. `held` reads them again.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from urllib.parse import quote, unquote

from pipeline.collation.answers import Collations
from pipeline.collation.beside import Beside, Shift
from pipeline.edition.layer import Layer
from pipeline.layers.bar_signs import signs_of, told_in_header
from pipeline.layers.names import COLLATION, Names
from pipeline.layers.sheet import Sheet, make
from pipeline.score.mei_names import XML_ID, Element, tag
from pipeline.score.model import Passage

_UNNUMBERED = "%"
"""Stands in the list of bar numbers, percent-encoded (RFC 3986), for a bar without one."""


@dataclass(frozen=True)
class Holding:
    """What an encoding holds of a movement; ids are those of measures in the layered file.

    `numbers` are the printed numbers of all its bars, empty where they are the text's; `bar_signs`
    tells the meters, repeat signs and endings, None where they are the text's.
    """

    first: str
    last: str
    staves: frozenset[int]
    shifts: Mapping[int, Shift] = field(default_factory=dict)
    numbers: tuple[str, ...] = ()
    bar_signs: Element | None = None


def holdings_of(sheet: Sheet, collations: Collations) -> Iterator[Element]:
    """Yield the annot of each encoding that is carried whole in a movement."""
    names = sheet.names
    for (siglum, movement), collation in collations.items():
        beside = collation.beside
        if movement != sheet.movement.n or beside.obstacle is not None:
            continue
        held = [pair for pair in beside.pairs if pair.reading is not None]
        if not held:
            continue
        ids = [
            names.music(beside.passage.bars[pair.reading].xml_id)
            if pair.text is None
            else sheet.movement.passage.bars[pair.text].xml_id
            for pair in (held[0], held[-1])
            if pair.reading is not None
        ]
        annot = make("annot", type="encoding", n=str(movement))
        annot.set(XML_ID, names.encoding(siglum, movement))
        annot.set("class", f"#{names.layer(Layer.WITNESS)}")
        annot.set("resp", f"#{names.agent(COLLATION)}")
        annot.set("source", f"#{names.witness(siglum)}")
        annot.set("plist", " ".join(f"#{one}" for one in ids))
        annot.append(_staves(beside))
        numbers = _numbers(sheet.movement.passage, beside)
        if numbers:
            annot.append(
                _paragraph("bar-numbers", " ".join(quote(n) or _UNNUMBERED for n in numbers))
            )
        if _signs_of_its_own(sheet.movement.passage, beside):
            annot.append(told_in_header(signs_of(beside.passage.bars)))
        yield annot


def held(root: Element, names: Names, siglum: str) -> dict[int, Holding]:
    """Return what a layered file carries of a witness, by movement."""
    found: dict[int, Holding] = {}
    for annot in root.iter(tag("annot")):
        if annot.get("type") != "encoding" or not names.owns(annot.get(XML_ID, "")):
            continue
        if annot.get("source") != f"#{names.witness(siglum)}":
            continue
        first, last = (one.removeprefix("#") for one in annot.get("plist", "").split())
        staves: set[int] = set()
        shifts: dict[int, Shift] = {}
        lists = {one.get("type"): one for one in annot.iter(tag("list"))}
        for item in lists["staves"]:
            staff = int(item.get("n", "0"))
            staves.add(staff)
            moved = {num.get("unit"): int(num.get("value", "0")) for num in item}
            if moved:
                shifts[staff] = Shift(moved["step"], moved["semitone"])
        numbers = [p.text or "" for p in annot if p.get("type") == "bar-numbers"]
        found[int(annot.get("n", "0"))] = Holding(
            first,
            last,
            frozenset(staves),
            shifts,
            tuple(unquote("" if n == _UNNUMBERED else n) for n in " ".join(numbers).split()),
            lists.get("bar-signs"),
        )
    return found


def _staves(beside: Beside) -> Element:
    made = make("list", type="staves")
    for staff in beside.staves:
        item = make("li", n=str(staff))
        shift = beside.shifts.get(staff)
        if shift is not None:
            for unit, value in (("step", shift.steps), ("semitone", shift.semitones)):
                number = make("num", unit=unit, value=str(value))
                item.append(number)
        made.append(item)
    return made


def _numbers(text: Passage, beside: Beside) -> list[str]:
    """Return the printed bar numbers, none where they are the text's."""
    own = [bar.n for bar in beside.passage.bars]
    taken = [
        beside.passage.bars[pair.reading].n if pair.text is None else text.bars[pair.text].n
        for pair in beside.pairs
        if pair.reading is not None
    ]
    return [] if own == taken else own


def _signs_of_its_own(text: Passage, beside: Beside) -> bool:
    """Whether taking out the bars does not by itself give meters, repeats and endings right."""
    own = signs_of(beside.passage.bars)
    pairs = [pair for pair in beside.pairs if pair.text is not None]
    ours = signs_of(text.bars[pair.text] for pair in pairs if pair.text is not None)
    alike = len(pairs) == len(beside.pairs) == len(own)
    return own != ours if alike else len({*own, *ours}) > 1


def _paragraph(kind: str, words: str) -> Element:
    made = make("p", type=kind)
    made.text = words
    return made
