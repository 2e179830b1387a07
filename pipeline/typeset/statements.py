"""What a record decides, in words: who has what, by whom, to what end. One short line a matter."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass

from markupsafe import Markup

from pipeline.collation.comparisons import systematic
from pipeline.collation.model import Comparison, Decision
from pipeline.edition.head import EditionHead
from pipeline.edition.records import (
    Bowing,
    EditorialRecord,
    Emendation,
    Evidence,
    FingeringRecord,
    Ossia,
    Reading,
    Tradition,
    Variant,
)
from pipeline.score.model import Passage
from pipeline.typeset.findings import Source, findings
from pipeline.typeset.harmonic_figures import harmonic_figures
from pipeline.typeset.phrases import phrases
from pipeline.typeset.prose import Prose
from pipeline.typeset.systematic_phrases import systematic_phrases
from pipeline.typeset.wording import Wording


@dataclass(frozen=True)
class Statements:
    """Words the records of one edition in one language."""

    head: EditionHead
    wording: Wording
    prose: Prose

    def of(self, decision: Decision, passage: Passage) -> tuple[Markup, ...]:
        """Return the statements of a record, in the order in which they are printed."""
        certainty = self._certainty(decision.filed.record)
        return tuple(s for s in (*self._of_kind(decision, passage), certainty) if s)

    def _of_kind(self, decision: Decision, passage: Passage) -> tuple[Markup, ...]:
        match decision.filed.record:
            case Reading() as record:
                findings = self._findings(record.readings, decision, passage)
                text = self.wording.say("remark.text_as", witnesses=self.sigla(record.lemma))
                return (*findings, sentence(text), *self._parts_against_scores(decision))
            case Emendation() as record:
                findings = self._findings(record.readings, decision, passage)
                text = self.wording.say("remark.text_of_editor")
                return (*findings, sentence(text), *self._parts_against_scores(decision))
            case FingeringRecord() as record:
                return self._fingering(record)
            case Bowing() as record:
                return self._by_other(record)
            case Ossia() as record:
                return (*self._ossia(record), *self._harmonics(decision))
            case Tradition() as record:
                return (*self._tradition(record), *self._harmonics(decision))
            case record:
                return self._by_other(record)

    def sigla(self, sigla: Iterable[str]) -> Markup:
        """Return sigla set as sigla: A, E."""
        return Markup(",\u00a0").join(Markup('<b class="siglum">{}</b>').format(s) for s in sigla)

    def agent(self, agent: str) -> Markup:
        """Return an agent's name; the id itself where the edition does not know it."""
        known = self.head.agents.get(agent)
        return self.prose.inline(known.name) if known else Markup.escape(agent)

    def evidence(self, evidence: Evidence) -> Markup:
        """Return witnesses, literature and letters that a decision rests on; empty without any."""
        cited: list[Markup] = []
        if evidence.witnesses:
            cited.append(self.sigla(evidence.witnesses))
        for citation in evidence.literature:
            parts = (part for part in (citation.cite, citation.at) if part)
            cited.append(self.prose.inline({self.prose.language: ", ".join(parts)}))
        for letter in evidence.letters:
            says = self.prose.inline(letter.says)
            parties = {"sender": letter.sender, "recipient": letter.recipient, "says": says}
            cited.append(
                self.wording.say(
                    "remark.letter", None, date=self.wording.date(letter.date), **parties
                )
                if letter.date
                else self.wording.say("remark.letter_undated", None, **parties)
            )
        if not cited:
            return Markup("")
        return sentence(self.wording.say("remark.evidence", sources=Markup("; ").join(cited)))

    def _certainty(self, record: EditorialRecord) -> Markup:
        if record.certainty is None:
            return Markup("")
        level = self.wording.say(f"remark.levels.{record.certainty.value}")
        return sentence(self.wording.say("remark.certainty", level=level))

    def _findings(
        self, variants: Sequence[Variant], decision: Decision, passage: Passage
    ) -> list[Markup]:
        """Say what the witnesses have: what several have in common once, then the rest of each."""
        found: list[tuple[Source, tuple[Markup, ...]]] = []
        for index, variant in enumerate(variants):
            if variant.says:
                says = self.prose.inline(variant.says)
                found += [((siglum, variant.hand), (says,)) for siglum in variant.witnesses]
                continue
            for comparison in decision.comparisons:
                if comparison.variant == index:
                    has = self._has(comparison, decision, passage)
                    witnesses = comparison.version.witnesses or variant.witnesses
                    found += [((siglum, variant.hand), has) for siglum in witnesses]
        return [
            sentence(
                self.wording.say(
                    "remark.besides" if one.besides else "remark.finding",
                    who=self._who(one.sources),
                    what=Markup("; ").join(one.phrases),
                )
            )
            for one in findings(found)
        ]

    def _who(self, sources: Sequence[Source]) -> Markup:
        """Return the sigla, those of one later hand together with its name behind them."""
        named = []
        for hand in dict.fromkeys(hand for _, hand in sources):
            sigla = self.sigla(siglum for siglum, of in sources if of == hand)
            if hand is not None:
                sigla = self.wording.say("remark.hand", witnesses=sigla, hand=self.agent(hand))
            named.append(sigla)
        return Markup(", ").join(named)

    def _has(
        self, comparison: Comparison, decision: Decision, passage: Passage
    ) -> tuple[Markup, ...]:
        say = systematic_phrases if systematic(decision) else phrases
        said = say(comparison, passage, decision.span, self.wording)
        return said or (self.wording.say("remark.agrees"),)

    def _parts_against_scores(self, decision: Decision) -> Iterator[Markup]:
        """Say which part contradicts its own score here, and which of the two the text follows."""
        for one in decision.parts_against_scores:
            yield sentence(
                self.wording.say(
                    "remark.part_against_score",
                    part=self.sigla([one.part]),
                    score=self.sigla([one.score]),
                    follows=self.wording.say(f"remark.follows.{one.follows.value}"),
                )
            )

    def _by_other(self, record: EditorialRecord) -> tuple[Markup, ...]:
        """Name who is responsible where it is not the editor."""
        agent = self.head.agents.get(record.by)
        if agent is not None and agent.role == "editor":
            return ()
        name = self.wording.say("remark.by", name=self.agent(record.by))
        return (sentence(capitalised(name)),)

    def _fingering(self, record: FingeringRecord) -> tuple[Markup, ...]:
        purposes = self.wording.listed(
            self.wording.say(f"fingering.purposes.{p.value}") for p in record.purpose
        )
        said = [
            *self._by_other(record),
            sentence(self.wording.say("fingering.purpose", purposes=purposes)),
            sentence(self.wording.say(f"fingering.composer.{record.composer_fingering}")),
        ]
        return tuple(one for one in said if one)

    def _ossia(self, record: Ossia) -> tuple[Markup, ...]:
        label = self.prose.inline(record.label)
        said = [
            self.wording.quoted(label) if label else Markup(""),
            *self._by_other(record),
            self.wording.say(f"ossia.{record.sounds}"),
        ]
        return tuple(sentence(one) for one in said if one)

    def _harmonics(self, decision: Decision) -> tuple[Markup, ...]:
        facts = decision.harmonics
        return () if facts is None else (sentence(harmonic_figures(facts, self.wording)),)

    def _tradition(self, record: Tradition) -> tuple[Markup, ...]:
        say, inline = self.wording.say, self.prose.inline
        said = [say("tradition.not_composer")]
        if record.label:
            said.append(say("tradition.label", label=inline(record.label)))
        if record.origin:
            said.append(say("tradition.origin", origin=inline(record.origin)))
        first = record.first_evidence
        if first is not None and first.date:
            said.append(
                say("tradition.first", date=self.wording.date(first.date), says=inline(first.says))
            )
        elif first is not None:
            said.append(say("tradition.first_undated", says=inline(first.says)))
        if record.played_by:
            names = self.wording.listed(self.agent(agent) for agent in record.played_by)
            said.append(say("tradition.players", names=names))
        if record.note:
            said.append(say("tradition.note", note=inline(record.note)))
        return tuple(sentence(one) for one in said)


def sentence(text: Markup) -> Markup:
    """Return the text closed by a full stop unless it closes itself; empty stays empty."""
    plain = text.striptags().rstrip("”“»«’\"'")
    return text if not plain or plain[-1] in ".!?…:" else text + Markup(".")


def capitalised(text: Markup) -> Markup:
    """Return the text with its first letter as a capital; markup in front is left alone."""
    return text if text[:1] == "<" else Markup(text[:1].upper() + text[1:])
