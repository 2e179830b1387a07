"""Each record as an `annot`: kind, status, who, layers, witnesses, what it speaks of, and why.

The annots stand in the header (`fileDesc/notesStmt`): a decision may span bars, staves or nothing
that is written, and the music stays as it is. MEI 5.1: att.plist, att.source, att.responsibility.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from pipeline.collation.answers import Collations
from pipeline.collation.bars import bars_of
from pipeline.collation.model import Decision
from pipeline.edition.head import Agent
from pipeline.edition.layer import Layer, layer_of_agent
from pipeline.edition.records import (
    Bowing,
    BowingAlternative,
    Citation,
    Emendation,
    FingeringAlternative,
    FingeringRecord,
    Letter,
    Ossia,
    Reading,
    Record,
    Status,
    Tradition,
    Variant,
)
from pipeline.edition.strict import MAIN_LANGUAGE
from pipeline.layers.bowings import printed_bowings
from pipeline.layers.fingerings import printed_alternatives
from pipeline.layers.names import COLLATION, Names, undecided
from pipeline.layers.sheet import Ledger, Sheet, make
from pipeline.score.mei_names import XML_ID, Element
from pipeline.score.model import Passage
from pipeline.strings.bowing import in_effect

XML_LANG = "{http://www.w3.org/XML/1998/namespace}lang"


@dataclass(frozen=True)
class Scribe:
    """Writes annots: the names of the file, its agents, its main language, its decisions' ids."""

    names: Names
    agents: Mapping[str, Agent]
    main_language: str
    records: frozenset[str]

    def annot(self, decision: Decision, passage: Passage, ledger: Ledger) -> Element:
        """Return the annot of one decision."""
        record = decision.filed.record
        annot = make("annot", type=f"{record.kind} {record.status}")
        annot.set(XML_ID, self.names.decision(record.id))
        annot.set("n", str(decision.span.movement))
        annot.set("class", _references(map(self.names.layer, self._layers(decision))))
        annot.set("resp", _references(map(self.names.agent, _agents(record))))
        sigla = _sigla(record)
        if sigla:
            annot.set("source", _references(map(self.names.witness, sigla)))
        if record.superseded_by in self.records and record.superseded_by is not None:
            annot.set("corresp", f"#{self.names.decision(record.superseded_by)}")
        spoken_of = dict.fromkeys((*_place(decision, passage), *ledger.marks.get(record.id, ())))
        annot.set("plist", _references(spoken_of))
        annot.extend(self._prose("reason", record.reason))
        annot.append(_dated(record))
        annot.extend(self._of_kind(record))
        annot.extend(self._evidence(record))
        return annot

    def _layers(self, decision: Decision) -> list[Layer]:
        record = decision.filed.record
        layers = [decision.layer]
        if isinstance(record, FingeringRecord):
            layers += [self._layer(one.by) for one in printed_alternatives(record) if one.by]
            if record.composer_fingering == "kept":
                layers.append(Layer.COMPOSER)
        if isinstance(record, Bowing):
            layers += [self._layer(one.by) for one in printed_bowings(record) if one.by]
        return list(dict.fromkeys(layers))

    def _layer(self, agent: str) -> Layer:
        return layer_of_agent(self.agents[agent])

    def _prose(self, kind: str, text: Mapping[str, str], label: str = "") -> list[Element]:
        """Return a paragraph for each language."""
        made = []
        for language, words in text.items():
            paragraph = make("p", type=kind)
            if label:
                paragraph.set("label", label)
            paragraph.set(XML_LANG, self.main_language if language == MAIN_LANGUAGE else language)
            paragraph.text = words
            made.append(paragraph)
        return made

    def _of_kind(self, record: Record) -> list[Element]:
        match record:
            case Reading() | Emendation():
                return [p for one in record.readings for p in self._described(one)]
            case FingeringRecord():
                printed = {one.name for one in printed_alternatives(record)}
                items = [self._fingers(one, one.name in printed) for one in record.alternatives]
                purpose = make("p", type="purpose")
                purpose.text = " ".join(record.purpose)
                composer = make("p", type="composer-fingering")
                composer.text = record.composer_fingering
                return [purpose, composer, _list(items)]
            case Bowing():
                printed = {one.name for one in printed_bowings(record)}
                model = record.mirrored_model
                return [
                    _list(
                        self._bow(one, one.name in printed, model.name if model else "")
                        for one in in_effect(record)
                    )
                ]
            case Ossia():
                return self._prose("label", record.label)
            case Tradition():
                return self._tradition(record)
            case _:
                return []

    def _described(self, variant: Variant) -> list[Element]:
        return self._prose("reading", variant.says, " ".join(variant.witnesses))

    def _tradition(self, record: Tradition) -> list[Element]:
        made = self._prose("label", record.label) + self._prose("origin", record.origin)
        if record.first_evidence is not None:
            first = record.first_evidence
            made += self._prose("first-evidence", first.says, first.date)
        if record.played_by:
            paragraph = make("p", type="played-by")
            for agent in record.played_by:
                if agent in self.agents:
                    ref = make("ref", target=f"#{self.names.agent(agent)}")
                    paragraph.append(ref)
            made.append(paragraph)
        return made + self._prose("note", record.note)

    def _fingers(self, one: FingeringAlternative, printed: bool) -> Element:
        item = self._alternative(one.name, one.by, printed)
        fingers = make("p", type="fingers")
        fingers.text = ", ".join(
            " + ".join(
                f"{f.digit}{' touch ' + f.touched if f.touched else ''}"
                f"{' natural' if f.natural else ''}{' on ' + f.string if f.string else ''}"
                for f in entry.fingers
            )
            or "none"
            for entry in one.fingers
        )
        item.append(fingers)
        item.extend(self._prose("speaks-for", one.speaks_for))
        item.extend(self._prose("speaks-against", one.speaks_against))
        return item

    def _bow(self, one: BowingAlternative, printed: bool, model: str) -> Element:
        item = self._alternative(one.name, one.by, printed)
        for kind, words in (
            ("opposite", model if one.opposite else ""),
            ("divide-after", " ".join(map(str, one.divide_after))),
            ("join", "all" if one.join else ""),
            ("signs", ", ".join(f"{note} {sign}" for note, sign in sorted(one.signs.items()))),
        ):
            if words:
                paragraph = make("p", type=kind)
                paragraph.text = words
                item.append(paragraph)
        item.extend(self._prose("circumstance", one.circumstance))
        item.extend(self._prose("speaks-for", one.speaks_for))
        item.extend(self._prose("speaks-against", one.speaks_against))
        return item

    def _alternative(self, name: str, agent: str | None, printed: bool) -> Element:
        item = make("li", label=name, type="printed" if printed else "described")
        if agent is not None:
            item.set("resp", f"#{self.names.agent(agent)}")
        return item

    def _evidence(self, record: Record) -> list[Element]:
        evidence = record.evidence
        if not evidence.literature and not evidence.letters:
            return []
        held = make("biblList")
        held.extend(_citation(one) for one in evidence.literature)
        held.extend(self._letter(one) for one in evidence.letters)
        return [held]

    def _letter(self, letter: Letter) -> Element:
        bibl = make("bibl", type="letter")
        for name, words in (
            ("author", letter.sender),
            ("recipient", letter.recipient),
            ("date", letter.date),
        ):
            if words:
                part = make(name)
                part.text = words
                bibl.append(part)
        annot = make("annot")
        annot.extend(self._prose("says", letter.says))
        bibl.append(annot)
        return bibl


def undecided_annots(sheet: Sheet, collations: Collations) -> list[Element]:
    """Return, for each witness, the annot that its differences point to which no record tells."""
    names, made = sheet.names, []
    for siglum, movement in collations:
        key = undecided(siglum, movement)
        marks = sheet.ledger.marks.get(key)
        if movement == sheet.movement.n and marks:
            annot = make("annot", type="open", n=str(movement))
            annot.set(XML_ID, names.decision(key))
            annot.set("class", f"#{names.layer(Layer.WITNESS)}")
            annot.set("resp", f"#{names.agent(COLLATION)}")
            annot.set("source", f"#{names.witness(siglum)}")
            annot.set("plist", _references(marks))
            paragraph = make("p")
            paragraph.set(XML_LANG, "en")
            paragraph.text = f"Found by comparison; nothing is decided about this in {siglum} yet."
            annot.append(paragraph)
            made.append(annot)
    return made


def _list(items: Iterable[Element]) -> Element:
    made = make("list", type="alternatives")
    made.extend(items)
    return made


def _citation(citation: Citation) -> Element:
    bibl = make("bibl", type="literature")
    bibl.text = citation.cite
    if citation.at:
        scope = make("biblScope")
        scope.text = citation.at
        bibl.append(scope)
        bibl.text += " "
    return bibl


def _dated(record: Record) -> Element:
    paragraph = make("p", type="decided")
    date = make("date", isodate=record.date.isoformat())
    date.text = record.date.isoformat()
    paragraph.append(date)
    return paragraph


def _references(ids: Iterable[str]) -> str:
    return " ".join(f"#{one}" for one in ids)


def _agents(record: Record) -> list[str]:
    """Return the record's agent and those of the alternatives that are printed."""
    agents = [record.by]
    if isinstance(record, FingeringRecord):
        agents += [one.by for one in printed_alternatives(record) if one.by]
    if isinstance(record, Bowing):
        agents += [one.by for one in printed_bowings(record) if one.by]
    return list(dict.fromkeys(agents))


def _sigla(record: Record) -> Sequence[str]:
    """Return all witnesses the record names, those with the text first."""
    sigla = list(record.lemma) if isinstance(record, Reading) else []
    if isinstance(record, Reading | Emendation):
        sigla += [siglum for variant in record.readings for siglum in variant.witnesses]
    return list(dict.fromkeys((*sigla, *record.evidence.witnesses)))


def _place(decision: Decision, passage: Passage) -> list[str]:
    """Return what the place is: its measures where it is of whole bars, else its events."""
    span = decision.span
    if span.whole_bars or not span.events:
        return [passage.bars[index].xml_id for index in bars_of(span) if index < len(passage.bars)]
    return [event.xml_id for event in span.events]


def in_force(decision: Decision) -> bool:
    """Whether the decision reaches the music: only what is accepted does."""
    return decision.filed.record.status is Status.ACCEPTED
