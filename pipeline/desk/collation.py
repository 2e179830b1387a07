"""The command `collate`: an edition and wishes in, all that its witnesses have otherwise out.

Gathers what the three forms of the answer share. Nothing is printed here.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path

from pipeline.checks.material import Material
from pipeline.collation.collated import Collation, Departure, SetAside
from pipeline.collation.departures import departures
from pipeline.collation.set_aside import set_aside
from pipeline.edition.quoting import listed, quoted
from pipeline.edition.suggestions import closest
from pipeline.problems import Origin, Outcome, Problem, error
from pipeline.typeset.wording import Wording, languages, wording_of

OPEN_RULE = "difference-open"
"""The rule whose findings this command tells itself."""

_FALLBACK = "en"

Collations = Mapping[tuple[str, int], Collation]
Counts = Mapping[tuple[str, int], Mapping[SetAside, int]]


@dataclass(frozen=True)
class Wished:
    """What is asked for: the witnesses (all if none is named), and whether only what is open."""

    witnesses: tuple[str, ...] = ()
    only_open: bool = False


@dataclass(frozen=True)
class Collated:
    """An edition collated: the witnesses asked for, and all in which they depart."""

    material: Material
    collations: Collations
    departures: tuple[Departure, ...]
    shown: tuple[Departure, ...]

    @cached_property
    def set_aside(self) -> Counts:
        """How often notation differs without another meaning, by witness and movement."""
        texts = self.material.texts
        return {
            key: set_aside(texts[key[1]], collation.beside)
            for key, collation in self.collations.items()
        }

    @property
    def wording(self) -> Wording:
        """The wording of the edition's main language; English where there is none."""
        main = self.material.edition.head.main_language
        return wording_of(main if main in languages() else _FALLBACK)

    @property
    def sigla(self) -> Sequence[str]:
        """The witnesses that were collated, in the order of the edition."""
        return tuple(dict.fromkeys(siglum for siglum, _ in self.collations))


def collated(folder: Path, wished: Wished) -> Outcome[Collated]:
    """Return the edition collated, with its problems; None where there is nothing to collate.

    Problems of records keep nothing from being collated: this is what they are mended with.
    """
    from pipeline.build import examine

    examined = examine(folder)
    problems = tuple(p for p in examined.problems if p.code != OPEN_RULE)
    material = examined.value
    if material is None:
        return Outcome(None, problems)
    encoded = tuple(dict.fromkeys(siglum for siglum, _ in material.collations))
    for siglum in wished.witnesses:
        if siglum not in encoded:
            return Outcome(None, (_not_collated(siglum, encoded, material),))
    collations = {
        key: collation
        for key, collation in material.collations.items()
        if not wished.witnesses or key[0] in wished.witnesses
    }
    found = departures(collations, material.answers)
    shown = tuple(one for one in found if one.open) if wished.only_open else found
    return Outcome(Collated(material, collations, found, shown), problems)


def _not_collated(siglum: str, encoded: Sequence[str], material: Material) -> Problem:
    there = f"Encoded are {listed(encoded, 'and')}." if encoded else "No witness is encoded."
    witness = material.edition.head.witnesses.get(siglum)
    if witness is None:
        near = closest(siglum, encoded)
        message = f"there is no witness {quoted(siglum)}"
        remedy = f"Did you mean `{near}`?" if near else there
    elif witness.encodings:
        message = f"no encoding of {siglum} could be read"
        remedy = "See what `apparatus check` tells of its files."
    else:
        message = f"{siglum} has no encoding, so there is nothing to collate"
        remedy = f"Name its files under `encodings` in edition.yaml. {there}"
    return error("witness-not-collated", Origin("--witness"), message, remedy)
