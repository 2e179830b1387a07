"""The words of the part: head, legend, footnotes, descriptions of the lines.

A footnote belongs to every record that has a mark of the performing tradition in a line, also one
by the dedicatee: it is not the composer's, and that is said on the page.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from markupsafe import Markup

from pipeline.collation.model import Decision
from pipeline.edition.head import Role
from pipeline.edition.layer import Layer, layer_of_agent
from pipeline.edition.model import Edition
from pipeline.edition.records import Bowing, FingeringRecord, Ossia, Tradition
from pipeline.engrave.legend import Sample
from pipeline.engrave.part_keys import key_text
from pipeline.engrave.part_model import EngravedPart, PartLine
from pipeline.engrave.svg_for_print import Svg
from pipeline.strings.hand_faults import FaultKind
from pipeline.strings.harmonic_ways import Ease
from pipeline.typeset.part_view import (
    LegendLayer,
    LegendSample,
    LegendView,
    NoteView,
    TitleView,
)
from pipeline.typeset.prose import Prose
from pipeline.typeset.remarks import roman, unnumbered
from pipeline.typeset.rich_text import RichText, rich_text
from pipeline.typeset.statements import Statements, sentence
from pipeline.typeset.wording import wording_of

SAMPLE_SCALE = 0.6
"""Size of the legend's samples against that of the music examples."""

_OF_LAYER: Mapping[Layer, Sample] = {
    layer: Sample[f"{layer.name}_FINGERING"]
    for layer in Layer
    if f"{layer.name}_FINGERING" in Sample.__members__
}

_TEXT_DIGIT = re.compile(r'class="fing(?![^"]* layer-(?!text))[^"]*"')
"""The group of a digit with no class of a layer but the text's."""


@dataclass(frozen=True)
class PartWords:
    """Words the part of one edition in one language."""

    edition: Edition
    decisions: Mapping[str, Decision]
    numbers: Mapping[str, int]
    statements: Statements

    def title(self) -> TitleView:
        """Return the head of the first page."""
        head, inline = self.edition.head, self.statements.prose.inline
        editors = self._people(Role.EDITOR)
        edited = self._say("document.edited_by", names=editors) if editors else Markup("")
        return TitleView(
            title=rich_text(inline(head.title)),
            subtitle=rich_text(inline(head.subtitle)),
            scoring=rich_text(inline(head.scoring)),
            instrument=rich_text(self.instrument()),
            composer=rich_text(self._people(Role.COMPOSER)),
            editors=rich_text(edited),
        )

    def instrument(self) -> Markup:
        """Return the instrument's name; one that the wording does not know as it is written."""
        name = self.edition.head.edited_staff.instrument
        key = f"part.instruments.{name}"
        known = self.statements.wording.has(key)
        return self._say(key) if known else Markup.escape(name.capitalize())

    def document_title(self) -> str:
        """Return what the PDF is called."""
        title = self.statements.prose.inline(self.edition.head.title)
        names = {"title": title, "instrument": self.instrument()}
        return self._say("part.document", composer=self._people(Role.COMPOSER), **names).striptags()

    def author(self) -> str:
        """Return the editors' names."""
        return self._people(Role.EDITOR).striptags()

    def scoring(self) -> str:
        """Return what the work is written for."""
        return self.statements.prose.plain(self.edition.head.scoring)

    def quick_turn(self) -> str:
        """Return what asks the player to turn a page at once."""
        return self._say("part.turn").striptags()

    def running(self) -> RichText:
        """Return what stands at the head of all pages but the first."""
        title = self.statements.prose.inline(self.edition.head.title)
        return rich_text(self._say("part.running", title=title, instrument=self.instrument()))

    def heading(self, n: int) -> RichText:
        """Return a movement's heading: its number, where there are several, and its title."""
        movements = {one.n: one for one in self.edition.head.movements}
        title = unnumbered(self.statements.prose.inline(movements[n].title))
        if len(movements) == 1:
            return rich_text(title)
        return rich_text(self._say("part.heading", numeral=roman(n), title=title))

    def description(self, n: int, line: PartLine) -> str:
        """Return what is told of a line of music to those who cannot see it."""
        one = line.first_bar == line.last_bar
        said = self._say(
            "part.bar" if one else "part.bars", first=line.first_bar, last=line.last_bar
        )
        if len(self.edition.head.movements) > 1:
            said = self._say("part.bars_of", movement=roman(n), bars=said)
        return said.striptags()

    def note(self, record: str) -> NoteView:
        """Return the footnote: whose it is not, the note of the record, where it comes from.

        Where nothing is said of the origin, whose it is.
        """
        decision = self.decisions[record]
        filed, inline = decision.filed.record, self.statements.prose.inline
        label = self._say(f"kinds.{filed.kind}")
        said = []
        if isinstance(filed, Tradition | Ossia):
            label = inline(filed.label) or label
        if isinstance(filed, Tradition):
            said.append(sentence(inline(filed.note)))
            if filed.origin:
                said.append(sentence(self._say("tradition.origin", origin=inline(filed.origin))))
        elif people := self._whose(Layer.TRADITION, [record]):
            label = Markup("{} {}").format(label, self._say("part.by", name=people))
        said.insert(0, self._say("part.not_composer", label=label))
        number = self.numbers.get(record)
        key = "" if number is None else key_text(number, Layer.TRADITION)
        return NoteView(key, rich_text(Markup(" ").join(one for one in said if one)))

    def legend(
        self, part: EngravedPart, samples: Mapping[Sample, Svg]
    ) -> tuple[LegendView, Mapping[str, bytes]]:
        """Return the legend of what the part shows, and its pictures by name."""
        marks = [m for movement in part.movements for line in movement.lines for m in line.marks]
        shown = list(dict.fromkeys((mark.record, mark.layer) for mark in marks if mark.xml_ids))
        layers: list[LegendLayer] = []
        pictures: dict[str, bytes] = {}
        for layer in Layer:
            of_layer = [record for record, its in shown if its is layer]
            wanted = [one for one in self._samples(layer, of_layer) if one in samples]
            if layer is Layer.TEXT and _has_digits_of_the_text(part):
                wanted.insert(0, Sample.TEXT_FINGERING)
            views = [self._sample(one, samples[one], pictures) for one in wanted]
            if views:
                people = self._whose(layer, of_layer)
                name = self._say(f"reading.layers.{layer.value}")
                layers.append(LegendLayer(rich_text(name), rich_text(people), tuple(views)))
        with_notes = any(mark.layer is Layer.TRADITION for mark in marks)
        keyed = any(mark.record in self.numbers for mark in marks)
        key = "part.key_and_foot" if with_notes else "part.key"
        sentences = [self._say(key)] if keyed else []
        if any(self._asks_for_care(record) for record, _ in shown):
            sentences.append(self._say("reading.caution"))
        head, inline = self.edition.head, self.statements.prose.inline
        rights = inline(head.rights)
        if head.date and rights:
            rights = self._say("part.rights", date=head.date, rights=rights)
        return (
            LegendView(
                tuple(layers), tuple(rich_text(one) for one in sentences), rich_text(rights)
            ),
            pictures,
        )

    def _samples(self, layer: Layer, records: Sequence[str]) -> list[Sample]:
        """Return the marks of a layer that records put into the part."""
        kinds = [self.decisions[record].filed.record for record in records if self._has(record)]
        found: list[Sample] = []
        if any(isinstance(kind, FingeringRecord) for kind in kinds) and layer in _OF_LAYER:
            found.append(_OF_LAYER[layer])
        bowings = [one for kind in kinds if isinstance(kind, Bowing) for one in kind.alternatives]
        if layer is Layer.EDITOR and any(one.divide_after for one in bowings):
            found.append(Sample.DIVIDED_SLUR)
        if layer is Layer.EDITOR and any(one.join for one in bowings):
            found.append(Sample.JOINED_STROKES)
        if any(isinstance(kind, Ossia) for kind in kinds):
            found.append(Sample.TRADITION if layer is Layer.TRADITION else Sample.OSSIA)
        if any(isinstance(kind, Tradition) for kind in kinds):
            found.append(Sample.TRADITION)
        return list(dict.fromkeys(found))

    def _has(self, record: str) -> bool:
        return record in self.decisions

    def _sample(self, sample: Sample, svg: Svg, pictures: dict[str, bytes]) -> LegendSample:
        name = f"sample-{sample.name.lower().replace('_', '-')}.svg"
        pictures[name] = svg.markup.encode()
        caption = self._say(f"reading.samples.{sample.name}")
        width_mm = svg.width_mm * SAMPLE_SCALE
        return LegendSample(name, caption.striptags(), width_mm, rich_text(caption))

    def _whose(self, layer: Layer, records: Iterable[str]) -> Markup:
        """Return the names of those whose marks of a layer are shown."""
        head = self.edition.head
        agents: dict[str, None] = {}
        for record in filter(self._has, records):
            filed = self.decisions[record].filed.record
            named = [filed.by]
            if isinstance(filed, FingeringRecord | Bowing):
                named = [one.by or filed.by for one in filed.alternatives]
            for agent in named:
                if agent in head.agents and layer_of_agent(head.agents[agent]) is layer:
                    agents[agent] = None
        if layer is Layer.COMPOSER:
            return self._people(Role.COMPOSER)
        names = (self.statements.agent(agent) for agent in agents)
        return self.statements.wording.listed(names) if agents else Markup("")

    def _asks_for_care(self, record: str) -> bool:
        """Return whether a record prints a stretch, or harmonics with two fingers on a string."""
        decision = self.decisions.get(record)
        if decision is None:
            return False
        stretched = any(
            fault.kind is FaultKind.WIDE_STRETCH
            for hand in decision.hands
            if hand is not None
            for fault in hand.faults
        )
        steps = decision.harmonics.ossia.steps if decision.harmonics else ()
        return stretched or any(s.way.ease is Ease.WIDE or not s.way.natural for s in steps)

    def _people(self, role: Role) -> Markup:
        agents = self.edition.head.agents.values()
        names = [self.statements.prose.inline(one.name) for one in agents if one.role is role]
        return self.statements.wording.listed(names) if names else Markup("")

    def _say(self, key: str, **values: object) -> Markup:
        return self.statements.wording.say(key, None, **values)


def _has_digits_of_the_text(part: EngravedPart) -> bool:
    """Whether some digit is neither the composer's nor anybody else's: it has a look of its own."""
    lines = (line for movement in part.movements for line in movement.lines)
    return any(_TEXT_DIGIT.search(line.svg) for line in lines)


def noted(line: PartLine) -> tuple[str, ...]:
    """Return the records of which a line needs the footnote, in the order of their marks."""
    return tuple(dict.fromkeys(m.record for m in line.marks if m.layer is Layer.TRADITION))


def ossia_labels(edition: Edition, decisions: Iterable[Decision], language: str) -> dict[str, str]:
    """Return what stands above each ossia and tradition, by record."""
    prose, say = Prose(language, edition.head.main_language), wording_of(language).say
    filed = (decision.filed.record for decision in decisions)
    return {
        one.id: prose.plain(one.label) or say(f"example.{one.kind}").striptags()
        for one in filed
        if isinstance(one, Ossia | Tradition)
    }


def part_words(
    edition: Edition, decisions: Iterable[Decision], numbers: Mapping[str, int], language: str
) -> PartWords:
    """Return the words in a language. Raises KeyError where there is no wording for it."""
    prose = Prose(language, edition.head.main_language)
    statements = Statements(edition.head, wording_of(language), prose)
    return PartWords(edition, {one.id: one for one in decisions}, numbers, statements)
