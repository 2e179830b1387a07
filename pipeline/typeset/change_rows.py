"""Changes as rows: bar, what, what it was, what it is, in the order of the music.

In: changed records and collated base texts of two states. Out: finished rows in one language, which
the lines for a terminal and the typeset list share.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction

from markupsafe import Markup

from pipeline.collation.collated import BarDifference, Collation
from pipeline.collation.model import Decision
from pipeline.edition.changes import FieldChange, RecordChange, TextChange, Turn
from pipeline.edition.model import Edition, FiledRecord
from pipeline.edition.records import (
    Bowing,
    BowingAlternative,
    FingeringAlternative,
    FingeringRecord,
)
from pipeline.score.model import Passage
from pipeline.typeset.change_words import NOTHING, ChangeWords, Told
from pipeline.typeset.collation_words import CollationWords
from pipeline.typeset.places import bars_of_place, position_of_place
from pipeline.typeset.prose import Prose
from pipeline.typeset.statements import Statements
from pipeline.typeset.wording import Wording

Order = tuple[int, Fraction, int, str]
"""Where a row stands in its movement: bar, quarter notes, text before records, id."""

_FIRST: Order = (-1, Fraction(0), 0, "")

_PRINTED = frozenset(
    {Turn.ADDED, Turn.WITHDRAWN, Turn.SUPERSEDED, Turn.REINSTATED}
)  # told by what the record decides, not field by field


@dataclass(frozen=True)
class Side:
    """One state: what was read of it, and what was computed where its base text could be read."""

    edition: Edition
    decisions: Mapping[str, Decision]
    texts: Mapping[int, Passage]


@dataclass(frozen=True)
class Row:
    """One thing that is otherwise. `record` is an id, empty for what belongs to no record."""

    bars: str
    position: Markup
    what: Markup
    record: str
    label: Markup
    was: Markup
    now: Markup
    order: Order = (0, Fraction(0), 0, "")


@dataclass(frozen=True)
class ChangeRows:
    """Sets out the changes between two states in one language."""

    old: Side
    new: Side
    wording: Wording

    @property
    def words(self) -> ChangeWords:
        """Words single values of both states."""
        return ChangeWords(self.wording, (self.old.edition.head, self.new.edition.head))

    def records(self, changes: Sequence[RecordChange]) -> Mapping[int, tuple[Row, ...]]:
        """Return the rows of changed records by movement, in the order of the music."""
        found: dict[int, list[Row]] = {}
        for change in self.in_order(changes):
            found.setdefault(change.record.place.movement, []).extend(self._record(change))
        return {n: tuple(rows) for n, rows in found.items()}

    def in_order(self, changes: Sequence[RecordChange]) -> tuple[RecordChange, ...]:
        """Return the changes in the order of the music."""
        return tuple(sorted(changes, key=lambda c: (c.record.place.movement, self._order(c))))

    def music(self, collation: Collation) -> Iterator[Row]:
        """Yield the rows of a base text that was collated with its earlier state."""
        text = self.old.texts[collation.movement]
        words = CollationWords(text, collation.movement, self.wording)
        beside = collation.beside
        several = len(text.staves) > 1
        if beside.obstacle is not None:
            share = f"{beside.likeness * 100:.0f} %"
            why = self.wording.say(f"collation.obstacles.{beside.obstacle.name}", share=share)
            yield Row("", NOTHING, self._of_text("other"), "", NOTHING, NOTHING, why, _FIRST)
        for one in collation.differences:
            bar = text.bars[one.start.bar]
            readings = words.readings(one, beside)
            what = self._of_text(one.kind.value)
            if several:
                what = Markup("{}, {}").format(what, words.staff(one.staff))
            order = (self._new_bar(collation, one.start.bar), one.start.offset, 0, "")
            yield Row(bar.n, words.place(one), what, "", NOTHING,
                      readings.text, readings.reading, order)  # fmt: skip
        for bars in collation.bars:
            yield self._bars(bars, words, collation)
        for staff in beside.missing_staves:
            what = self._of_text("bars missing")
            gone = words.staff(staff)
            yield Row("", NOTHING, what, "", NOTHING, gone, NOTHING, _FIRST)
        for staff in beside.further_staves:
            new = next((s.label for s in beside.passage.staves if s.n == staff), "")
            said = Markup.escape(new) or self.wording.say("place.staff", n=staff)
            what = self._of_text("bars added")
            yield Row("", NOTHING, what, "", NOTHING, NOTHING, said, _FIRST)

    def head(self, changes: Sequence[FieldChange]) -> tuple[Row, ...]:
        """Return the rows of edition.yaml, in the order of its keys."""
        return tuple(_plain_row(self.words.told(change)) for change in changes)

    def files(self, files: Sequence[str]) -> tuple[Row, ...]:
        """Return a row for each encoding of a witness whose content is otherwise."""
        said = (self._say("other_notes", file=file) for file in files)
        label = self._say("fields.encodings")
        return tuple(_plain_row(Told(label, NOTHING, one)) for one in said)

    def texts(self, changes: Sequence[TextChange]) -> tuple[Row, ...]:
        """Return a row for each passage of a text that differs."""
        rows = []
        for change in changes:
            label = self._say("text_of", name=change.name, language=change.language)
            for before, after in change.passages:
                told = self.words.passages(
                    label, " ".join(before), " ".join(after), change.language
                )
                rows.append(_plain_row(told))
        return tuple(rows)

    def turn(self, change: RecordChange) -> Markup:
        """Return what the record is and what became of it: `Fingering, changed`."""
        kind = self.wording.say(f"kinds.{change.record.kind}")
        return self._say("of_record", kind=kind, turn=self._say(f"turns.{change.turn.value}"))

    def _record(self, change: RecordChange) -> Iterator[Row]:
        record, place = change.record, change.record.place
        what, order = self.turn(change), self._order(change)
        bars, name = bars_of_place(place), record.id
        position = position_of_place(place, self.wording)
        for told in self._told(change):
            yield Row(bars, position, what, name, told.label, told.was, told.now, order)
            bars, position, what, name = "", NOTHING, NOTHING, ""

    def _told(self, change: RecordChange) -> Iterator[Told]:
        if change.turn in _PRINTED or change.turn is Turn.NOT_READ or not change.fields:
            was, now = self._content(change.before, self.old), self._content(change.after, self.new)
            if change.turn is Turn.SUPERSEDED and change.after is not None:
                now = self._say("superseded_by", record=change.after.record.superseded_by or "–")
            if change.turn in {Turn.ADDED, Turn.REINSTATED}:
                was = NOTHING
            if change.turn is Turn.WITHDRAWN:
                now = NOTHING
            yield Told(NOTHING, was, now)
            return
        for field in change.fields:
            yield self.words.told(field)

    def _content(self, filed: FiledRecord | None, side: Side) -> Markup:
        """Return what a record decides, as the commentary says it, without its reason."""
        if filed is None:
            return NOTHING
        record = filed.record
        own = 0 if side is self.old else 1
        said: list[Markup] = []
        if isinstance(record, FingeringRecord | Bowing):
            said = [self._alternative(one, own) for one in record.alternatives]
        elif (decision := side.decisions.get(record.id)) is not None:
            head = side.edition.head
            prose = Prose(self.wording.code, head.main_language)
            plain = record.model_copy(update={"certainty": None})
            unsaid = replace(decision, filed=replace(filed, record=plain))
            statements = Statements(head, self.wording, prose)
            said += statements.of(unsaid, side.texts[decision.span.movement])
        if not said:
            said.append(self.words.value(record.reason, "reason", own))
        return Markup(" ").join(said)

    def _alternative(self, one: FingeringAlternative | BowingAlternative, own: int) -> Markup:
        """Return what an alternative puts into the part, without what is said of it."""
        named = self._say("entries.alternatives", entry=one.name)
        if isinstance(one, FingeringAlternative):
            content = self.words.value(one.fingers, "fingers", own)
        else:
            played = ("by", "divide_after", "join", "signs", "opposite")
            given = {key: getattr(one, key) for key in played}
            content = self.words.value(BowingAlternative.model_construct(**given), "", own)
        return Markup("{}: {}").format(named, content)

    def _order(self, change: RecordChange) -> Order:
        record = change.record
        side = self.new if change.after is not None else self.old
        decision = side.decisions.get(record.id)
        if decision is not None:
            start = decision.span.start
            return (start.bar, start.offset, 1, record.id)
        text = side.texts.get(record.place.movement)
        bars = [bar.n for bar in text.bars] if text else []
        written = record.place.bar
        index = bars.index(written) if written in bars else len(bars) + _number(written)
        return (index, Fraction(0), 1, record.id)

    def _bars(self, bars: BarDifference, words: CollationWords, collation: Collation) -> Row:
        readings = words.bars(bars)
        order = (self._new_bar(collation, bars.at), Fraction(0), 0, "")
        number = words.text.bars[bars.at].n if words.text.bars else ""
        what = self._of_text(bars.change.value)
        return Row(number, NOTHING, what, "", NOTHING, readings.text, readings.reading, order)

    def _new_bar(self, collation: Collation, bar: int) -> int:
        """Return where a bar of the old text stands in the new one, or the last before it."""
        reading = collation.beside.reading_bar
        return next((n for b in range(bar, -1, -1) if (n := reading.get(b)) is not None), 0)

    def _of_text(self, kind: str) -> Markup:
        return self._say("of_text", kind=self.wording.say(f"collation.kinds.{kind}"))

    def _say(self, key: str, **values: str | Markup) -> Markup:
        return self.wording.say(f"changes.{key}", None, **values)


def _plain_row(told: Told) -> Row:
    return Row("", NOTHING, told.label, "", NOTHING, told.was, told.now)


def _number(written: str) -> int:
    digits = "".join(c for c in written if c.isascii() and c.isdigit())
    return int(digits[:9]) if digits else 0
