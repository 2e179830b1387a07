"""Sources and people as the commentary lists them: siglum, title, kind, facts, description."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

from markupsafe import Markup

from pipeline.collation.beside import Beside, Besides
from pipeline.collation.model import Encodings
from pipeline.edition.head import EditionHead, Witness
from pipeline.score.model import Passage, Score
from pipeline.typeset.places import unbroken
from pipeline.typeset.statements import Statements, capitalised, sentence
from pipeline.typeset.views import PersonView, SourceView
from pipeline.typeset.wording import Wording


def source_views(
    head: EditionHead,
    score: Score,
    encodings: Encodings,
    statements: Statements,
    besides: Besides | None = None,
) -> tuple[SourceView, ...]:
    """Return the sources in the order in which the edition names them.

    What of an encoding lies beside its text is named as the text names it: a part may count its
    upbeat as bar 1, and name its staff in another language.
    """
    texts = {movement.n: movement.passage for movement in score.movements}
    laid = besides or {}
    views = []
    for siglum, witness in head.witnesses.items():
        held = {
            n: _as_the_text_names_it(passage, texts.get(n), laid.get((siglum, n)))
            for (of, n), passage in encodings.items()
            if of == siglum
        }
        extent = Markup("")
        if held:
            extent = _extent(held, score, head.edited_staff.n, statements.wording)
        views.append(_source(siglum, witness, extent, statements))
    return tuple(views)


def people_views(head: EditionHead, statements: Statements) -> tuple[PersonView, ...]:
    """Return the agents of the edition in the order in which it names them."""
    say, prose = statements.wording.say, statements.prose
    return tuple(
        PersonView(
            name=capitalised(prose.inline(agent.name)),
            facts=Markup(", ").join(
                part for part in (agent.years, say(f"people.roles.{agent.role.value}")) if part
            ),
            about=prose.inline(agent.about),
        )
        for agent in head.agents.values()
    )


def _source(siglum: str, witness: Witness, extent: Markup, statements: Statements) -> SourceView:
    say, prose = statements.wording.say, statements.prose
    kind = say(f"sources.kinds.{witness.kind.value}")
    if witness.principal:
        kind = Markup("{}, {}").format(kind, say("sources.principal"))
    facts = [
        Markup(", ").join(
            part for part in (capitalised(kind), statements.wording.date(witness.date)) if part
        )
    ]
    if witness.by:
        facts.append(say("sources.by", name=statements.agent(witness.by)))
    if witness.part_of:
        facts.append(say("sources.part_of", score=statements.sigla([witness.part_of])))
    if witness.copied_from:
        facts.append(say("sources.copied_from", sigla=statements.sigla(witness.copied_from)))
    if witness.holding:
        facts.append(say("sources.held", holding=witness.holding))
    if extent:
        facts.append(say("sources.compared", extent=extent))
    return SourceView(
        siglum=siglum,
        title=prose.inline(witness.title),
        facts=tuple(sentence(fact) for fact in facts),
        description=prose.blocks(witness.description),
    )


def _as_the_text_names_it(held: Passage, text: Passage | None, beside: Beside | None) -> Passage:
    """Return the encoding with the bars and staves of the text instead of its own."""
    if text is None or beside is None or not beside.pairs or beside.further_staves:
        return held
    reached = sorted(beside.reading_bar)
    bars = text.bars[reached[0] : reached[-1] + 1]
    return replace(held, bars=bars, staves=tuple(s for s in text.staves if s.n in beside.staves))


def _extent(
    held: Mapping[int, Passage], score: Score, edited_staff: int, wording: Wording
) -> Markup:
    """Return what of the work the encodings of a source hold: movements, bars, staves."""
    texts = {movement.n: movement.passage for movement in score.movements}
    limits = {
        n: _limits(held[n], texts[n], edited_staff, wording) for n in sorted(held) if n in texts
    }
    complete = all(n in held and not _bars_lacking(held[n], text) for n, text in texts.items())
    if complete and len(set(limits.values())) == 1:
        return _limited(wording.say("sources.whole"), next(iter(limits.values())), wording)
    return wording.listed(
        _limited(wording.say("sources.movement", n=n), limit, wording)
        for n, limit in limits.items()
    )


def _limits(held: Passage, text: Passage, edited_staff: int, wording: Wording) -> Markup:
    """Return the bars and staves that an encoding holds where the text has more."""
    found: list[Markup] = []
    if _bars_lacking(held, text):
        bars = wording.say("sources.bars", bars=f"{held.bars[0].n}–{held.bars[-1].n}")
        found.append(unbroken(bars))
    edited = next((staff.label for staff in text.staves if staff.n == edited_staff), "")
    if [staff.label for staff in held.staves] == [edited] and len(text.staves) > 1:
        found.append(wording.say("sources.edited_part"))
    elif len(held.staves) < len(text.staves):
        names = wording.listed(
            dict.fromkeys(s.label or wording.say("place.staff", n=s.n) for s in held.staves)
        )
        found.append(wording.say("sources.staves", names=names))
    return Markup(", ").join(found)


def _bars_lacking(held: Passage, text: Passage) -> bool:
    return not {bar.n for bar in text.bars} <= {bar.n for bar in held.bars}


def _limited(what: Markup, limits: Markup, wording: Wording) -> Markup:
    return wording.say("sources.limited", what=what, limits=limits) if limits else what
