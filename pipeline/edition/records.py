"""The seven kinds of record: one editorial decision each, as the editor writes it."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date
from enum import StrEnum
from typing import Annotated, Literal

from pydantic import BeforeValidator, Field, model_validator

from pipeline.edition.fingers import Fingering, read_fingering
from pipeline.edition.places import Place
from pipeline.edition.strict import Prose, Strict, one_or_many

Sigla = Annotated[tuple[str, ...], BeforeValidator(one_or_many)]
AgentIds = Annotated[tuple[str, ...], BeforeValidator(one_or_many)]


class Status(StrEnum):
    """Whether a decision is in force. Only an accepted one reaches the part and the MEI text."""

    PROPOSED = "proposed"
    ACCEPTED = "accepted"
    SUPERSEDED = "superseded"


class Certainty(StrEnum):
    """How sure the editor is (MEI data.CERTAINTY)."""

    HIGH = "high"
    MEDIUM = "medium"
    LOW = "low"
    UNKNOWN = "unknown"


class Citation(Strict):
    """A printed authority: what is cited and where in it."""

    cite: str
    at: str = ""


class Letter(Strict):
    """A letter that bears on the decision."""

    sender: str
    recipient: str
    date: str = ""
    says: Prose


class Evidence(Strict):
    """What the decision rests on."""

    witnesses: Sigla = ()
    literature: tuple[Citation, ...] = ()
    letters: tuple[Letter, ...] = ()


class Music(Strict):
    """Where the notes of a reading, ossia or tradition are: exactly one of the two.

    `file` is an MEI or MusicXML file in the edition folder that holds just the bars of the place,
    on one staff. `derive` names a computed derivation.
    """

    file: str | None = None
    derive: str | None = None

    @model_validator(mode="after")
    def _one_source(self) -> Music:
        if (self.file is None) == (self.derive is None):
            raise ValueError("music is either a `file` or a `derive`, not both and not neither")
        return self


class Variant(Strict):
    """What some witnesses have instead of the text.

    With neither `music` nor `says`, the reading is taken from the encodings of the witnesses named.
    `says` describes a reading of a witness that is not encoded. `hand` names the agent of a later
    addition in the witness.
    """

    witnesses: Sigla = Field(min_length=1)
    music: Music | None = None
    says: Prose = Field(default_factory=dict)
    hand: str | None = None


class EditorialRecord(Strict):
    """What every record has. `by` is who is responsible for what the record puts into the music."""

    id: str = Field(pattern=r"^[A-Za-z][A-Za-z0-9._-]*$")
    place: Place
    by: str
    date: date
    status: Status = Status.ACCEPTED
    superseded_by: str | None = None
    evidence: Evidence = Evidence()
    certainty: Certainty | None = None
    reason: Prose = Field(min_length=1)


class Reading(EditorialRecord):
    """Witnesses disagree: `lemma` names those that have the text, `readings` what others have."""

    kind: Literal["reading"]
    lemma: Sigla = Field(min_length=1)
    readings: tuple[Variant, ...] = Field(min_length=1)


class Emendation(EditorialRecord):
    """Every witness is wrong or defective: the text is the editor's, `readings` what they have."""

    kind: Literal["emendation"]
    readings: tuple[Variant, ...] = Field(min_length=1)


class Purpose(StrEnum):
    """What a fingering is for."""

    TECHNICAL = "technical"
    TIMBRE = "timbre"
    SLIDE = "slide"


class FingeringAlternative(Strict):
    """One fingering of the whole run; one entry per note or chord of the place."""

    name: str
    by: str | None = Field(None, description="agent; the record's own if left out")
    fingers: Annotated[tuple[Fingering, ...], BeforeValidator(read_fingering)]
    speaks_for: Prose = Field(default_factory=dict)
    speaks_against: Prose = Field(default_factory=dict)


class FingeringRecord(EditorialRecord):
    """Digits for a run of notes, by whom and for what.

    `composer_fingering` says what became of a fingering by the composer at this place. `printed`
    names the alternatives that the part shows, the first one above the staff; left out, the first.
    """

    kind: Literal["fingering"]
    purpose: Annotated[tuple[Purpose, ...], BeforeValidator(one_or_many)] = (Purpose.TECHNICAL,)
    composer_fingering: Literal["none", "kept", "changed", "left out"] = "none"
    alternatives: tuple[FingeringAlternative, ...] = Field(min_length=1)
    printed: Annotated[tuple[str, ...], BeforeValidator(one_or_many)] = ()


class BowingAlternative(Strict):
    """One way to bow the place. Notes count from 1 within the place.

    `divide_after` names the notes after which the bow changes inside the slur, `join` that strokes
    written apart are taken in one, `signs` the bow signs printed above notes.
    """

    name: str
    by: str | None = Field(None, description="agent; the record's own if left out")
    circumstance: Prose = Field(default_factory=dict)
    divide_after: Annotated[tuple[int, ...], BeforeValidator(one_or_many)] = ()
    join: bool = False
    signs: Mapping[int, Literal["down", "up"]] = Field(default_factory=dict)
    speaks_for: Prose = Field(default_factory=dict)
    speaks_against: Prose = Field(default_factory=dict)


class Bowing(EditorialRecord):
    """Where an original slur is divided or joined in performance; the slur stays printed."""

    kind: Literal["bowing"]
    alternatives: tuple[BowingAlternative, ...] = Field(min_length=1)
    printed: Annotated[tuple[str, ...], BeforeValidator(one_or_many)] = ()


class Ossia(EditorialRecord):
    """An alternative the player may choose; `sounds: same` claims it sounds as the text does."""

    kind: Literal["ossia"]
    music: Music
    label: Prose = Field(default_factory=dict)
    sounds: Literal["same", "different"] = "different"


class FirstEvidence(Strict):
    """The earliest trace of a tradition."""

    date: str = ""
    says: Prose


class Tradition(EditorialRecord):
    """A variant that is played but is not the composer's; `note` is printed beside it."""

    kind: Literal["tradition"]
    music: Music
    label: Prose = Field(default_factory=dict)
    origin: Prose = Field(default_factory=dict)
    first_evidence: FirstEvidence | None = None
    played_by: AgentIds = ()
    note: Prose = Field(default_factory=dict)


class Remark(EditorialRecord):
    """Something the reader must know, with no change to the text; the reason is the remark."""

    kind: Literal["remark"]


Record = Annotated[
    Reading | Emendation | FingeringRecord | Bowing | Ossia | Tradition | Remark,
    Field(discriminator="kind"),
]
