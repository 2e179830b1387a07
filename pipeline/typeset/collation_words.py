"""A departure in two columns of words: what the text reads, what the witnesses read.

In come differences as the collation computed them; out go short phrases in the language's trade
wording, with the place inside the bar where a sign reaches from one note to another.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from fractions import Fraction

from markupsafe import Markup

from pipeline.collation.bar_signs import KINDS_OF_BARS
from pipeline.collation.beside import Beside
from pipeline.collation.collated import BarDifference
from pipeline.collation.markings import EXTENDED
from pipeline.collation.model import Change, Difference, DifferenceKind, Side
from pipeline.score.model import Event, Marking, Moment, NoteHead, Passage, Span
from pipeline.typeset.marking_phrases import begins_at_grace_note, marking_name
from pipeline.typeset.note_phrases import ACCIDENTALS, BOW_SIGNS
from pipeline.typeset.pitches import pitch_name
from pipeline.typeset.places import Locator, beat_in_words, runs_of_numbers
from pipeline.typeset.runs import pitches_of_run, rhythm_of_run
from pipeline.typeset.signs import in_signs_face
from pipeline.typeset.wording import Wording

_HeadName = Callable[[NoteHead], str]
_OF_EXTENT = EXTENDED | {DifferenceKind.ORNAMENT}


@dataclass(frozen=True)
class Readings:
    """What either side has, in words; what one has not is said to be nothing."""

    text: Markup
    reading: Markup


@dataclass(frozen=True)
class CollationWords:
    """Words the departures of one movement in one language."""

    text: Passage
    movement: int
    wording: Wording

    def readings(self, difference: Difference, beside: Beside) -> Readings:
        """Return both sides of a difference; `beside` is the witness that has it."""
        locator = self._locator(difference)

        def moment_of_text(moment: Moment) -> Moment | None:
            bar = beside.text_bar.get(moment.bar)
            return None if bar is None else Moment(bar, moment.offset)

        ours, theirs = difference.text.markings, difference.reading.markings
        if not ours and not theirs:
            return self._of_notes(difference)
        of_extent = difference.kind in _OF_EXTENT or difference.change is Change.MOVED
        said = []
        for markings, in_reading in ((ours, False), (theirs, True)):
            extents = []
            for one in markings:
                start, end = one.start, one.end
                if in_reading:
                    first, end = moment_of_text(start), moment_of_text(end) if end else None
                    start = first or difference.start
                passage = beside.passage if in_reading else self.text
                grace = begins_at_grace_note(one, passage)
                extents.append(self._marking(one, start, end, of_extent, grace, locator))
            said.append(self._or_nothing(extents))
        return Readings(*said)

    def bars(self, difference: BarDifference) -> Readings:
        """Return both sides where whole bars are lacking or added."""
        if difference.text:
            return Readings(self.bar_names(difference.text), self._or_nothing(()))
        after = self.wording.say("collation.before_first")
        if difference.after >= 0:
            after = self.wording.say("place.bar", bar=self.text.bars[difference.after].n)
        n = len(difference.reading)
        added = self.wording.say("collation.added_bars", n=n, after=after)
        return Readings(self._or_nothing(()), added)

    def bar_names(self, bars: Sequence[int]) -> Markup:
        """Return one bar or several in a row, by their printed numbers."""
        first, last = (self.text.bars[index].n for index in (bars[0], bars[-1]))
        if first == last:
            return self.wording.say("place.bar", bar=first)
        return self.wording.say("collation.bars_shown", bars=f"{first}–{last}")

    def place(self, difference: Difference) -> Markup:
        """Return beat and notes inside the bar, nothing for what belongs to the whole bar."""
        if difference.kind in KINDS_OF_BARS:
            return Markup("")
        bar = self.text.bars[difference.start.bar]
        beat = beat_in_words(difference.start.offset / (bar.beat or Fraction(1)) + 1)
        said = [self.wording.say("place.beat", beat=beat)]
        numbers = [e.number for e in difference.text.events if e.number is not None]
        if len(numbers) == 1:
            said.append(self.wording.say("place.note", note=str(numbers[0])))
        elif numbers:
            said.append(self.wording.say("place.notes", notes=runs_of_numbers(numbers)))
        return Markup(", ").join(said)

    def staff(self, n: int) -> Markup:
        """Return the name of a staff, or its number where it has none of its own."""
        label = next((staff.label for staff in self.text.staves if staff.n == n), "")
        alike = sum(staff.label == label for staff in self.text.staves)
        number = self.wording.say("place.staff", n=n)
        if not label:
            return number
        return Markup.escape(label) if alike == 1 else Markup("{}, {}").format(label, number)

    def _locator(self, difference: Difference) -> Locator:
        bar, staff = difference.start.bar, difference.staff
        span = Span(
            self.movement,
            staff,
            Moment(bar, Fraction(0)),
            Moment(bar, max(self.text.bars[bar].filled, Fraction(1, 64))),
            self.text.events_in.get((staff, bar), ()),
            whole_bars=True,
        )
        return Locator(self.text, span, self.wording)

    def _marking(
        self,
        marking: Marking,
        start: Moment,
        end: Moment | None,
        of_extent: bool,
        grace: bool,
        locator: Locator,
    ) -> Markup:
        name = marking_name(marking, self.wording)
        if not of_extent:
            return name
        where = locator.extent(start, end, grace)
        return Markup("{}, {}").format(name, where) if where else name

    def _of_notes(self, difference: Difference) -> Readings:
        text, reading = difference.text.events, difference.reading.events
        match difference.kind:
            case DifferenceKind.RHYTHM:
                other = _pitches(text) != _pitches(reading)
                return Readings(
                    *(rhythm_of_run(run, self.wording, other) for run in (text, reading))
                )
            case DifferenceKind.ACCIDENTAL:
                return self._by_head(text, reading, _sign)
            case DifferenceKind.NOTE_HEAD:
                return self._by_head(text, reading, self._shape)
            case DifferenceKind.TIE:
                tie = self.wording.say("differences.tie", n=1)
                nothing = self._or_nothing(())
                if difference.change is Change.MISSING:
                    return Readings(tie, nothing)
                return Readings(nothing, tie)
            case DifferenceKind.ARTICULATION | DifferenceKind.BOW_SIGN:
                bows = difference.kind is DifferenceKind.BOW_SIGN
                return Readings(*(self._or_nothing(self._signs(s, bows)) for s in (text, reading)))
            case _:
                sides = difference.text, difference.reading
                return Readings(*(self._or_nothing(self._notes(side)) for side in sides))

    def _notes(self, side: Side) -> list[Markup]:
        if not any(event.heads for event in side.events):
            return []
        named = pitches_of_run(side.events, self.wording)
        if all(event.grace for event in side.events):
            n = sum(len(event.heads) for event in side.events)
            return [self.wording.say("differences.graces", n=n, pitches=named)]
        return [named]

    def _by_head(
        self, text: Sequence[Event], reading: Sequence[Event], name: _HeadName
    ) -> Readings:
        pairs = [
            (mine, other)
            for ours, theirs in zip(text, reading, strict=False)
            for mine, other in zip(ours.heads, theirs.heads, strict=False)
            if name(mine) != name(other)
        ]
        several = sum(len(event.heads) for event in text) > 1
        return Readings(
            *(
                self._or_nothing(self._named(pair[side], name, several) for pair in pairs)
                for side in (0, 1)
            )
        )

    def _named(self, head: NoteHead, name: _HeadName, several: bool) -> Markup:
        said = name(head)
        if not said or not several:
            return in_signs_face(Markup.escape(said))
        pitch = pitch_name(head.pitch, self.wording)
        return in_signs_face(Markup("{} ({})").format(said, pitch))

    def _shape(self, head: NoteHead) -> str:
        key = f"heads.{head.shape or 'ordinary'}"
        return str(self.wording.say(key if self.wording.has(key) else "heads.other"))

    def _signs(self, events: Sequence[Event], bows: bool) -> list[Markup]:
        signs = [s for e in events for s in e.articulations if (s in BOW_SIGNS) == bows]
        return [
            self.wording.say(
                f"articulations.{s if self.wording.has(f'articulations.{s}') else 'unknown'}",
                n=1,
                name=s,
            )
            for s in dict.fromkeys(signs)
        ]

    def _or_nothing(self, said: Iterable[Markup]) -> Markup:
        parts = [one for one in said if one]
        if parts:
            return Markup("; ").join(parts)
        return Markup(
            '<span class="nothing"><span aria-hidden="true">–</span>'
            '<span class="unseen">{}</span></span>'
        ).format(self.wording.say("collation.nothing"))


def _sign(head: NoteHead) -> str:
    return ACCIDENTALS.get(head.accidental, head.accidental)


def _pitches(run: Sequence[Event]) -> list[object]:
    return [event.pitches for event in run if event.heads]
