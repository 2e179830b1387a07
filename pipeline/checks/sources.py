"""Rules about the witnesses: no circle in the stemma, a score to each part, each one used."""

from __future__ import annotations

from collections.abc import Iterator

from pipeline.checks.material import Material
from pipeline.checks.references import sigla_in
from pipeline.checks.rule import Fault
from pipeline.edition.head import WitnessKind
from pipeline.edition.quoting import listed


def stemma_in_a_circle(material: Material) -> Iterator[Fault]:
    """Witnesses that were copied from each other in a circle.

    The stemma could not be drawn, and no source would be the first.
    """
    witnesses = material.edition.head.witnesses
    state: dict[str, str] = {}
    for start in witnesses:
        path: list[str] = []
        stack = [(start, False)]
        while stack:
            siglum, leaving = stack.pop()
            if leaving:
                state[siglum] = "done"
                path.pop()
            elif state.get(siglum) == "open":
                yield _circle(path[path.index(siglum) :], material)
            elif siglum in witnesses and siglum not in state:
                state[siglum] = "open"
                path.append(siglum)
                stack.append((siglum, True))
                stack += [(earlier, False) for earlier in reversed(witnesses[siglum].copied_from)]


def _circle(circle: list[str], material: Material) -> Fault:
    if len(circle) == 1:
        message = f"{circle[0]} is said to be copied from itself"
    else:
        chain = ", which is copied from ".join([*circle[1:], circle[0]])
        message = f"{circle[0]} is copied from {chain}"
    return Fault(
        material.edition.head_origins.at("witnesses", circle[0], "copied_from"),
        message,
        "Remove one `copied_from`: a source is later than what it was copied from.",
    )


def part_of_no_score(material: Material) -> Iterator[Fault]:
    """A part of a witness that is no score: of itself, of another part, of parts in a circle.

    What the part has would be held against something that does not have the other staves.
    """
    head, origins = material.edition.head, material.edition.head_origins
    for siglum, witness in head.witnesses.items():
        score = witness.part_of
        if score is None or score not in head.witnesses:
            continue
        if score == siglum:
            message = f"{siglum} is said to be a part of itself"
        elif head.witnesses[score].part_of is not None:
            message = (
                f"{siglum} is said to be a part of {score}, which is itself a part of "
                f"{head.witnesses[score].part_of}"
            )
        elif head.witnesses[score].kind is WitnessKind.PRINTED_PART:
            message = f"{siglum} is said to be a part of {score}, which is a printed part"
        else:
            continue
        yield Fault(
            origins.at("witnesses", siglum, "part_of"),
            message,
            "Write the siglum of the score that it was issued or written out with, or remove "
            "`part_of`.",
        )


def principal_witness(material: Material) -> Iterator[Fault]:
    """No witness, or more than one, that is marked as the principal source.

    The reader has to know which source the text follows where nothing else is said.
    """
    head, origins = material.edition.head, material.edition.head_origins
    principal = [siglum for siglum, witness in head.witnesses.items() if witness.principal]
    if not principal:
        yield Fault(
            origins.at("witnesses"),
            "no witness is the principal source",
            "Write `principal: true` at the witness that the text follows.",
        )
    for siglum in principal[1:]:
        yield Fault(
            origins.at("witnesses", siglum, "principal"),
            f"{listed(principal, 'and')} are each called the principal source",
            "Leave `principal: true` at one of them.",
        )


def witness_used_nowhere(material: Material) -> Iterator[Fault]:
    """A witness that no record names, that has no encoding and from which none was copied.

    The list of sources tells of it, and the reader never learns what it is good for.
    """
    head, origins = material.edition.head, material.edition.head_origins
    used = {siglum for filed in material.edition.records for siglum, _ in sigla_in(filed.record)}
    used |= {siglum for witness in head.witnesses.values() for siglum in witness.copied_from}
    used |= {witness.part_of for witness in head.witnesses.values() if witness.part_of}
    for siglum, witness in head.witnesses.items():
        if siglum not in used and not witness.encodings and not witness.principal:
            yield Fault(
                origins.at("witnesses", siglum),
                f"the witness {siglum} is used nowhere",
                "Name it in a record, or remove it.",
            )
