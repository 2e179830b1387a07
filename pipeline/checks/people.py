"""Rules about the agents: each is one person or house, and each has a part in the edition."""

from __future__ import annotations

from collections.abc import Iterator

from pipeline.checks.material import Material
from pipeline.checks.references import agents_in
from pipeline.checks.rule import Fault
from pipeline.edition.choices import Player
from pipeline.edition.head import Role
from pipeline.edition.strict import in_language


def agents_of_one_name(material: Material) -> Iterator[Fault]:
    """Two agents of the same name.

    The reader cannot tell whose fingering stands above the notes.
    """
    head, origins = material.edition.head, material.edition.head_origins
    seen: dict[str, str] = {}
    for key, agent in head.agents.items():
        if isinstance(agent, Player):
            continue  # an editor may have a copy of her own
        name = in_language(agent.name, head.main_language, head.main_language) or ""
        known = seen.setdefault(" ".join(name.casefold().split()), key)
        if name and known != key:
            yield Fault(
                origins.at("agents", key, "name"),
                f"`{known}` and `{key}` are both called {name}",
                "Use one agent for one person; tell namesakes apart by their names.",
            )


def agent_used_nowhere(material: Material) -> Iterator[Fault]:
    """An agent that neither a record nor a witness names.

    The list of those responsible names somebody who is responsible for nothing.
    """
    head, origins = material.edition.head, material.edition.head_origins
    used = {agent for filed in material.edition.records for agent, _ in agents_in(filed.record)}
    used |= {witness.by for witness in head.witnesses.values() if witness.by is not None}
    for key, agent in head.agents.items():
        if key not in used and agent.role is not Role.COMPOSER and not isinstance(agent, Player):
            yield Fault(
                origins.at("agents", key),
                f"`{key}` is responsible for nothing in this edition",
                "Name it in a record or at a witness, or remove it.",
            )
