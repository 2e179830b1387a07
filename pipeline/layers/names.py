"""The xml:ids of a layered file: speaking names that never clash with those of the base text.

In come sigla, ids of agents and records; out go xml:ids (NCName, W3C Namespaces in XML 1.0). A
prefix stands before all of them where the base text already uses such names; whoever reads a
layered file finds it in the id of the taxonomy of layers.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass
from functools import cached_property
from itertools import count

from pipeline.edition.layer import Layer
from pipeline.score.mei_names import XML_ID, Element, tag

_KINDS = "layers|layer|witness|encoding|agent|hand|decision|mark|music|copy|movement"
_OWN = rf"(?:{_KINDS})-"


COLLATION = ".collation"
"""Who compared the witnesses; no agent's id begins with a dot."""


def undecided(siglum: str, movement: int) -> str:
    """Return what stands for a record where none in force tells what a witness has otherwise.

    No record's id begins with a dot.
    """
    return f".{siglum}.{movement}"


@dataclass(frozen=True)
class Names:
    """Makes the ids of one layered file; `prefix` is empty unless the base text clashes."""

    prefix: str = ""

    @property
    def taxonomy(self) -> str:
        """The taxonomy whose categories are the layers."""
        return f"{self.prefix}layers-taxonomy"

    @property
    def agents(self) -> str:
        """The statement that names all agents."""
        return f"{self.prefix}layers-agents"

    @property
    def method(self) -> str:
        """The account of the edition's method."""
        return f"{self.prefix}layers-method"

    def layer(self, layer: Layer) -> str:
        """The category of a layer."""
        return f"{self.prefix}layer-{layer.value}"

    def witness(self, siglum: str) -> str:
        """The source of that siglum."""
        return f"{self.prefix}witness-{_escaped(siglum)}"

    def encoding(self, siglum: str, movement: int) -> str:
        """What the encoding of a movement in that witness holds."""
        return f"{self.prefix}encoding-{_escaped(siglum)}-{movement}"

    def agent(self, agent: str) -> str:
        """The person, house or tradition of that id."""
        return f"{self.prefix}agent-{_escaped(agent)}"

    def hand(self, siglum: str, agent: str) -> str:
        """The later hand of that agent in that witness."""
        return f"{self.prefix}hand-{_escaped(siglum)}-{_escaped(agent)}"

    def decision(self, record: str) -> str:
        """The annot of that record."""
        return f"{self.prefix}decision-{_escaped(record)}"

    def mark(self, record: str, number: int) -> str:
        """The number-th element that was written into the music for that record."""
        return f"{self.prefix}mark-{_escaped(record)}-{number}"

    def music(self, xml_id: str, owner: str = "") -> str:
        """The copy of an element of a version's own music.

        `owner` (a record, a hand) tells copies of one file apart; encodings share no ids.
        """
        kind = f"copy-{_escaped(owner)}.." if owner else "music-"
        return f"{self.prefix}{kind}{xml_id}"

    def movement(self, number: int) -> str:
        """The work entry of a movement."""
        return f"{self.prefix}movement-{number}"

    def mdiv(self, number: int) -> str:
        """The mdiv put around a movement whose base text has several."""
        return f"{self.prefix}movement-{number}-music"

    def owns(self, xml_id: str) -> bool:
        """Whether an element with that id was written by this project, not by the base text."""
        return bool(self._own.match(xml_id))

    def owns_reference(self, reference: str) -> bool:
        """Whether `#id` points to an element written by this project."""
        return reference.startswith("#") and self.owns(reference[1:])

    def layer_of_reference(self, reference: str) -> Layer | None:
        """The layer whose category `#id` points to."""
        return self._layers.get(reference.removeprefix("#"))

    @cached_property
    def _own(self) -> re.Pattern[str]:
        return re.compile(re.escape(self.prefix) + _OWN)

    @cached_property
    def _layers(self) -> dict[str, Layer]:
        return {self.layer(layer): layer for layer in Layer}


def names_beside(used: Iterable[str]) -> Names:
    """Return the names with the shortest prefix that none of the used ids or tokens begins with."""
    pattern = re.compile(rf"(|e\d+\.){_OWN}")
    taken = {found[1] for one in used if (found := pattern.match(one))}
    prefixes = ("" if n == 0 else f"e{n}." for n in count())
    return Names(next(prefix for prefix in prefixes if prefix not in taken))


def names_of(root: Element) -> Names | None:
    """Return the names that a layered file was written with, None where it is no layered file."""
    path = "/".join(tag(name) for name in ("meiHead", "encodingDesc", "classDecls", "taxonomy"))
    for taxonomy in root.findall(path):
        found = re.fullmatch(r"(|e\d+\.)layers-taxonomy", taxonomy.get(XML_ID, ""))
        if found:
            return Names(found[1])
    return None


def _escaped(written: str) -> str:
    """Return text as part of an NCName, so that no two texts become the same."""
    return "".join(
        c
        if _may_stand(c) and not (c == "_" and written[i + 1 : i + 2] == "x")
        else f"_x{ord(c):x}_"
        for i, c in enumerate(written)
    )


def _may_stand(character: str) -> bool:
    return character.isascii() and (character.isalnum() or character in "._-")
