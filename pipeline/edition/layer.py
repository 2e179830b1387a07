"""Which layer a marking belongs to: derived from the record and its agent, never typed by hand."""

from __future__ import annotations

from collections.abc import Mapping
from enum import StrEnum

from pipeline.edition.choices import Player
from pipeline.edition.head import Agent, Role
from pipeline.edition.records import Emendation, Reading, Record, Remark, Tradition


class Layer(StrEnum):
    """The layers of the edition, in the order in which the legend lists them.

    The last is that of a player's own copy: an edition by itself never has it.
    """

    TEXT = "text"
    COMPOSER = "composer"
    WITNESS = "witness"
    EDITOR = "editor"
    TRADITION = "tradition"
    PLAYER = "player"


LAYER_OF_ROLE: Mapping[Role, Layer] = {
    Role.COMPOSER: Layer.COMPOSER,
    Role.EDITOR: Layer.EDITOR,
    Role.ENGRAVER: Layer.WITNESS,
    Role.SCRIBE: Layer.WITNESS,
    Role.PUBLISHER: Layer.WITNESS,
    Role.DEDICATEE: Layer.TRADITION,
    Role.PERFORMER: Layer.TRADITION,
    Role.TRADITION: Layer.TRADITION,
}
"""What an engraver, scribe or publisher put into a source is that source's, not the text's; what a
player brought in, the dedicatee included, is performing tradition."""


def layer_of_agent(agent: Agent) -> Layer:
    """Return the layer of a marking that this agent is responsible for."""
    return Layer.PLAYER if isinstance(agent, Player) else LAYER_OF_ROLE[agent.role]


def layers_of(agents: Mapping[str, Agent]) -> tuple[Layer, ...]:
    """Return the layers of an edition with these agents: the player's only with a player."""
    has_player = any(isinstance(agent, Player) for agent in agents.values())
    return tuple(layer for layer in Layer if has_player or layer is not Layer.PLAYER)


def layer_of(record: Record, agents: Mapping[str, Agent]) -> Layer:
    """Return the layer that a record as a whole belongs to, as the index of decisions lists it.

    A reading is about what witnesses have, an emendation is the editor's doing, a tradition is a
    tradition whoever wrote it down; everything else follows its agent. Raises KeyError where the
    record's agent is not in the edition: the check has told that before.
    """
    match record:
        case Reading():
            return Layer.WITNESS
        case Emendation() | Remark():
            return Layer.EDITOR
        case Tradition():
            return Layer.TRADITION
        case _:
            return layer_of_agent(agents[record.by])
