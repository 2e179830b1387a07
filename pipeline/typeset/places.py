"""Places in words: the key at the left of a remark, and "note 3" or "beat 2½" inside its text."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction

from markupsafe import Markup

from pipeline.edition.places import Place
from pipeline.score.model import Event, Moment, Passage, Span
from pipeline.typeset.wording import Wording

_VULGAR = {
    Fraction(1, 4): "¼",
    Fraction(1, 2): "½",
    Fraction(3, 4): "¾",
    Fraction(1, 3): "⅓",
    Fraction(2, 3): "⅔",
}


_LETTERS_A_LINE = 13
"""What surely fits one line of a key's column of 19 mm in its small size."""


@dataclass(frozen=True)
class Key:
    """What stands at the left of a remark, top to bottom: bars, beats or notes, staff, voice."""

    bars: str
    position: Markup
    staff: Markup

    @property
    def lines(self) -> int:
        """How many lines it takes at most in its column, up to five."""
        parts = (self.position.striptags(), self.staff.striptags())
        return min(5, 1 + sum(-(-len(part) // _LETTERS_A_LINE) for part in parts))

    def __str__(self) -> str:
        parts = (self.bars, self.position.striptags(), self.staff.striptags())
        return ", ".join(part for part in parts if part)


def key_of(place: Place, span: Span, passage: Passage, edited_staff: int, wording: Wording) -> Key:
    """Return the key of a place, as the editor counted it."""
    bars = bars_of_place(place)
    staff = Markup("")
    if span.staff != edited_staff:
        label = next((s.label for s in passage.staves if s.n == span.staff), "")
        staff = Markup.escape(label) if label else wording.say("place.staff", n=span.staff)
    if place.voice is not None:
        voice = wording.say("place.voice", voice=str(place.voice))
        staff = Markup(", ").join(part for part in (staff, voice) if part)
    return Key(bars, position_of_place(place, wording), staff)


def bars_of_place(place: Place) -> str:
    """Return the printed bar numbers of a place: 14, or 14–17."""
    last = place.to.bar if place.to and place.to.bar else place.bar
    return place.bar if last == place.bar else f"{place.bar}–{last}"


def position_of_place(place: Place, wording: Wording) -> Markup:
    """Return the notes or beats of a place, nothing where it is whole bars."""
    to = place.to
    first, last = place.note or place.beat, (to.note or to.beat) if to else None
    last_bar = to.bar if to and to.bar else place.bar
    if last_bar == place.bar:
        return _in_one_bar(place, wording)
    start = _at(place.bar, place.note, place.beat, wording) if first else None
    end = _at(last_bar, to.note, to.beat, wording) if to and last else None
    if start and end:
        return wording.say("place.over", first=start, last=end)
    if start:
        return wording.say("place.starting", first=start)
    return wording.say("place.ending", last=end) if end else Markup("")


def _in_one_bar(place: Place, wording: Wording) -> Markup:
    if place.note is not None:
        note = place.to.note if place.to else None
        if note is None or note == place.note:
            return wording.say("place.note", note=str(place.note))
        return unbroken(wording.say("place.notes", notes=f"{place.note}–{note}"))
    if place.beat is not None:
        first, beat = beat_in_words(place.beat), place.to.beat if place.to else None
        if beat is None or beat == place.beat:
            return wording.say("place.beat", beat=first)
        return unbroken(wording.say("place.beats", beats=f"{first}–{beat_in_words(beat)}"))
    return Markup("")


def _at(bar: str, note: int | None, beat: Fraction | None, wording: Wording) -> Markup:
    if note is not None:
        what = wording.say("place.note", note=str(note))
    else:
        what = wording.say("place.beat", beat=beat_in_words(beat or Fraction(1)))
    return wording.say("place.at", bar=bar, what=what)


def beat_in_words(beat: Fraction) -> str:
    """Return a beat as a musician writes it: 2, 2½, 2 5/8."""
    whole, rest = divmod(beat, 1)
    if not rest:
        return str(whole)
    return f"{whole}{_VULGAR[rest]}" if rest in _VULGAR else f"{whole} {rest}"


@dataclass(frozen=True)
class Locator:
    """Says where something is inside the span of a remark, and nothing where that is plain."""

    passage: Passage
    span: Span
    wording: Wording

    def events(self, events: Sequence[Event]) -> Markup | None:
        """Return the notes in words, or None where they are all the notes of the remark's place."""
        numbered = [event for event in events if event.number is not None]
        named = {(event.bar, event.number) for event in numbered}
        if not named or named >= {(event.bar, event.number) for event in self.span.notes}:
            return None
        parts = []
        for bar in dict.fromkeys(event.bar for event in numbered):
            numbers = [e.number for e in numbered if e.bar == bar and e.number is not None]
            if numbers == self._numbers(bar) and not self.one_bar:
                parts.append(self.wording.say("place.bar", bar=self.passage.bars[bar].n))
            else:
                parts.append(self._in_bar(bar, self._notes(numbers)))
        return Markup("; ").join(parts)

    def moment(self, moment: Moment, grace: bool = False) -> Markup:
        """Return the note that begins at a moment of the text, or the beat.

        Grace notes begin where their main note does; it is meant, unless `grace` says they are.
        """
        return self._in_bar(moment.bar, self._what(moment, grace))

    def extent(self, start: Moment, end: Moment | None, grace: bool = False) -> Markup:
        """Return the notes from one moment to another, or both moments in words.

        `grace` says that it begins with the grace notes at its first moment.
        """
        first, last = self.event_at(start, grace), self.event_at(end or start)
        if end is None or (end == start and first == last):
            return self.moment(start, grace)
        if start.bar == end.bar:
            if first is not None and last is not None:
                notes = self.wording.say("place.notes", notes=f"{first.number}–{last.number}")
                return self._in_bar(start.bar, unbroken(notes))
            both = Markup("{} – {}").format(self._what(start, grace), self._what(end))
            return self._in_bar(start.bar, both)
        from_ = self._named(start.bar, self._what(start, grace))
        return Markup(" – ").join((from_, self._named(end.bar, self._what(end))))

    def event_at(self, moment: Moment, grace: bool = False) -> Event | None:
        """Return the note or chord of the span's staff that begins at a moment of the text.

        The main note, or the first grace note before it where `grace` asks for that.
        """
        here = self.passage.events_in.get((self.span.staff, moment.bar), ())
        found = [event for event in here if event.number and event.start == moment]
        asked = (event for event in found if event.grace == grace)
        return next(asked, found[0] if found else None)

    @property
    def one_bar(self) -> bool:
        """Whether the place lies within one bar, which then needs no naming."""
        last = self.span.end.bar if self.span.end.offset else self.span.end.bar - 1
        return last <= self.span.start.bar

    def _what(self, moment: Moment, grace: bool = False) -> Markup:
        note = self.event_at(moment, grace)
        if note is not None and note.number is not None:
            return self.wording.say("place.note", note=str(note.number))
        beat = beat_in_words(moment.offset / self.passage.bars[moment.bar].beat + 1)
        return self.wording.say("place.beat", beat=beat)

    def _in_bar(self, bar: int, what: Markup) -> Markup:
        if self.one_bar and bar == self.span.start.bar:
            return what
        return self._named(bar, what)

    def _named(self, bar: int, what: Markup) -> Markup:
        named = self.wording.say("place.bar", bar=self.passage.bars[bar].n)
        return Markup("{}, {}").format(named, what)

    def _numbers(self, bar: int) -> list[int]:
        events = self.passage.events_in.get((self.span.staff, bar), ())
        return [event.number for event in events if event.number is not None]

    def _notes(self, numbers: Sequence[int]) -> Markup:
        if len(numbers) == 1:
            return self.wording.say("place.note", note=str(numbers[0]))
        runs = runs_of_numbers(numbers)
        named = self.wording.say("place.notes", notes=runs)
        return named if "," in runs else unbroken(named)


def runs_of_numbers(numbers: Sequence[int]) -> str:
    """Return numbers with runs drawn together: 2–4, 7."""
    runs: list[list[int]] = []
    for number in sorted(set(numbers)):
        if runs and number == runs[-1][-1] + 1:
            runs[-1].append(number)
        else:
            runs.append([number])
    return ", ".join(str(r[0]) if len(r) == 1 else f"{r[0]}–{r[-1]}" for r in runs)


def unbroken(text: Markup) -> Markup:
    """Return a place within which no line ends: a range would leave its dash at the line's end."""
    return Markup('<span class="unbroken">{}</span>').format(text)
