"""The provenance of a marking as attributes: who (`resp`), which layer (`class`), which decision
(`corresp`), and the handle for its look (`type`).

The three lists run parallel: their k-th tokens speak of one decision. On an element of the base
text the tokens are appended to whatever stands there, so that they can be taken off again and
leave the attribute, or its absence, as it was (MEI 5.1: att.classed, att.linking,
att.responsibility, att.typed).
"""

from __future__ import annotations

from collections.abc import Collection, Iterable
from dataclasses import dataclass

from pipeline.edition.layer import Layer
from pipeline.layers.names import Names
from pipeline.score.mei_names import XML_ID, Element

PARALLEL = ("class", "corresp", "resp")
"""Attributes that carry one token for each decision."""


@dataclass(frozen=True)
class Provenance:
    """Which decision (record id) puts a marking there, in which layer, who is responsible."""

    decision: str
    layer: Layer
    agent: str


def stamp(element: Element, names: Names, provenances: Iterable[Provenance]) -> None:
    """Write the provenance of an element of our own; one decision is named once."""
    once = list(dict.fromkeys(provenances))
    element.set("class", " ".join(f"#{names.layer(p.layer)}" for p in once))
    element.set("corresp", " ".join(f"#{names.decision(p.decision)}" for p in once))
    element.set("resp", " ".join(f"#{names.agent(p.agent)}" for p in once))


def adopt(element: Element, names: Names, provenance: Provenance, handle: str) -> None:
    """Append a decision's tokens to an element of the base text; `handle` becomes its `type`."""
    _append(element, "class", f"#{names.layer(provenance.layer)}")
    _append(element, "corresp", f"#{names.decision(provenance.decision)}")
    _append(element, "resp", f"#{names.agent(provenance.agent)}")
    _append(element, "type", handle)


def decisions_of(
    element: Element, names: Names, layers: Collection[Layer]
) -> tuple[int, ...] | None:
    """Return which of the decisions named on the element, by index, are of these layers.

    None where the element names no decision of ours at all.
    """
    tokens = own_tokens(element, "class", names)
    if not tokens:
        return None
    return tuple(i for i, t in enumerate(tokens) if names.layer_of_reference(t) in layers)


def keep_decisions(element: Element, names: Names, kept: Collection[int]) -> None:
    """Take off the tokens of all other decisions.

    On an element of the base text the appended `type` tokens go with them.
    """
    count = len(own_tokens(element, "corresp", names))
    if len(kept) == count:
        return
    for name in PARALLEL:
        _keep_last(element, name, count, kept)
    if not names.owns(element.get(XML_ID, "")):
        _keep_last(element, "type", count, kept)


def append_reference(element: Element, attribute: str, xml_id: str) -> None:
    """Append a reference to whatever stands in the attribute."""
    _append(element, attribute, f"#{xml_id}")


def drop_own_references(element: Element, attribute: str, names: Names) -> None:
    """Take appended references to elements of ours off an attribute of the base text."""
    _keep_last(element, attribute, len(own_tokens(element, attribute, names)), [])


def _append(element: Element, attribute: str, token: str) -> None:
    """Append so that an absent attribute and an empty one can be told apart afterwards."""
    before = element.get(attribute)
    element.set(attribute, token if before is None else f"{before} {token}")


def own_tokens(element: Element, attribute: str, names: Names) -> list[str]:
    """Return the references at the end of an attribute that this project wrote."""
    tokens = element.get(attribute, "").split(" ")
    own: list[str] = []
    while tokens and names.owns_reference(tokens[-1]):
        own.insert(0, tokens.pop())
    return own


def _keep_last(element: Element, attribute: str, appended: int, kept: Iterable[int]) -> None:
    """Of the last `appended` tokens keep those of these indexes."""
    if appended == 0:
        return
    tokens = element.get(attribute, "").split(" ")
    base, own = tokens[:-appended], tokens[-appended:]
    left = [*base, *(own[index] for index in kept)]
    if left:
        element.set(attribute, " ".join(left))
    else:
        del element.attrib[attribute]
