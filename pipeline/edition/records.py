"""The seven kinds of record: one editorial decision each, as the editor writes it."""

from __future__ import annotations

from collections.abc import Mapping
from enum import StrEnum
from typing import Annotated, Literal, TypeAlias, get_args

from pydantic import BeforeValidator, Field, ValidationInfo, field_validator, model_validator
from pydantic.config import JsonDict

from pipeline.edition.fingers import Run
from pipeline.edition.kinds_of_difference import (
    Change,
    DifferenceKind,
    KindAndChange,
    kind_and_change,
)
from pipeline.edition.places import Place
from pipeline.edition.strict import (
    AgentId,
    Day,
    Prose,
    Reason,
    RecordId,
    Siglum,
    Strict,
    Text,
    UnfitError,
    YesNo,
    one_or_many,
)

Sigla = Annotated[tuple[Siglum, ...], BeforeValidator(one_or_many)]
AgentIds = Annotated[tuple[AgentId, ...], BeforeValidator(one_or_many)]
Names = Annotated[tuple[Text, ...], BeforeValidator(one_or_many)]
NoteNumber = Annotated[int, Field(ge=1)]


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

    cite: Text = Field(description="what is cited")
    at: str = Field("", description="page, chapter or bar in it")


class Letter(Strict):
    """A letter that bears on the decision."""

    sender: Text = Field(description="who wrote it")
    recipient: Text = Field(description="to whom")
    date: str = Field("", description="date as the letter has it, or as it is inferred")
    says: Prose = Field(min_length=1, description="what it says about this place")


class Evidence(Strict):
    """What the decision rests on."""

    witnesses: Sigla = Field((), description="sigla of the witnesses that bear it out")
    literature: tuple[Citation, ...] = Field((), description="printed authorities")
    letters: tuple[Letter, ...] = Field((), description="letters that bear on it")


_NO_REASON_WHILE_PROPOSED: JsonDict = {
    "if": {"required": ["reason"], "properties": {"reason": {"type": "null"}}},
    "then": {"required": ["status"], "properties": {"status": {"const": "proposed"}}},
}

_ONE_SOURCE_OF_NOTES: JsonDict = {"oneOf": [{"required": ["file"]}, {"required": ["derive"]}]}


class Music(Strict, title="piece of music", json_schema_extra=_ONE_SOURCE_OF_NOTES):
    """Where the notes of a reading, ossia or tradition are: exactly one of the two.

    `file` is an MEI or MusicXML file in the edition folder that holds just the bars of the place,
    on one staff. `derive` names a computed derivation, such as `touched fifth`.
    """

    file: Text | None = Field(None, description="MEI or MusicXML file that holds just these bars")
    derive: Text | None = Field(None, description="computed, such as touched fifth")

    @model_validator(mode="after")
    def _one_source(self) -> Music:
        if self.file is None and self.derive is None:
            raise UnfitError(
                "`music` names no notes", "Add a `file`, or a derivation under `derive`."
            )
        if self.file is not None and self.derive is not None:
            raise UnfitError(
                "`music` names a `file` and a `derive`", "Keep one of the two.", path=("derive",)
            )
        return self


class Variant(Strict, title="reading of a witness"):
    """What some witnesses have instead of the text.

    With neither `music` nor `says`, the reading is taken from the encodings of the witnesses named.
    `says` describes a reading of a witness that is not encoded. `hand` names the agent of a later
    addition in the witness.
    """

    witnesses: Sigla = Field(min_length=1, description="sigla of the witnesses that have it")
    music: Music | None = Field(None, description="its notes, where no encoding holds them")
    says: Prose = Field(default_factory=dict, description="the reading described in words")
    hand: AgentId | None = Field(None, description="agent of a later addition in the witness")


class EditorialRecord(Strict, title="record", json_schema_extra=_NO_REASON_WHILE_PROPOSED):
    """What every record has. `by` is who is responsible for what the record puts into the music.

    A proposed record may leave its reason empty: it is not decided yet.
    """

    id: RecordId = Field(description="a short name that never changes")
    place: Place = Field(description="movement and bar, then beat or note")
    by: AgentId = Field(
        description="agent who is responsible for what the record puts into the music"
    )
    date: Day = Field(description="day of the decision as year-month-day")
    status: Status = Field(Status.ACCEPTED, description="whether the decision is in force")
    superseded_by: RecordId | None = Field(
        None, description="id of the record that replaces this one"
    )
    evidence: Evidence = Field(Evidence(), description="what the decision rests on")
    certainty: Certainty | None = Field(None, description="how sure the editor is")
    reason: Reason = Field(
        description="why, in prose; plain text or one text per language; empty while proposed"
    )

    @field_validator("reason", mode="after")
    @classmethod
    def _decided_for_a_reason(
        cls, reason: Mapping[str, str], info: ValidationInfo
    ) -> Mapping[str, str]:
        status = info.data.get("status", Status.PROPOSED)
        if not reason and status is not Status.PROPOSED:
            raise UnfitError(
                f"`reason` has no text, but the decision is {status}",
                "Write after it why this was decided, or `status: proposed` while it is open.",
            )
        return reason


KindsAndChanges = Annotated[tuple[KindAndChange, ...], BeforeValidator(one_or_many)]


class OfTheText(EditorialRecord):
    """What readings and emendations share: what stands in the witnesses instead of the text.

    With `throughout` the record is about all differences of these kinds at its place, usually a
    whole movement, and about no other; they are told in one summary. What another record tells of
    them more closely is left to that one.
    """

    throughout: KindsAndChanges = Field(
        (),
        min_length=1,
        description="kinds of difference that are told in one summary, such as fingering missing",
    )

    @property
    def systematic(self) -> bool:
        """Whether the record is one decision on all differences of some kinds."""
        return bool(self.throughout)

    def speaks_of(self, kind: DifferenceKind, change: Change) -> bool:
        """Return whether the record is about differences of that kind and change."""
        meant = map(kind_and_change, self.throughout)
        return not self.throughout or any(k is kind and c in {None, change} for k, c in meant)


class Reading(OfTheText, title="reading record"):
    """Witnesses disagree: `lemma` names those that have the text, `readings` what others have."""

    kind: Literal["reading"]
    lemma: Sigla = Field(min_length=1, description="sigla of the witnesses that have the text")
    readings: tuple[Variant, ...] = Field(min_length=1, description="what other witnesses have")


class Emendation(OfTheText, title="emendation record"):
    """Every witness is wrong or defective: the text is the editor's, `readings` what they have."""

    kind: Literal["emendation"]
    readings: tuple[Variant, ...] = Field(min_length=1, description="what the witnesses have")


class Purpose(StrEnum):
    """What a fingering is for."""

    TECHNICAL = "technical"
    TIMBRE = "timbre"
    SLIDE = "slide"


class FingeringAlternative(Strict, title="fingering alternative"):
    """One fingering of the whole run; one entry per note or chord of the place."""

    name: Text = Field(description="short name in the record, the same in every language")
    label: Prose = Field(
        default_factory=dict, description="what the commentary calls it; its name if left out"
    )
    by: AgentId | None = Field(None, description="agent; the record's own if left out")
    fingers: Run = Field(description="one entry a note or chord, such as 1, 2, 3 on D, none, open")
    speaks_for: Prose = Field(default_factory=dict, description="what speaks for it")
    speaks_against: Prose = Field(default_factory=dict, description="what speaks against it")


class FingeringRecord(EditorialRecord):
    """Digits for a run of notes, by whom and for what.

    `composer_fingering` says what became of a fingering by the composer at this place. `printed`
    names the alternatives that the part shows, the first one above the staff; left out, the first.
    """

    kind: Literal["fingering"]
    purpose: Annotated[tuple[Purpose, ...], BeforeValidator(one_or_many)] = Field(
        (Purpose.TECHNICAL,), min_length=1, description="what the fingering is for"
    )
    composer_fingering: Literal["none", "kept", "changed", "left out"] = Field(
        "none", description="what became of a fingering by the composer"
    )
    alternatives: tuple[FingeringAlternative, ...] = Field(
        min_length=1, description="one fingering or several side by side"
    )
    printed: Names = Field((), description="names of the alternatives that the part shows")

    @model_validator(mode="after")
    def _tells_alternatives_apart(self) -> FingeringRecord:
        _no_name_twice(self.alternatives)
        return self


_NOTHING_BESIDES_OPPOSITE: JsonDict = {
    "not": {
        "required": ["opposite"],
        "properties": {"opposite": {"enum": [True, "yes"]}},
        "anyOf": [{"required": [name]} for name in ("divide_after", "join", "signs")],
    }
}


class BowingAlternative(
    Strict, title="bowing alternative", json_schema_extra=_NOTHING_BESIDES_OPPOSITE
):
    """One way to bow the place. Notes count from 1 within the place.

    `divide_after` names the notes after which the bow changes inside the slur, `join` that strokes
    written apart are taken in one, `signs` the bow signs printed above notes. An `opposite` one has
    none of these: it is computed from the bowing that the part shows, every stroke the other way.
    """

    name: Text = Field(description="short name in the record, the same in every language")
    label: Prose = Field(
        default_factory=dict, description="what the commentary calls it; its name if left out"
    )
    by: AgentId | None = Field(None, description="agent; the record's own if left out")
    circumstance: Prose = Field(default_factory=dict, description="when it is the better choice")
    divide_after: Annotated[tuple[NoteNumber, ...], BeforeValidator(one_or_many)] = Field(
        (), description="notes of the place after which the bow changes, from 1"
    )
    join: YesNo = Field(False, description="whether strokes written apart are taken in one")
    signs: Mapping[NoteNumber, Literal["down", "up"]] = Field(
        default_factory=dict, description="bow signs by note of the place, such as 1: down"
    )
    opposite: YesNo = Field(
        False, description="whether it is the printed bowing with every stroke the other way"
    )
    speaks_for: Prose = Field(default_factory=dict, description="what speaks for it")
    speaks_against: Prose = Field(default_factory=dict, description="what speaks against it")

    @model_validator(mode="after")
    def _opposite_is_computed(self) -> BowingAlternative:
        for field in ("divide_after", "join", "signs"):
            if self.opposite and getattr(self, field):
                raise UnfitError(
                    f"an `opposite` bowing has `{field}` of its own",
                    f"Remove `{field}`: strokes and signs are computed from the printed bowing; or "
                    "remove `opposite`.",
                    path=(field,),
                )
        return self


class Bowing(EditorialRecord, title="bowing record"):
    """Where an original slur is divided or joined in performance; the slur stays printed."""

    kind: Literal["bowing"]
    alternatives: tuple[BowingAlternative, ...] = Field(
        min_length=1, description="one way to bow it or several side by side"
    )
    printed: Names = Field((), description="names of the alternatives that the part shows")

    @property
    def mirrored_model(self) -> BowingAlternative | None:
        """What an opposite alternative mirrors: the first that is printed, else the first of all.

        Opposite ones are passed over; None where there are no others.
        """
        models = [one for one in self.alternatives if not one.opposite]
        named = [one for name in self.printed for one in models if one.name == name]
        return next(iter((*named, *models)), None)

    @model_validator(mode="after")
    def _tells_alternatives_apart(self) -> Bowing:
        _no_name_twice(self.alternatives)
        return self

    @model_validator(mode="after")
    def _opposite_of_something(self) -> Bowing:
        for index, one in enumerate(self.alternatives):
            if one.opposite and not (self.mirrored_model and self.mirrored_model.signs):
                raise UnfitError(
                    "there is no bowing with a sign that this one could be the opposite of",
                    "Give the printed alternative a bow sign, such as `signs: {1: down}`.",
                    path=("alternatives", index, "opposite"),
                )
        return self


class Ossia(EditorialRecord, title="ossia record"):
    """An alternative the player may choose; `sounds: same` claims it sounds as the text does."""

    kind: Literal["ossia"]
    music: Music = Field(description="its notes: a `file` or a `derive`")
    label: Prose = Field(default_factory=dict, description="what is printed beside it")
    sounds: Literal["same", "different"] = Field(
        "different", description="`same` claims that it sounds as the text does"
    )


class FirstEvidence(Strict):
    """The earliest trace of a tradition."""

    date: str = Field("", description="date, as exactly as it is known")
    says: Prose = Field(min_length=1, description="what the trace is")


class Tradition(EditorialRecord, title="tradition record"):
    """A variant that is played but is not the composer's; `note` is printed beside it."""

    kind: Literal["tradition"]
    music: Music = Field(description="its notes: a `file` or a `derive`")
    label: Prose = Field(default_factory=dict, description="what is printed beside it")
    origin: Prose = Field(default_factory=dict, description="where the variant comes from")
    first_evidence: FirstEvidence | None = Field(None, description="its earliest trace")
    played_by: AgentIds = Field((), description="agents who play it")
    note: Prose = Field(default_factory=dict, description="note that is printed on the page")


class Remark(EditorialRecord, title="remark record"):
    """Something the reader must know, with no change to the text; the reason is the remark."""

    kind: Literal["remark"]


AnyRecord: TypeAlias = Reading | Emendation | FingeringRecord | Bowing | Ossia | Tradition | Remark

Record = Annotated[AnyRecord, Field(discriminator="kind")]

RECORD_OF_KIND: Mapping[str, type[EditorialRecord]] = {
    get_args(record.model_fields["kind"].annotation)[0]: record for record in get_args(AnyRecord)
}
"""The model of each kind, in the order of the guide."""

MAY_BE_EMPTY = frozenset({("reason",)})
"""Paths of the keys of a record that may stand without a value; the model says when."""


def _no_name_twice(alternatives: tuple[FingeringAlternative | BowingAlternative, ...]) -> None:
    names = [alternative.name for alternative in alternatives]
    for index, name in enumerate(names):
        if name in names[:index]:
            raise UnfitError(
                f"two alternatives are called `{name}`",
                "Give each alternative a name of its own.",
                path=("alternatives", index, "name"),
            )
