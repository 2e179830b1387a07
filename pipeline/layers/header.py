"""The header of a layered file: titles, agents, sources with sigla, method, layers, last change.

In come the head of the edition, its texts and what the base texts' own headers hold; out goes a
`meiHead`. Nothing reads the clock: the date of the last change is that of the latest decision.
MEI Guidelines 5.1, chapter 3 (metadata); roles are MARC relator codes.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from copy import deepcopy

from pipeline.collation.model import Decision
from pipeline.edition.head import RELATOR, Agent, EditionHead, Role, Witness
from pipeline.edition.layer import Layer, layers_of
from pipeline.edition.model import Edition, Text
from pipeline.edition.records import Emendation, Reading
from pipeline.edition.strict import MAIN_LANGUAGE, in_language
from pipeline.layers.annotations import XML_LANG
from pipeline.layers.names import COLLATION, Names
from pipeline.layers.sheet import make
from pipeline.score.mei_names import XML_ID, Element, local, tag
from pipeline.score.model import Movement

MARC_RELATORS = "http://id.loc.gov/vocabulary/relators"
"""The authority of `@role`: MARC Code List for Relators, Library of Congress."""

LAYER_NAMES: Mapping[Layer, str] = {
    Layer.TEXT: "text",
    Layer.COMPOSER: "composer's markings",
    Layer.WITNESS: "witness variants",
    Layer.EDITOR: "editor's markings",
    Layer.TRADITION: "tradition",
    Layer.PLAYER: "player's own",
}

_CORPORATE = frozenset({Role.PUBLISHER})


def header(
    edition: Edition,
    movements: Sequence[Movement],
    decisions: Sequence[Decision],
    annots: Sequence[Element],
    names: Names,
) -> Element:
    """Return the `meiHead` of the layered file."""
    head = edition.head
    made = make("meiHead")
    file_desc = _under(made, "fileDesc")
    file_desc.append(_title_statement(head, names))
    file_desc.append(_publication(head))
    if annots:
        _under(file_desc, "notesStmt").extend(annots)
    if head.witnesses:
        sources = [_source(head, siglum, names) for siglum in head.witnesses]
        _under(file_desc, "sourceDesc").extend(sources)
    made.append(_encoding(edition, names, _names_collation(annots, names)))
    made.append(_works(head, movements, names))
    hands = list(_manifestations(head, decisions, names))
    if hands:
        _under(made, "manifestationList").extend(hands)
    if decisions:
        made.append(_last_change(decisions, names))
    return made


def bare_header(title: str) -> Element:
    """Return the header of a base text that was taken out again."""
    made = make("meiHead")
    file_desc = _under(made, "fileDesc")
    _text(_under(file_desc, "titleStmt"), "title", title)
    _under(file_desc, "pubStmt")
    return made


def witness_header(layered: Element, names: Names, siglum: str, title: str) -> Element:
    """Return the header of a witness that was taken out: the work's titles and its source.

    `title` is that of the movement, empty where there are several.
    """
    made = make("meiHead")
    file_desc = _under(made, "fileDesc")
    statement = _under(file_desc, "titleStmt")
    for known in layered.iterfind(f"{tag('meiHead')}/{tag('fileDesc')}/{tag('titleStmt')}/*"):
        if known.tag == tag("title"):
            statement.append(deepcopy(known))
    if title:
        _text(statement, "title", title, type="subordinate")
    _under(file_desc, "pubStmt")
    xml_id = names.witness(siglum)
    source = next(one for one in layered.iter(tag("source")) if one.get(XML_ID) == xml_id)
    copy = make("source")
    copy.set(XML_ID, xml_id)
    bibl = _under(copy, "bibl")
    bibl.extend(deepcopy(one) for one in source[0] if local(one) in {"identifier", "title"})
    _under(file_desc, "sourceDesc").append(copy)
    return made


def _under(parent: Element, name: str, **attributes: str) -> Element:
    child = make(name, **attributes)
    parent.append(child)
    return child


def _text(parent: Element, name: str, words: str, language: str = "", **attributes: str) -> Element:
    child = _under(parent, name, **attributes)
    child.text = words
    if language:
        child.set(XML_LANG, language)
    return child


def _prose(
    parent: Element, name: str, text: Mapping[str, str], main: str, **attributes: str
) -> None:
    for language, words in text.items():
        code = main if language == MAIN_LANGUAGE else language
        _text(parent, name, words, code, **attributes)


def _title_statement(head: EditionHead, names: Names) -> Element:
    main = head.main_language
    made = make("titleStmt")
    _prose(made, "title", head.title, main)
    _prose(made, "title", head.subtitle, main, type="subordinate")
    statement = _under(made, "respStmt")
    statement.set(XML_ID, names.agents)
    for key, agent in head.agents.items():
        statement.append(_agent(key, agent, main, names))
    return made


def _agent(key: str, agent: Agent, main: str, names: Names) -> Element:
    """Return a person, or a house or tradition; `@role` is the relator code where there is one."""
    element = {True: "corpName", False: "persName"}[agent.role in _CORPORATE]
    if agent.role is Role.TRADITION:
        element = "name"
    made = make(element)
    made.set(XML_ID, names.agent(key))
    relator = RELATOR[agent.role]
    if relator is None:
        made.set("role", agent.role.value)
    else:
        made.set("role", relator)
        made.set("auth.uri", MARC_RELATORS)
    made.text = in_language(agent.name, main, main) or key
    if agent.years:
        made.text += " "
        _text(made, "date", agent.years)
    return made


def _publication(head: EditionHead) -> Element:
    made = make("pubStmt")
    if head.date:
        _text(made, "date", head.date)
    if head.rights:
        restriction = _under(_under(made, "availability"), "useRestrict")
        _prose(restriction, "p", head.rights, head.main_language)
    return made


def _source(head: EditionHead, siglum: str, names: Names) -> Element:
    witness = head.witnesses[siglum]
    made = make("source", type="principal" if witness.principal else "witness")
    made.set(XML_ID, names.witness(siglum))
    bibl = _under(made, "bibl")
    _text(bibl, "identifier", siglum, type="siglum")
    _prose(bibl, "title", witness.title, head.main_language)
    _text(bibl, "genre", witness.kind.value)
    if witness.by is not None and witness.by in head.agents:
        _text(
            bibl,
            "name",
            in_language(head.agents[witness.by].name, head.main_language, head.main_language)
            or witness.by,
            nymref=f"#{names.agent(witness.by)}",
        )
    if witness.date:
        _text(bibl, "date", witness.date)
    if witness.holding:
        repository = _under(_under(bibl, "physLoc"), "repository")
        repository.text = witness.holding
    _add_description(bibl, witness, head.main_language)
    _add_relations(bibl, head, witness, names)
    return made


def _manifestations(
    head: EditionHead, decisions: Iterable[Decision], names: Names
) -> Iterable[Element]:
    """Yield, for each witness with later hands, where MEI lets a hand be named."""
    hands: dict[str, dict[str, None]] = {}
    for decision in decisions:
        record = decision.filed.record
        if isinstance(record, Reading | Emendation):
            for variant in record.readings:
                for siglum in variant.witnesses if variant.hand is not None else ():
                    hands.setdefault(siglum, {})[variant.hand or ""] = None
    for siglum, agents in hands.items():
        made = make("manifestation", corresp=f"#{names.witness(siglum)}")
        made.set(XML_ID, names.hand(siglum, ""))
        hand_list = _under(_under(made, "physDesc"), "handList")
        for key in agents:
            agent = head.agents.get(key)
            words = None
            if agent is not None:
                words = in_language(agent.name, head.main_language, head.main_language)
            hand = _text(hand_list, "hand", words or key, initial="false")
            hand.set(XML_ID, names.hand(siglum, key))
            if agent is not None:
                hand.set("resp", f"#{names.agent(key)}")
        yield made


def _add_description(bibl: Element, witness: Witness, main: str) -> None:
    if witness.description:
        annot = _under(bibl, "annot", type="description")
        _prose(annot, "p", witness.description, main)


def _add_relations(bibl: Element, head: EditionHead, witness: Witness, names: Names) -> None:
    related = [("isReproductionOf", siglum, "copied from") for siglum in witness.copied_from]
    if witness.part_of is not None:
        related.append(("isPartOf", witness.part_of, "part of the score"))
    known = [row for row in related if row[1] in head.witnesses]
    if known:
        relations = _under(bibl, "relationList")
        for rel, siglum, label in known:
            target = f"#{names.witness(siglum)}"
            _under(relations, "relation", rel=rel, target=target, label=label)


def _names_collation(annots: Iterable[Element], names: Names) -> bool:
    """Whether something in the header is on the word of the comparison, not of a person."""
    return any(annot.get("resp") == f"#{names.agent(COLLATION)}" for annot in annots)


def _encoding(edition: Edition, names: Names, with_collation: bool) -> Element:
    made = make("encodingDesc")
    if with_collation:
        application = _under(_under(made, "appInfo"), "application")
        application.set(XML_ID, names.agent(COLLATION))
        _text(application, "name", "comparison of the encoded witnesses with the text", "en")
    declaration = _under(made, "editorialDecl")
    declaration.set(XML_ID, names.method)
    paragraphs = list(_method(edition.texts)) or [("", "Every decision is an annot.")]
    for language, words in paragraphs:
        _text(declaration, "p", words, language or edition.head.main_language)
    declarations = _under(made, "classDecls")
    taxonomy = _under(declarations, "taxonomy")
    taxonomy.set(XML_ID, names.taxonomy)
    for layer in layers_of(edition.head.agents):
        category = _under(taxonomy, "category", n=layer.value)
        category.set(XML_ID, names.layer(layer))
        _text(category, "label", LAYER_NAMES[layer], "en")
    return made


def _method(texts: Iterable[Text]) -> Iterable[tuple[str, str]]:
    """Yield the paragraphs of the edition's account of its method, by language."""
    for text in texts:
        if text.name == "method":
            for block in text.markdown.split("\n\n"):
                words = " ".join(block.split())
                if words:
                    yield text.language, words


def _works(head: EditionHead, movements: Sequence[Movement], names: Names) -> Element:
    main = head.main_language
    made = make("workList")
    work = _under(made, "work")
    work.set(XML_ID, names.movement(0))
    _prose(work, "title", head.title, main)
    medium = _under(work, "perfMedium")
    _prose(medium, "annot", head.scoring, main)
    components = _under(work, "componentList")
    for movement in movements:
        part = _under(components, "work", n=str(movement.n))
        part.set(XML_ID, names.movement(movement.n))
        _text(part, "title", movement.title)
    return made


def _last_change(decisions: Sequence[Decision], names: Names) -> Element:
    latest = max((d.filed.record for d in decisions), key=lambda record: (record.date, record.id))
    made = make("revisionDesc")
    change = _under(made, "change", isodate=latest.date.isoformat())
    change.set("resp", f"#{names.agent(latest.by)}")
    description = _under(change, "changeDesc")
    _text(description, "p", f"Latest decision: {latest.id}.")
    return made
