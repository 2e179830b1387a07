"""Sources and people as the commentary lists them: siglum, title, kind, facts, description."""

from __future__ import annotations

from markupsafe import Markup

from pipeline.edition.head import EditionHead, Witness
from pipeline.typeset.statements import Statements, capitalised, sentence
from pipeline.typeset.views import PersonView, SourceView


def source_views(head: EditionHead, statements: Statements) -> tuple[SourceView, ...]:
    """Return the sources in the order in which the edition names them."""
    return tuple(_source(s, witness, head, statements) for s, witness in head.witnesses.items())


def people_views(head: EditionHead, statements: Statements) -> tuple[PersonView, ...]:
    """Return the agents of the edition in the order in which it names them."""
    say, prose = statements.wording.say, statements.prose
    return tuple(
        PersonView(
            name=prose.inline(agent.name),
            facts=Markup(", ").join(
                part for part in (agent.years, say(f"people.roles.{agent.role.value}")) if part
            ),
            about=prose.inline(agent.about),
        )
        for agent in head.agents.values()
    )


def _source(siglum: str, witness: Witness, head: EditionHead, statements: Statements) -> SourceView:
    say, prose = statements.wording.say, statements.prose
    kind = say(f"sources.kinds.{witness.kind.value}")
    if witness.principal:
        kind = Markup("{}, {}").format(kind, say("sources.principal"))
    facts = [Markup(", ").join(part for part in (capitalised(kind), witness.date) if part)]
    if witness.by:
        facts.append(say("sources.by", name=statements.agent(witness.by)))
    if witness.copied_from:
        facts.append(say("sources.copied_from", sigla=statements.sigla(witness.copied_from)))
    if witness.holding:
        facts.append(say("sources.held", holding=witness.holding))
    if witness.encodings:
        facts.append(say("sources.compared", extent=_extent(witness, head, statements)))
    return SourceView(
        siglum=siglum,
        title=prose.inline(witness.title),
        facts=tuple(sentence(fact) for fact in facts),
        description=prose.blocks(witness.description),
    )


def _extent(witness: Witness, head: EditionHead, statements: Statements) -> Markup:
    say = statements.wording.say
    if set(witness.encodings) >= {movement.n for movement in head.movements}:
        return say("sources.whole")
    return statements.wording.listed(say("sources.movement", n=n) for n in witness.encodings)
