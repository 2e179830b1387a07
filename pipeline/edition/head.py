"""edition.yaml as a typed object: who, which sources, which movements, which languages."""

from __future__ import annotations

from collections.abc import Mapping
from enum import StrEnum
from typing import Annotated

from pydantic import BeforeValidator, Field

from pipeline.edition.strict import Prose, Strict, one_or_many


class Role(StrEnum):
    """What an agent is to the edition; see `RELATOR` for the code each is given in MEI."""

    COMPOSER = "composer"
    EDITOR = "editor"
    ENGRAVER = "engraver"
    DEDICATEE = "dedicatee"
    PERFORMER = "performer"
    SCRIBE = "scribe"
    PUBLISHER = "publisher"
    TRADITION = "tradition"


RELATOR: Mapping[Role, str | None] = {
    Role.COMPOSER: "cmp",
    Role.EDITOR: "edt",
    Role.ENGRAVER: "egr",
    Role.DEDICATEE: "dte",
    Role.PERFORMER: "prf",
    Role.SCRIBE: "scr",
    Role.PUBLISHER: "pbl",
    Role.TRADITION: None,
}
"""MARC relator codes (Library of Congress, MARC Code List for Relators); a tradition has none."""


class Agent(Strict):
    """A person, a house or a tradition that can be responsible for a marking."""

    name: Prose
    role: Role
    years: str = Field("", description="such as 1851–1919")
    about: Prose = Field(default_factory=dict)


class WitnessKind(StrEnum):
    """What kind of source a witness is."""

    AUTOGRAPH = "autograph"
    COPY = "copy"
    PROOF = "proof"
    PRINTED_SCORE = "printed score"
    PRINTED_PART = "printed part"
    ARRANGEMENT = "arrangement source"


class Witness(Strict):
    """A source. Its siglum is its key in edition.yaml.

    `encodings` maps a movement's number to an MEI or MusicXML file in the edition folder, holding
    all of the movement or some bars of it, all staves or some.
    """

    kind: WitnessKind
    title: Prose
    date: str = ""
    description: Prose = Field(default_factory=dict)
    holding: str = ""
    by: str | None = Field(None, description="agent who wrote, copied or published it")
    copied_from: Annotated[tuple[str, ...], BeforeValidator(one_or_many)] = ()
    principal: bool = False
    encodings: Mapping[int, str] = Field(default_factory=dict)


class Tempo(Strict):
    """The tempo the editor reckons with: so many beats of that note value a minute."""

    beat: str = Field(pattern=r"^(1|2|4|8|16)\.?$", description="note value as MEI dur, such as 4.")
    per_minute: float = Field(gt=0, le=600)


class MovementHead(Strict):
    """A movement: its number, its title and the file that holds its base text."""

    n: int = Field(ge=1)
    title: Prose
    base: str
    tempo: Tempo | None = None


class EditedStaff(Strict):
    """The staff that the edition is about, and what plays it."""

    n: int = Field(1, ge=1)
    instrument: str = "violin"


class EditionHead(Strict):
    """All of edition.yaml."""

    title: Prose
    subtitle: Prose = Field(default_factory=dict)
    scoring: Prose
    languages: Annotated[tuple[str, ...], BeforeValidator(one_or_many)] = Field(min_length=1)
    edited_staff: EditedStaff = EditedStaff()
    agents: Mapping[str, Agent]
    witnesses: Mapping[str, Witness]
    movements: tuple[MovementHead, ...] = Field(min_length=1)
    rights: Prose = Field(default_factory=dict)
    date: str = Field("", description="date of the edition, printed on the title page")

    @property
    def main_language(self) -> str:
        """The language that plain text is in."""
        return self.languages[0]
