"""Decisions about music drawn in letters, and what stands in the pictures made of them."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import replace
from fractions import Fraction

from lxml import etree
from pydantic import TypeAdapter

from pipeline.collation.bowings import with_bowings
from pipeline.collation.differences import differences
from pipeline.collation.model import Comparison, Decision, Version
from pipeline.edition.head import Agent, EditedStaff, EditionHead
from pipeline.edition.layer import layer_of
from pipeline.edition.model import FiledRecord, Origins
from pipeline.edition.records import Record
from pipeline.engrave.examples import Example, engrave_examples
from pipeline.engrave.house_style import read_house_style
from pipeline.engrave.parts import ExamplePart, PartRole
from pipeline.engrave.svg_for_print import Svg
from pipeline.problems import Origin, Outcome
from pipeline.score.model import Moment, Movement, Passage, Score, Span
from pipeline.strings.instruments import INSTRUMENTS
from tests.collation.letters import encoded

AGENTS = {
    name: Agent.model_validate({"name": name, "role": role})
    for name, role in {
        "morell": "composer",
        "brand": "editor",
        "veldt-school": "tradition",
        "hale": "dedicatee",
    }.items()
}
HEAD = EditionHead.model_construct(movements=(), edited_staff=EditedStaff())
STYLE = read_house_style()
VIOLIN = INSTRUMENTS["violin"]
HERE = Origins({(): Origin("records/all.yaml", 3, 1)})
_RECORD: TypeAdapter[Record] = TypeAdapter(Record)
_SVG = "{http://www.w3.org/2000/svg}"


def decision(
    text: Passage,
    first: int,
    last: int,
    witnesses: Mapping[str, Passage] | None = None,
    played: Passage | None = None,
    staff: int = 1,
    **record: object,
) -> Decision:
    """A decision about whole bars (indexes).

    `witnesses` by siglum have the same bars, `played` is the music of an ossia or tradition.
    """
    usual = {"id": "x", "by": "brand", "date": "2026-03-01", "reason": "because"}
    place = {"movement": 1, "bar": text.bars[first].n}
    filed = FiledRecord(_RECORD.validate_python({**usual, "place": place, **record}), HERE)
    start, end = Moment(first, Fraction(0)), Moment(last + 1, Fraction(0))
    inside = (e for e in text.events if e.staff == staff and start <= e.start < end)
    span = Span(1, staff, start, end, tuple(inside), whole_bars=True)
    comparisons = []
    for index, (siglum, passage) in enumerate((witnesses or {}).items()):
        version = replace(encoded(text, passage, span), witnesses=(siglum,))
        comparisons.append(Comparison(version, index, differences(text, span, version)))
    beside = Version(played, _all(played), 1, "file") if played else None
    layer = layer_of(filed.record, AGENTS)
    decided = Decision(filed, layer, span, tuple(comparisons), beside)
    return next(with_bowings([decided], {1: text}, HEAD))


def _all(passage: Passage) -> tuple[int, ...]:
    return tuple(range(len(passage.bars)))


def label(decided: Decision, part: ExamplePart) -> str:
    """Labels as a typesetter might word them."""
    record = decided.filed.record
    match part.role:
        case PartRole.TEXT:
            return "Text"
        case PartRole.READING:
            return decided.comparisons[part.index].version.witnesses[0]
        case PartRole.ALTERNATIVE:
            return str(record.alternatives[part.index].name)  # type: ignore[union-attr]
        case PartRole.WHOLE:
            return f'Bar {record.place.bar}, "{record.kind}" & text'
        case _:
            return part.role.value


def engraved(
    text: Passage, *decided: Decision, width_mm: float = 130.0
) -> Outcome[Mapping[str, Example]]:
    """Engrave the examples of decisions about one movement."""
    score = Score((Movement(1, "Allegro", text),))
    return engrave_examples(decided, score, AGENTS, label, STYLE, width_mm, "Test Serif", VIOLIN)


def example(text: Passage, decided: Decision) -> Example:
    """The example of one decision, engraved without a single problem."""
    outcome = engraved(text, decided)
    assert outcome.problems == ()
    assert outcome.value is not None
    return outcome.value[decided.id]


def words(svg: Svg) -> list[str]:
    """All words and digits of a picture from left to right, without signs of the music face."""
    root = etree.fromstring(svg.markup)
    found = [
        (float(text.get("x", "0").split()[0]), "".join(str(t) for t in text.itertext()))
        for text in root.iter(f"{_SVG}text")
    ]
    return [written for _, written in sorted(found) if not re.search("[\ue000-\uf8ff]", written)]


def glyphs(svg: Svg) -> str:
    """All signs of the music face, each a SMuFL code point."""
    return "".join(sorted(re.findall("[\ue000-\uf8ff]", svg.markup)))
