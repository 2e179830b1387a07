"""The alternatives of a fingering or bowing: what each does, and what speaks for and against it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from markupsafe import Markup

from pipeline.collation.model import Decision
from pipeline.edition.fingers import THUMB, Finger, Fingering
from pipeline.edition.records import (
    Bowing,
    BowingAlternative,
    FingeringAlternative,
    FingeringRecord,
)
from pipeline.typeset.bow_figures import bow_figures
from pipeline.typeset.hand_figures import hand_in_words
from pipeline.typeset.places import runs_of_numbers
from pipeline.typeset.statements import Statements
from pipeline.typeset.views import AlternativeView

_BETWEEN_NOTES = "\u2002"


@dataclass(frozen=True)
class Alternatives:
    """Words the alternatives of the records of one edition in one language."""

    statements: Statements

    def of(self, decision: Decision) -> tuple[AlternativeView, ...]:
        """Return the alternatives of a record, those that the part prints marked so."""
        record = decision.filed.record
        if not isinstance(record, FingeringRecord | Bowing):
            return ()
        printed = record.printed or (record.alternatives[0].name,)
        views = [
            self._view(alternative, record.by, alternative.name in printed)
            for alternative in record.alternatives
        ]
        if isinstance(record, Bowing):
            model = record.mirrored_model
            views = [
                replace(
                    view,
                    circumstance=self.statements.prose.inline(
                        played.bowed.alternative.circumstance
                    ),
                    figures=bow_figures(played, self.statements.wording),
                    detail=self._bowing(played.bowed.alternative, model),
                )
                for view, played in zip(views, decision.bowings, strict=True)
            ]
        (alone,) = decision.hands if len(decision.hands) == 1 else (None,)
        if alone is not None:
            figures = hand_in_words(alone.facts, self.statements.wording)
            views = [replace(view, figures=figures) for view in views]
        return tuple(views)

    def label(self, alternative: FingeringAlternative | BowingAlternative) -> Markup:
        """Return what an alternative is called: its label, or its name where it has none."""
        return self.statements.prose.inline(alternative.label) or Markup.escape(alternative.name)

    def _view(
        self, alternative: FingeringAlternative | BowingAlternative, by: str, printed: bool
    ) -> AlternativeView:
        say, inline = self.statements.wording.say, self.statements.prose.inline
        other = alternative.by if alternative.by not in {None, by} else None
        return AlternativeView(
            name=self.label(alternative),
            by=say("remark.by", name=self.statements.agent(other)) if other else Markup(""),
            printed=say("remark.printed" if printed else "remark.not_printed"),
            circumstance=Markup(""),
            figures=(),
            detail=(self.fingers(alternative.fingers),)
            if isinstance(alternative, FingeringAlternative)
            else (),
            speaks_for=inline(alternative.speaks_for),
            speaks_against=inline(alternative.speaks_against),
        )

    def fingers(self, run: Sequence[Fingering]) -> Markup:
        """Return the fingers of a run, note by note: "2 1 3 on D"."""
        return Markup(_BETWEEN_NOTES).join(self._note(fingering) for fingering in run)

    def _note(self, fingering: Fingering) -> Markup:
        if not fingering.fingers:
            return self.statements.wording.say("fingering.none_here")
        return Markup("/").join(self._finger(finger) for finger in fingering.fingers)

    def _finger(self, finger: Finger) -> Markup:
        say = self.statements.wording.say
        said = say("fingering.thumb") if finger.digit == THUMB else Markup.escape(finger.digit)
        if finger.natural:
            said = say("fingering.natural", digit=said)
        if finger.touched:
            said = say("fingering.stopped", digit=said, touched=finger.touched)
        if finger.string:
            said = say("fingering.on_string", digit=said, string=finger.string)
        return said

    def _bowing(
        self, alternative: BowingAlternative, model: BowingAlternative | None
    ) -> tuple[Markup, ...]:
        say = self.statements.wording.say
        said = []
        if alternative.opposite and model is not None:
            said.append(
                say("bowing.opposite", other=self.statements.wording.quoted(self.label(model)))
            )
        if alternative.divide_after:
            notes = runs_of_numbers(alternative.divide_after)
            said.append(say("bowing.divide", n=len(alternative.divide_after), notes=notes))
        if alternative.join:
            said.append(say("bowing.join"))
        for direction in ("down", "up"):
            signed = [n for n, sign in alternative.signs.items() if sign == direction]
            if signed:
                numbers = runs_of_numbers(signed)
                where = (
                    say("place.note", note=numbers)
                    if len(signed) == 1
                    else say("place.notes", notes=numbers)
                )
                said.append(say(f"bowing.{direction}", where=where))
        return tuple(said) or (say("bowing.as_written"),)
