"""LAYER: one MEI 5.1 that holds the base text and every decision, each marking tagged.

In come the edition, the base text and the decisions; out go the bytes of one document, the same for
the same input. What is not simply the text carries `class` (layer), `corresp` (the decision's
annot) and `resp` (who); `extract` takes it out again. The encodings chosen are told in PROFILE.md.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from lxml import etree

from pipeline.collation.answers import Answers, Collations, answers
from pipeline.collation.model import Decision
from pipeline.edition.model import Edition
from pipeline.edition.records import (
    Bowing,
    Emendation,
    FingeringRecord,
    Ossia,
    Reading,
    Tradition,
)
from pipeline.layers.annotations import Scribe, in_force, undecided_annots
from pipeline.layers.bars import weave_bars
from pipeline.layers.bowings import write_bowing
from pipeline.layers.carried import carry
from pipeline.layers.emended import tag_described_emendations
from pipeline.layers.fingerings import write_fingering
from pipeline.layers.header import header
from pipeline.layers.holdings import holdings_of
from pipeline.layers.names import names_beside
from pipeline.layers.ossias import write_ossia
from pipeline.layers.readings import weave_notes
from pipeline.layers.sheet import Ledger, Sheet, body_of, make, new_document, parse
from pipeline.layers.signs import weave_signs
from pipeline.layers.strands import references_of
from pipeline.layers.tags import append_reference
from pipeline.layers.tellings import told_of
from pipeline.score.mei_names import XML_ID, Element, local
from pipeline.score.model import Score


def write_layers(
    edition: Edition,
    score: Score,
    decisions: tuple[Decision, ...],
    collations: Collations,
) -> bytes:
    """Return the layered MEI of the edition, UTF-8.

    Every witness of `collations`, by siglum and number of the movement, is carried whole: see
    `extract_witness`. The xml:ids of the movements must differ from each other, as `read_score`
    makes them.
    """
    roots = [parse(movement.passage.mei) for movement in score.movements]
    names = names_beside(_used(roots))
    ledger = Ledger(names)
    sheets = [
        Sheet(movement, root, ledger) for movement, root in zip(score.movements, roots, strict=True)
    ]
    passages = {m.n: m.passage for m in score.movements}
    said = answers(decisions, collations, passages)
    for sheet in sheets:
        here = [d for d in decisions if d.span.movement == sheet.movement.n]
        _write_movement(sheet, edition, here, collations, said)
    scribe = Scribe(
        names,
        edition.head.agents,
        edition.head.main_language,
        frozenset(d.id for d in decisions),
    )
    annots = [scribe.annot(d, passages[d.span.movement], ledger) for d in decisions]
    undecided = [annot for sheet in sheets for annot in undecided_annots(sheet, collations)]
    holdings = [annot for sheet in sheets for annot in holdings_of(sheet, collations)]
    annots += undecided + holdings
    head = header(edition, score.movements, decisions, annots, names)
    return _document(head, sheets)


def _used(roots: Sequence[Element]) -> Iterator[str]:
    """Yield every xml:id and every reference of the base texts."""
    for root in roots:
        for element in root.iter(etree.Element):
            yield element.get(XML_ID, "")
            for name in references_of(element):
                yield from (token.removeprefix("#") for token in element.get(name, "").split())


def _write_movement(
    sheet: Sheet,
    edition: Edition,
    decisions: Sequence[Decision],
    collations: Collations,
    said: Answers,
) -> None:
    """Write the markings of every decision in force; readings first, they move notes about."""
    accepted = [d for d in decisions if in_force(d)]
    told = told_of(
        sheet,
        [d for d in accepted if isinstance(d.filed.record, Reading | Emendation)],
        collations,
        said,
    )
    woven = weave_notes(sheet, told)
    weave_bars(sheet, told, woven)
    weave_signs(sheet, told, woven)
    for decision in accepted:
        match decision.filed.record:
            case Emendation():
                tag_described_emendations(sheet, decision)
            case FingeringRecord():
                write_fingering(sheet, decision, edition.head.agents)
            case Bowing():
                write_bowing(sheet, decision, edition.head.agents)
            case Ossia() | Tradition():
                write_ossia(sheet, decision, edition.head.main_language)
            case _:
                pass


def _document(head: Element, sheets: Sequence[Sheet]) -> bytes:
    root = new_document()
    root.append(head)
    music = make("music")
    root.append(music)
    body = make("body")
    music.append(body)
    for sheet in sheets:
        carry(sheet.root, root, sheet.names, sheet.movement.n)
        body.append(_mdiv(sheet))
    etree.indent(head, level=1)
    _break_lines(root, music, body)
    etree.cleanup_namespaces(root, keep_ns_prefixes=["xlink"])
    return etree.tostring(root, encoding="UTF-8", xml_declaration=True) + b"\n"


def _mdiv(sheet: Sheet) -> Element:
    """Return the movement's own mdiv, or one around several, pointing to its work entry."""
    held = [one for one in body_of(sheet.root) if local(one) == "mdiv"]
    if len(held) == 1:
        mdiv = held[0]
    else:
        mdiv = make("mdiv")
        mdiv.set(XML_ID, sheet.names.mdiv(sheet.movement.n))
        mdiv.extend(held)
    mdiv.tail = None
    append_reference(mdiv, "decls", sheet.names.movement(sheet.movement.n))
    return mdiv


def _break_lines(root: Element, music: Element, body: Element) -> None:
    """Put the great parts on lines of their own; nothing inside a movement is touched."""
    root.text = "\n  "
    root[0].tail = "\n  "
    music.text = "\n    "
    for child in music:
        child.tail = "\n    "
    music[-1].tail = "\n  "
    music.tail = "\n"
    body.text = "\n"
    for mdiv in body:
        mdiv.tail = "\n"
