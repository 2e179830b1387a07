"""edition.yaml as a typed object: who, which sources, which movements, which languages."""

from __future__ import annotations

from collections.abc import Mapping
from enum import StrEnum
from typing import Annotated

from pydantic import BeforeValidator, Field, model_validator

from pipeline.edition.quoting import listed
from pipeline.edition.strict import (
    AgentId,
    BarNumber,
    Language,
    NoteValue,
    Prose,
    Siglum,
    Strict,
    Text,
    UnfitError,
    YesNo,
    one_or_many,
)


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

    name: Prose = Field(min_length=1, description="name as printed")
    role: Role = Field(description="what the agent is to the edition")
    years: str = Field("", description="such as 1851–1919")
    about: Prose = Field(default_factory=dict, description="a sentence for the list of persons")


class WitnessKind(StrEnum):
    """What kind of source a witness is."""

    AUTOGRAPH = "autograph"
    COPY = "copy"
    PROOF = "proof"
    PRINTED_SCORE = "printed score"
    PRINTED_PART = "printed part"
    ARRANGEMENT = "arrangement source"


MAY_BE_PARTS = (WitnessKind.PRINTED_PART, WitnessKind.COPY)
"""The kinds of source that can be a part of a score; a copy may be one in manuscript."""


class Witness(Strict):
    """A source. Its siglum is its key in edition.yaml.

    `encodings` maps a movement's number to an MEI or MusicXML file in the edition folder, holding
    all of the movement or some bars of it, all staves or some. `part_of` names the score that a
    part was issued or written out with: where the two differ, the remark says so.
    """

    kind: WitnessKind = Field(description="what kind of source it is")
    title: Prose = Field(min_length=1, description="what the list of sources calls it")
    date: str = Field("", description="date, as exactly as it is known")
    description: Prose = Field(default_factory=dict, description="what it looks like, what it has")
    holding: str = Field("", description="library and shelf mark")
    by: AgentId | None = Field(None, description="agent who wrote, copied or published it")
    copied_from: Annotated[tuple[Siglum, ...], BeforeValidator(one_or_many)] = Field(
        (), description="sigla of the witnesses it was copied from"
    )
    part_of: Siglum | None = Field(None, description="siglum of the score that it is a part of")
    principal: YesNo = Field(False, description="whether the edition follows it")
    encodings: Mapping[Annotated[int, Field(ge=1)], Text] = Field(
        default_factory=dict, description="MEI or MusicXML file by number of the movement"
    )

    @model_validator(mode="after")
    def _only_a_part_is_part_of(self) -> Witness:
        if self.part_of is not None and self.kind not in MAY_BE_PARTS:
            raise UnfitError(
                f"a witness of kind `{self.kind}` is no part of a score",
                f"Remove `part_of`; a witness that has it is of kind {listed([*MAY_BE_PARTS])}.",
                path=("part_of",),
            )
        return self


class Tempo(Strict):
    """The tempo the editor reckons with: so many beats of that note value a minute."""

    beat: NoteValue = Field(description="note value as MEI dur, such as 4.")
    per_minute: float = Field(gt=0, le=600, description="beats a minute")


class TempoChange(Tempo, title="change of tempo"):
    """Another tempo from the beginning of a bar on."""

    bar: BarNumber = Field(description="printed number of the bar from which it holds")


class MovementHead(Strict, title="movement"):
    """A movement: its number, its title and the file that holds its base text."""

    n: int = Field(ge=1, description="number of the movement")
    title: Prose = Field(min_length=1, description="heading of the movement")
    base: Text = Field(description="MEI or MusicXML file that holds its base text")
    tempo: Tempo | None = Field(None, description="tempo the editor reckons with")
    tempo_changes: tuple[TempoChange, ...] = Field(
        (), description="other tempi the editor reckons with, each from a bar on"
    )


class EditedStaff(Strict):
    """The staff that the edition is about, and what plays it."""

    n: int = Field(1, ge=1, description="number of the staff, from the top")
    instrument: Text = Field("violin", description="what plays it")


class EditionHead(Strict, title="edition"):
    """All of edition.yaml."""

    title: Prose = Field(min_length=1, description="title of the work")
    subtitle: Prose = Field(default_factory=dict, description="second line of the title")
    scoring: Prose = Field(min_length=1, description="what it is written for")
    languages: Annotated[tuple[Language, ...], BeforeValidator(one_or_many)] = Field(
        min_length=1, description="language codes; plain text is in the first"
    )
    edited_staff: EditedStaff = Field(EditedStaff(), description="the staff the edition is about")
    agents: Mapping[AgentId, Agent] = Field(
        min_length=1, description="who can be responsible, by id"
    )
    witnesses: Mapping[Siglum, Witness] = Field(min_length=1, description="the sources, by siglum")
    movements: tuple[MovementHead, ...] = Field(min_length=1, description="the movements")
    rights: Prose = Field(default_factory=dict, description="notice of rights")
    date: str = Field("", description="date of the edition, printed on the title page")

    @property
    def main_language(self) -> str:
        """The language that plain text is in."""
        return self.languages[0]
