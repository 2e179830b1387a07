"""What stands before the music: titles, who made it, layers and records, what is not held.

MusicXML 4.0 `work`, `identification`, `part-list`. Layers, records and losses are fields of
`miscellaneous`, which the standard keeps for what it has no element for.
"""

from __future__ import annotations

import re
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, field

from pipeline.edition.layer import Layer
from pipeline.exchange.account import LeftOut
from pipeline.exchange.xml import make, put
from pipeline.score.mei_names import Element

_RECORD = re.compile(r"record-(\S+)")
SOFTWARE = "editorial-apparatus"


@dataclass(frozen=True)
class Heading:
    """What the header says. `records` describe records by id, `layers` the layers, in words;
    `footnotes` are the texts printed at the first mark of a record.

    `date` is the date of the file in ISO 8601, empty for none: nothing here reads the clock.
    """

    title: str = ""
    composer: str = ""
    editors: tuple[str, ...] = ()
    rights: str = ""
    part_name: str = ""
    date: str = ""
    layers: Mapping[Layer, str] = field(default_factory=dict)
    records: Mapping[str, str] = field(default_factory=dict)
    footnotes: Mapping[str, str] = field(default_factory=dict)


def header_of(
    heading: Heading,
    wished: Collection[Layer],
    movement: str,
    measures: Sequence[Element],
    left_out: Sequence[LeftOut],
) -> list[Element]:
    """Return the elements before the part; records are listed where a mark names them."""
    made = []
    if heading.title:
        work = make("work")
        put(work, "work-title", heading.title)
        made.append(work)
    if movement:
        made.append(make("movement-title", movement))
    made.append(_identification(heading, wished, measures, left_out))
    parts = make("part-list")
    part = put(parts, "score-part", id="P1")
    put(part, "part-name", heading.part_name)
    return [*made, parts]


def _identification(
    heading: Heading,
    wished: Collection[Layer],
    measures: Sequence[Element],
    left_out: Sequence[LeftOut],
) -> Element:
    made = make("identification")
    if heading.composer:
        put(made, "creator", heading.composer, type="composer")
    for editor in heading.editors:
        put(made, "creator", editor, type="editor")
    if heading.rights:
        put(made, "rights", heading.rights)
    encoding = put(made, "encoding")
    put(encoding, "software", SOFTWARE)
    if heading.date:
        put(encoding, "encoding-date", heading.date)
    for name in ("accidental", "beam", "stem"):
        # What is not written is not there; stems are written only where the text states them.
        put(encoding, "supports", type="no" if name == "stem" else "yes", element=name)
    fields = put(made, "miscellaneous")
    for layer in Layer:
        if layer in wished and layer in heading.layers:
            put(fields, "miscellaneous-field", heading.layers[layer], name=f"layer-{layer}")
    for record in _named(measures):
        if record in heading.records:
            put(fields, "miscellaneous-field", heading.records[record], name=f"record-{record}")
    for number, lost in enumerate(left_out, 1):
        words = f"movement {lost.movement}: {not_held(lost)}"
        put(fields, "miscellaneous-field", words, name=f"not-held-{number}")
    return made


def not_held(lost: LeftOut) -> str:
    """Return in words what of a movement is not in the file, and in which bars."""
    bars = ", ".join(one or "without a number" for one in lost.bars)
    place = f"{'bar' if len(lost.bars) == 1 else 'bars'} {bars}"
    return f"MusicXML cannot hold {lost.count} x {lost.kind} ({lost.why}): {place}"


def _named(measures: Sequence[Element]) -> list[str]:
    """Return the records that marks name, in the order of the music."""
    found = dict.fromkeys(
        record
        for measure in measures
        for level in measure.iter("level")
        for record in _RECORD.findall(level.text or "")
    )
    return list(found)
