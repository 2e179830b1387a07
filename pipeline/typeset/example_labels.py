"""The wording of the music examples: a label for each staff, a description of each picture."""

from __future__ import annotations

from dataclasses import dataclass

from markupsafe import Markup

from pipeline.collation.model import Decision
from pipeline.edition.model import Edition
from pipeline.edition.records import Bowing, FingeringRecord, Ossia, Tradition
from pipeline.engrave.legend import LegendWords
from pipeline.engrave.parts import ExamplePart, PartRole
from pipeline.typeset.alternatives import Alternatives
from pipeline.typeset.prose import Prose
from pipeline.typeset.statements import Statements
from pipeline.typeset.wording import Wording, wording_of


@dataclass(frozen=True)
class ExampleLabels:
    """Labels the staves of the examples of one edition in one language."""

    alternatives: Alternatives

    @property
    def wording(self) -> Wording:
        """The language's wording."""
        return self.alternatives.statements.wording

    def __call__(self, decision: Decision, part: ExamplePart) -> str:
        """Return the label of a staff, or for the whole example what it shows."""
        record = decision.filed.record
        if part.role is PartRole.WHOLE:
            return self._description(decision)
        if part.role is PartRole.READING:
            return ", ".join(decision.comparisons[part.index].version.witnesses)
        if part.role is PartRole.ALTERNATIVE and isinstance(record, FingeringRecord | Bowing):
            return self.alternatives.label(record.alternatives[part.index]).striptags()
        if isinstance(record, Ossia | Tradition) and part.role is not PartRole.TEXT:
            return self.alternatives.statements.prose.plain(record.label) or self._say(
                f"example.{record.kind}"
            )
        return self._say("example.text")

    def _description(self, decision: Decision) -> str:
        """Return the kind and bar, and what each fingering or bowing does, note by note."""
        record = decision.filed.record
        said = [self._say(f"kinds.{record.kind}")]
        if isinstance(record, FingeringRecord | Bowing):
            for one in self.alternatives.of(decision):
                said.append(f"{one.name}: {', '.join(one.detail)}")
        label = Markup("; ").join(Markup(part) for part in said)
        return self.wording.say("example.described", bar=record.place.bar, label=label).striptags()

    def _say(self, key: str) -> str:
        return self.wording.say(key).striptags()


def example_labels(edition: Edition, language: str) -> ExampleLabels:
    """Return the labels in a language that there is wording for."""
    prose = Prose(language, edition.head.main_language)
    return ExampleLabels(Alternatives(Statements(edition.head, wording_of(language), prose)))


def legend_words(language: str) -> LegendWords:
    """Return the labels of the legend's samples in a language that there is wording for."""
    say = wording_of(language).say
    return LegendWords(
        text=say("example.text").striptags(),
        ossia=say("example.ossia").striptags(),
        tradition=say("example.tradition").striptags(),
        reading=say("example.reading").striptags(),
    )
