"""Decisions into numbered remarks, movement by movement, in the order of the music."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace

from markupsafe import Markup

from pipeline.collation.model import Decision
from pipeline.edition.head import EditionHead
from pipeline.edition.layer import Layer
from pipeline.edition.records import Bowing, Certainty, FingeringRecord, Status
from pipeline.engrave.examples import Example
from pipeline.score.model import Passage, Score
from pipeline.typeset.alternatives import Alternatives
from pipeline.typeset.hand_figures import hand_view
from pipeline.typeset.pictures import picture
from pipeline.typeset.places import Key, key_of
from pipeline.typeset.prose import first_paragraph
from pipeline.typeset.statements import Statements
from pipeline.typeset.views import (
    IndexEntry,
    IndexLayer,
    IndexLine,
    MovementView,
    OpenPoint,
    RemarkView,
)

_BESIDE_MM = 66.0
"""The widest example that leaves room for prose beside it in a text column of 133 mm."""

_FIGURE_SPACE, _EM_SPACE = "\u2007", "\u2003"
_NUMBERED = re.compile(r"^\s*(?:[IVXL]+|\d+)\.\s+")
"""A number that a title brings along: the commentary sets its own before it."""

_ROMAN = ((10, "X"), (9, "IX"), (5, "V"), (4, "IV"), (1, "I"))


@dataclass(frozen=True)
class Remarks:
    """Turns the decisions of one edition into remarks in one language."""

    head: EditionHead
    score: Score
    statements: Statements
    examples: Mapping[str, Example]

    def movements(self, decisions: Sequence[Decision]) -> tuple[MovementView, ...]:
        """Return the accepted decisions as remarks; movements without any are left out."""
        numbered = list(enumerate(in_force(decisions), start=1))
        views = []
        for movement in self.score.movements:
            here = [(n, d) for n, d in numbered if d.span.movement == movement.n]
            if here:
                views.append(
                    MovementView(
                        anchor=f"movement-{movement.n}",
                        numeral=roman(movement.n),
                        title=self._title(movement.n),
                        remarks=tuple(self._remark(n, d) for n, d in here),
                    )
                )
        return tuple(views)

    def index(self, decisions: Sequence[Decision]) -> tuple[IndexLayer, ...]:
        """Return the accepted decisions by layer, kind and movement."""
        numbered = list(enumerate(in_force(decisions), start=1))
        say = self.statements.wording.say
        layers = []
        for layer in Layer:
            lines: dict[tuple[str, int], list[IndexEntry]] = {}
            for number, decision in numbered:
                if decision.layer is layer:
                    where = (decision.filed.record.kind, decision.span.movement)
                    entry = IndexEntry(self.key(decision).bars, number, _anchor(decision))
                    lines.setdefault(where, []).append(entry)
            if lines:
                views = tuple(
                    IndexLine(say(f"kinds.{kind}"), roman(movement), tuple(entries))
                    for (kind, movement), entries in sorted(lines.items())
                )
                layers.append(IndexLayer(say(f"reading.layers.{layer.value}"), views))
        return tuple(layers)

    def open_points(self, decisions: Sequence[Decision]) -> tuple[OpenPoint, ...]:
        """Return what is proposed, superseded, or accepted with low certainty.

        Of what is proposed without a reason yet, what is to be decided is told instead.
        """
        found = []
        for decision in decisions:
            state = self._state(decision)
            if state is not None:
                record = decision.filed.record
                where = Markup("{}, {}").format(
                    roman(decision.span.movement), str(self.key(decision))
                )
                found.append(
                    OpenPoint(
                        where=where,
                        kind=self.statements.wording.say(f"kinds.{record.kind}"),
                        state=state,
                        reason=self._reason_or_facts(decision),
                        filed=self._filed(decision),
                    )
                )
        return tuple(found)

    def _reason_or_facts(self, decision: Decision) -> Markup:
        record = decision.filed.record
        if record.reason:
            return self.statements.prose.blocks(record.reason)
        said = self.statements.of(decision, self.passage(decision))
        return Markup("<p>{}</p>").format(Markup(" ").join(said))

    def key(self, decision: Decision) -> Key:
        """Return the key of a decision's place."""
        passage = self.passage(decision)
        place = decision.filed.record.place
        staff = self.head.edited_staff.n
        return key_of(place, decision.span, passage, staff, self.statements.wording)

    def passage(self, decision: Decision) -> Passage:
        """Return the base text of the movement that a decision is about."""
        movements = self.score.movements
        return next(m.passage for m in movements if m.n == decision.span.movement)

    def _remark(self, number: int, decision: Decision) -> RemarkView:
        record = decision.filed.record
        passage = self.passage(decision)
        example = self.examples.get(record.id)
        pictures = tuple(picture(svg) for svg in example.systems) if example else ()
        widest = max((one.width_mm for one in pictures), default=0.0)
        statements = self.statements.of(decision, passage)
        alternatives = Alternatives(self.statements).of(decision)
        if pictures and isinstance(record, FingeringRecord | Bowing):
            alternatives = tuple(replace(one, detail=()) for one in alternatives)
        names, hands = [one.name for one in alternatives], decision.hands
        hand = hand_view(names, hands, passage.bars, self.statements.wording) if hands else None
        reason, run_in = self.statements.prose.blocks(record.reason), Markup("")
        if not (statements or alternatives or pictures):
            run_in, reason = first_paragraph(reason)
        return RemarkView(
            anchor=_anchor(decision),
            number=f"{number:{_FIGURE_SPACE}>3}{_EM_SPACE}",
            key=self.key(decision),
            kind=self.statements.wording.say(f"kinds.{record.kind}"),
            statements=statements,
            alternatives=alternatives,
            hand=hand,
            pictures=pictures,
            beside=0 < widest <= _BESIDE_MM and len(alternatives) < 2,
            run_in=run_in,
            reason=reason,
            evidence=self.statements.evidence(record.evidence),
            filed=Markup.escape(record.id),
        )

    def _title(self, n: int) -> Markup:
        titles = {movement.n: movement.title for movement in self.head.movements}
        return unnumbered(self.statements.prose.inline(titles[n]) if n in titles else Markup(""))

    def _state(self, decision: Decision) -> Markup | None:
        record, say = decision.filed.record, self.statements.wording.say
        if record.status is Status.PROPOSED:
            return say("open.proposed" if record.reason else "open.undecided")
        if record.status is Status.SUPERSEDED:
            if record.superseded_by:
                return say("open.superseded", id=record.superseded_by)
            return say("open.superseded_alone")
        if record.certainty in {Certainty.LOW, Certainty.UNKNOWN}:
            return say("open.uncertain")
        return None

    def _filed(self, decision: Decision) -> Markup:
        record = decision.filed.record
        return Markup("{}, {}").format(record.id, self.statements.wording.day(record.date))


def in_force(decisions: Iterable[Decision]) -> tuple[Decision, ...]:
    """Return the accepted decisions: those that are printed as remarks."""
    return tuple(d for d in decisions if d.filed.record.status is Status.ACCEPTED)


def remark_numbers(decisions: Iterable[Decision]) -> dict[str, int]:
    """Return the number of each remark in the commentary, by the record it is about."""
    return {decision.id: n for n, decision in enumerate(in_force(decisions), start=1)}


def unnumbered(title: Markup) -> Markup:
    """Return a movement's title without a number that it brings along."""
    return Markup(_NUMBERED.sub("", title))


def roman(n: int) -> str:
    """Return a movement's number in Roman numerals."""
    written = ""
    for value, letters in _ROMAN:
        count, n = divmod(n, value)
        written += letters * count
    return written


def _anchor(decision: Decision) -> str:
    return f"remark-{decision.id}"
