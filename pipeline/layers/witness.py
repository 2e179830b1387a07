"""A witness taken out of a layered MEI again: its music as its encoding has it, and only that.

In comes a layered document, out goes a clean MEI 5.1 document: the witness's branch wherever
versions part, the bars and staves that its encoding holds, at the pitch at which it is written.
"""

from __future__ import annotations

from collections.abc import Mapping

from lxml import etree

from pipeline.layers.bar_signs import write_bar_signs
from pipeline.layers.carried import is_own
from pipeline.layers.extract import (
    Layered,
    NotLayeredError,
    as_bytes,
    movements_of,
    open_layered,
    own_document,
    still_inside,
    strip,
)
from pipeline.layers.header import witness_header
from pipeline.layers.held_bars import hold, let_go
from pipeline.layers.holdings import Holding, held
from pipeline.layers.names import Names
from pipeline.layers.readings import ENCODED
from pipeline.layers.sheet import children, parse, remove, unwrap
from pipeline.score.mei_names import XML_ID, Element, tag
from pipeline.score.passage import passage_of
from pipeline.score.transposing import Move, transposed
from pipeline.score.trouble import Trouble


class UnknownWitnessError(ValueError):
    """No source of the document has that siglum; the message names those that have one."""


class NotCarriedError(ValueError):
    """The document does not hold all that this witness has; the message says what it holds."""


def extract_witness(mei: bytes, siglum: str) -> Mapping[int, bytes]:
    """Return each movement that is encoded of a witness, by its number, as its own document.

    Raises UnknownWitnessError, NotCarriedError, NotLayeredError, NotMeiError.
    """
    layered = open_layered(mei)
    holdings = _holdings(layered, siglum)
    return {
        n: _taken_out(layered, movement, siglum, (n, holdings[n]))
        for movement, work in movements_of(*layered)
        if (n := int(work.get("n", "0"))) in holdings
    }


def witness_document(mei: bytes, siglum: str, movement: int | None = None) -> bytes:
    """Return a witness as one document: one movement, or all that are encoded, an `mdiv` each.

    Raises what `extract_witness` does; NotCarriedError too where that movement is not encoded.
    """
    taken = extract_witness(mei, siglum)
    if movement is not None:
        if movement not in taken:
            there = ", ".join(map(str, taken))
            raise NotCarriedError(
                f"movement {movement} of {siglum} is not encoded; the file holds movement {there}"
                if len(taken) == 1
                else f"movement {movement} of {siglum} is not encoded; the file holds {there}"
            )
        return taken[movement]
    if len(taken) == 1:
        return next(iter(taken.values()))
    layered = open_layered(mei)
    music = [
        (n, mdiv)
        for n, document in taken.items()
        for mdiv in parse(document).iter(tag("mdiv"))
        if mdiv.getparent() is not None
    ]
    head = witness_header(layered.root, layered.names, siglum, "")
    document = own_document(layered.root, head, music, layered.names)
    _name_once(document)
    return as_bytes(document)


def _name_once(document: Element) -> None:
    """Leave each person named once in the titles, whom several movements name alike."""
    named: set[bytes] = set()
    for one in list(document.iterfind(f".//{tag('titleStmt')}/*")):
        written = etree.tostring(one, method="c14n", with_tail=False)
        if written in named:
            remove(one)
        named.add(written)


def _holdings(layered: Layered, siglum: str) -> Mapping[int, Holding]:
    sigla = _sigla(*layered)
    if siglum not in sigla:
        raise UnknownWitnessError(
            f"no source has the siglum {siglum}; there are {', '.join(sigla) or 'none'}"
        )
    by_siglum = {one: _held(layered, one) for one in sigla}
    holdings = by_siglum[siglum]
    if not holdings:
        carried = [one for one, found in by_siglum.items() if found]
        raise NotCarriedError(
            f"{siglum} is not encoded, so the file does not hold all that it has; "
            f"encoded are {', '.join(carried) or 'none'}"
        )
    return holdings


def _held(layered: Layered, siglum: str) -> Mapping[int, Holding]:
    try:
        return held(layered.root, layered.names, siglum)
    except (KeyError, ValueError) as wrong:
        raise NotLayeredError(
            f"what the header says of the encoding of {siglum} cannot be read"
        ) from wrong


def _sigla(root: Element, names: Names) -> list[str]:
    """Return the sigla of the sources that this project wrote."""
    return [
        identifier.text or ""
        for source in root.iter(tag("source"))
        if is_own(source, names)
        for identifier in source.iter(tag("identifier"))
        if identifier.get("type") == "siglum"
    ]


def _taken_out(
    layered: Layered, movement: Element, siglum: str, held_of: tuple[int, Holding]
) -> bytes:
    root, names = layered
    n, holding = held_of
    before = _ids(movement)
    _choose(movement, names, siglum)
    strip(movement, names, ())
    if not hold(movement, holding):
        raise NotLayeredError(
            f"the bars that the header names for {siglum} in movement {n} are not in the file"
        )
    let_go(movement, before - _ids(movement))
    work = next(w for m, w in movements_of(root, names) if m is movement)
    head = witness_header(root, names, siglum, work.findtext(tag("title"), ""))
    document = own_document(root, head, [(n, movement)], names)
    if holding.bar_signs is not None:
        write_bar_signs(document, holding.bar_signs)
    return _as_written(document, holding) if holding.shifts else as_bytes(document)


def _as_written(document: Element, holding: Holding) -> bytes:
    """Return the document with each staff as high as the witness writes it."""
    passage = passage_of(document, "", Trouble(""))
    if passage is None:
        raise NotLayeredError("a movement of the file has no bars")
    moves = {staff: Move(by.steps, by.semitones) for staff, by in holding.shifts.items()}
    return as_bytes(parse(transposed(passage, moves).mei))


def _choose(movement: Element, names: Names, siglum: str) -> None:
    """In every fork of ours put the witness's branch in the place of the text's.

    A later hand's reading is the witness's where it stands in the witness's encoding.
    """
    reference = f"#{names.witness(siglum)}"
    for fork in list(movement.iter(tag("app"), tag("choice"))):
        if not is_own(fork, names) or not still_inside(fork, movement):
            continue
        own = [b for b in children(fork)[1:] if reference in b.get("source", "").split()]
        first_hand = [b for b in own if b.get("hand") is None]
        encoded = [b for b in own if ENCODED in b.get("type", "").split()]
        for branch in (first_hand or encoded)[:1]:
            unwrap(fork, branch)


def _ids(movement: Element) -> set[str]:
    return {one.get(XML_ID, "") for one in movement.iter(etree.Element)} - {""}
